//! Which words speak for what, and which numbers are readings, learned from labelled messages.

mod network;
mod numbers;
mod plane;

pub use network::{Course, Sense, senses};
pub use numbers::{train as train_numbers, train_along as train_numbers_along};

use super::classify::Cut;
use super::interpret::cut;
use super::interpretation::{Expecting, Span, Special};
use crate::knowledge;
use crate::knowledge::classifier::Claim;
use crate::knowledge::phrase::Phrases;
use crate::quantity::Kind;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// A claim is learned that so many messages make.
pub const FEWEST_TOLD: usize = 8;
/// A message with what it tells.
#[derive(Debug, Clone, Deserialize)]
pub struct Message {
    text: String,
    #[serde(default)]
    expecting: Option<Expecting>,
    #[serde(default)]
    readings: Vec<Number>,
    #[serde(default)]
    symptoms: Vec<Told>,
    #[serde(default)]
    history: Vec<String>,
    #[serde(default)]
    hazards: Vec<String>,
    #[serde(default)]
    only: Vec<String>,
    #[serde(default)]
    either: Vec<String>,
    /// By what it tells, "not" before what it denies: the words that tell it.
    #[serde(default)]
    told: BTreeMap<String, Vec<String>>,
}

/// A reading as it is labelled: one number, or the ends of a range, in the base unit of its kind.
#[derive(Debug, Clone, Deserialize)]
struct Number {
    quantity: Kind,
    #[serde(default)]
    value: Option<f64>,
    #[serde(default)]
    low: Option<f64>,
    #[serde(default)]
    high: Option<f64>,
    #[serde(default)]
    of: Option<String>,
    #[serde(default)]
    special: Option<Special>,
}

#[derive(Debug, Clone, Deserialize)]
struct Told {
    id: String,
    present: bool,
}

impl Message {
    /// What it tells.
    fn claims(&self) -> BTreeSet<Claim> {
        let symptom = |told: &Told| {
            let id = told.id.as_str().into();
            if told.present {
                Claim::Symptom(id)
            } else {
                Claim::Denied(id)
            }
        };
        let symptoms = self.symptoms.iter().map(symptom);
        let history = self
            .history
            .iter()
            .map(|id| Claim::History(id.as_str().into()));
        let hazards = self
            .hazards
            .iter()
            .map(|id| Claim::Hazard(id.as_str().into()));
        let danger = (!self.hazards.is_empty()).then_some(Claim::Danger);
        symptoms
            .chain(history)
            .chain(hazards)
            .chain(danger)
            .collect()
    }

    /// On which side of every claim it lies, where that is known.
    fn sides(&self, claims: &[Claim]) -> Vec<Option<bool>> {
        let made = self.claims();
        let side = |claim| self.speaks_of(claim).then(|| made.contains(claim));
        claims.iter().map(side).collect()
    }

    /// The same of one of its sentences: what the message tells is told there where the words that tell it are.
    fn sides_at(
        &self,
        claims: &[Claim],
        sides: &[Option<bool>],
        place: &Span,
    ) -> Vec<Option<bool>> {
        let side = |(claim, side): (&Claim, &Option<bool>)| match side {
            Some(true) => self.told_at(claim, place),
            side => *side,
        };
        claims.iter().zip(sides).map(side).collect()
    }

    /// Whether the words that tell a claim touch a place of the message; nothing where no words are named for it.
    fn told_at(&self, claim: &Claim, place: &Span) -> Option<bool> {
        let told = |quote: &String| {
            let found = self.text.match_indices(quote.as_str());
            let spans = found.map(|(start, _)| start..start + quote.len());
            spans
                .into_iter()
                .any(|span| place.start < span.end && span.start < place.end)
        };
        let named = |key: &str| self.told.get(key).map(|quotes| quotes.iter().any(told));
        match claim {
            Claim::Symptom(id) | Claim::History(id) => named(id.as_str()),
            Claim::Denied(id) => named(&format!("not {id}")),
            Claim::Hazard(id) => named(id.as_str()),
            Claim::Danger => {
                let named = self.hazards.iter().filter_map(|id| named(id));
                named.reduce(|one, other| one || other)
            }
            Claim::Reading | Claim::Leads | Claim::Of(_) => None,
        }
    }

    /// Whether it says anything of a claim, or of its contrary: it is labelled for its kind, and not
    /// such that people who know the trade would differ.
    fn speaks_of(&self, claim: &Claim) -> bool {
        let (field, id) = match claim {
            Claim::Symptom(id) | Claim::Denied(id) => ("symptoms", id.as_str()),
            Claim::History(id) => ("history", id.as_str()),
            Claim::Hazard(id) => ("hazards", id.as_str()),
            Claim::Danger => ("hazards", ""),
            Claim::Reading | Claim::Leads | Claim::Of(_) => ("readings", ""),
        };
        let open = self
            .either
            .iter()
            .any(|open| open.trim_start_matches('-') == id);
        let labelled = self.only.is_empty() || self.only.iter().any(|only| only == field);
        !open && (labelled || self.is_mere_figure())
    }

    /// A short message labelled for its figures and answers alone tells nothing besides.
    fn is_mere_figure(&self) -> bool {
        const SHORT: usize = 12;
        let figures = |field: &String| matches!(field.as_str(), "readings" | "answer" | "spec");
        self.only.iter().all(figures) && self.text.split_whitespace().count() <= SHORT
    }
}

/// The messages of a file: one JSON object a line, after a line that names the floor for tests.
///
/// # Errors
/// The first line that cannot be read.
pub fn messages(text: &str) -> Result<Vec<Message>, String> {
    let lines = (1..).zip(text.lines());
    let labelled = lines.filter(|(_, line)| line.contains("\"text\""));
    let read = labelled.map(|(nth, line)| {
        serde_json::from_str(line).map_err(|reason| format!("line {nth}: {reason}"))
    });
    read.collect()
}

/// The table of what messages tell, as text; none where no claim is made by enough messages.
///
/// # Panics
/// Where more than 256 claims are made.
#[must_use]
pub fn train(messages: &[Message], phrases: &Phrases) -> Option<String> {
    let claims = claims(messages);
    if claims.is_empty() {
        return None;
    }
    let mut words = Vec::new();
    let mut sides = Vec::new();
    for message in messages {
        let of_all = message.sides(&claims);
        let sentences = cut(&message.text, phrases);
        for sentence in sentences.iter().filter(|_| !message.told.is_empty()) {
            words.push(sentence.words.clone());
            sides.push(message.sides_at(&claims, &of_all, &sentence.place));
        }
        words.push(sentences.into_iter().flat_map(|one| one.words).collect());
        sides.push(of_all);
    }
    Some(plane::table(&words, &claims, |nth, at| sides[at][nth]))
}

/// The network of patterns that tells what messages tell, as text; none where no claim is made by enough
/// messages.
#[must_use]
pub fn train_network(
    messages: &[Message],
    phrases: &Phrases,
    senses: &[Sense],
    course: &Course<knowledge::network::Shape>,
) -> Option<String> {
    let claims = claims(messages);
    let examples: Vec<network::Example> = examples(messages, &claims, phrases)
        .into_iter()
        .flat_map(network::Example::with_parts_apart)
        .collect();
    (!claims.is_empty()).then(|| network::train(&examples, &claims, senses, course).written())
}

/// The same of the network that reads along.
#[must_use]
pub fn train_recurrent(
    messages: &[Message],
    phrases: &Phrases,
    senses: &[Sense],
    course: &Course<knowledge::recurrent::Shape>,
) -> Option<String> {
    let claims = claims(messages);
    let examples = examples(messages, &claims, phrases);
    let learned = || network::train_recurrent(&examples, &claims, senses, course);
    (!claims.is_empty()).then(|| learned().written())
}

/// What the networks learn from.
fn examples(messages: &[Message], claims: &[Claim], phrases: &Phrases) -> Vec<network::Example> {
    let example = |message: &Message| {
        let sides = message.sides(claims);
        let sentences = cut(&message.text, phrases);
        network::Example {
            parts: if message.told.is_empty() {
                Vec::new()
            } else {
                parts(message, claims, &sides, &sentences)
            },
            words: sentences.into_iter().flat_map(|one| one.signs).collect(),
            sides,
        }
    };
    messages.iter().map(example).collect()
}

/// The sentences of a message, each on its side of the claims.
fn parts(
    message: &Message,
    claims: &[Claim],
    sides: &[Option<bool>],
    sentences: &[Cut],
) -> Vec<network::Part> {
    let mut start = 0;
    let part = |sentence: &Cut| {
        let words = start..start + sentence.signs.len();
        start = words.end;
        network::Part {
            words,
            sides: message.sides_at(claims, sides, &sentence.place),
        }
    };
    let parts = sentences.iter().map(part);
    parts.filter(|part| !part.words.is_empty()).collect()
}

/// Claims that enough messages make.
fn claims(messages: &[Message]) -> Vec<Claim> {
    let mut counts: BTreeMap<Claim, usize> = BTreeMap::new();
    for claim in messages.iter().flat_map(Message::claims) {
        *counts.entry(claim).or_default() += 1;
    }
    counts.retain(|_, count| *count >= FEWEST_TOLD);
    counts.into_keys().collect()
}

#[cfg(test)]
mod tests {
    use super::{Claim, messages};

    const FILE: &str = r#"{"floor": 0.9}
{"text": "it stalls hot", "symptoms": [{"id": "dies-when-hot", "present": true}]}
{"text": "it stalls cold", "symptoms": [{"id": "dies-when-hot", "present": false}]}
{"text": "hot or cold", "either": ["dies-when-hot"], "only": ["symptoms"]}
{"text": "12.4", "only": ["readings"]}
"#;

    #[test]
    fn what_people_differ_on_is_not_learned_and_bare_figures_tell_nothing() {
        let all = messages(FILE).unwrap();
        let hot = Claim::Symptom("dies-when-hot".into());
        let speaks: Vec<bool> = all.iter().map(|message| message.speaks_of(&hot)).collect();
        assert_eq!(speaks, [true, true, false, true]);
        assert!(!all[2].speaks_of(&Claim::Danger));
        let claims: Vec<String> = all[1].claims().iter().map(ToString::to_string).collect();
        assert_eq!(claims, ["denied:dies-when-hot"]);
    }

    #[test]
    fn a_line_that_is_no_message_is_named() {
        let error = messages("{\"floor\": 1}\n{\"text\": 3}\n").unwrap_err();
        assert!(error.starts_with("line 2: "), "{error}");
    }
}
