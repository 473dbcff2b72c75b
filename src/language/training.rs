//! Which words speak for which complaint, fact of history and danger, learned from labelled messages.
//!
//! For every claim a linear support vector machine with squared hinge loss, found by dual
//! coordinate descent: Hsieh, Chang, Lin, Keerthi & Sundararajan, "A dual coordinate descent method
//! for large-scale linear SVM", ICML 2008, algorithm 1. A message is its set of words and of pairs of
//! neighbours, each worth the same, together of length one, and one more that all have, for the bias.

use super::interpret::words;
use crate::knowledge::classifier::{Claim, Classifier, STEP};
use crate::knowledge::phrase::Phrases;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// Words are learned that stand in so many messages.
const FEWEST_MESSAGES: usize = 3;
/// A claim is learned that so many messages make.
pub const FEWEST_TOLD: usize = 8;
/// What an error costs against a large weight.
const COST: f64 = 3.0;
/// Ways through all messages, at most.
const ROUNDS: usize = 100;
/// How far from the optimum it may end.
const TOLERANCE: f64 = 0.01;
/// Weights smaller than this are left out of the table.
const SMALL: f64 = 0.2;

/// A message with what it tells.
#[derive(Debug, Clone, Deserialize)]
pub struct Message {
    text: String,
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

    /// Whether it says anything of a claim, or of its contrary: it is labelled for its kind, and not
    /// such that people who know the trade would differ.
    fn speaks_of(&self, claim: &Claim) -> bool {
        let (field, id) = match claim {
            Claim::Symptom(id) | Claim::Denied(id) => ("symptoms", id.as_str()),
            Claim::History(id) => ("history", id.as_str()),
            Claim::Hazard(id) => ("hazards", id.as_str()),
            Claim::Danger => ("hazards", ""),
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

/// The table of [`Classifier`], as text; none where no claim is made by enough messages.
///
/// # Panics
/// Where more than 256 claims are made.
#[must_use]
pub fn train(messages: &[Message], phrases: &Phrases) -> Option<String> {
    let words: Vec<BTreeSet<String>> = messages
        .iter()
        .map(|message| words(&message.text, phrases))
        .collect();
    let known = known(&words);
    let points: Vec<Vec<usize>> = words
        .iter()
        .map(|words| {
            words
                .iter()
                .filter_map(|word| known.get(word.as_str()).copied())
                .collect()
        })
        .collect();
    let claims = claims(messages);
    if claims.is_empty() {
        return None;
    }
    let mut rows: Vec<(String, Vec<(u8, i8)>)> = known
        .keys()
        .map(|word| ((*word).to_owned(), Vec::new()))
        .collect();
    let mut bias = Vec::new();
    for (nth, claim) in (0_u8..=u8::MAX).zip(&claims) {
        let plane = separate(messages, &points, claim, known.len());
        bias.push(tenths(plane[known.len()]));
        for (row, weight) in rows.iter_mut().zip(&plane) {
            if weight.abs() >= SMALL {
                row.1.push((nth, tenths(*weight)));
            }
        }
    }
    assert_eq!(bias.len(), claims.len(), "no more than 256 claims");
    Some(Classifier::written(&claims, &bias, &rows))
}

/// Words that stand in enough messages, with their position.
fn known(words: &[BTreeSet<String>]) -> BTreeMap<&str, usize> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for word in words.iter().flatten() {
        *counts.entry(word).or_default() += 1;
    }
    counts.retain(|_, count| *count >= FEWEST_MESSAGES);
    (0..)
        .zip(counts.into_keys())
        .map(|(at, word)| (word, at))
        .collect()
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

/// A weight as the table holds it.
#[expect(clippy::cast_possible_truncation, reason = "clamped to what fits")]
fn tenths(weight: f64) -> i8 {
    (weight / STEP).round().clamp(-127.0, 127.0) as i8
}

/// The plane between the messages that make a claim and the others: the weight of every word, and
/// last the bias.
fn separate(messages: &[Message], points: &[Vec<usize>], claim: &Claim, size: usize) -> Vec<f64> {
    let mut order: Vec<usize> = (0..points.len())
        .filter(|at| messages[*at].speaks_of(claim))
        .collect();
    let sides: Vec<bool> = messages
        .iter()
        .map(|message| message.claims().contains(claim))
        .collect();
    let mut weights = vec![0.0; size + 1];
    let mut duals = vec![0.0; points.len()];
    // By sheer chance of the order other planes as good come out: the same order always, so that
    // the same messages make the same table.
    let mut dice = fastrand::Rng::with_seed(1);
    for _ in 0..ROUNDS {
        dice.shuffle(&mut order);
        let mut farthest: f64 = 0.0;
        for &at in &order {
            let sign = if sides[at] { 1.0 } else { -1.0 };
            let missed = step(&points[at], sign, &mut duals[at], &mut weights);
            farthest = farthest.max(missed);
        }
        if farthest < TOLERANCE {
            break;
        }
    }
    weights
}

/// Moves the plane for one message; how far from the optimum it lay for it.
fn step(point: &[usize], sign: f64, dual: &mut f64, weights: &mut [f64]) -> f64 {
    let softness = 0.5 / COST;
    let size = u32::try_from(point.len()).map_or(f64::INFINITY, f64::from);
    let share = 1.0 / size.max(1.0).sqrt();
    let bias = weights.len() - 1;
    let sum: f64 = point.iter().map(|word| weights[*word]).sum();
    let gradient = sign * (share * sum + weights[bias]) - 1.0 + softness * *dual;
    let projected = if *dual > 0.0 {
        gradient
    } else {
        gradient.min(0.0)
    };
    if projected != 0.0 {
        // the point's own length is one, and one for the bias
        let moved = (*dual - gradient / (2.0 + softness)).max(0.0);
        let change = sign * (moved - *dual);
        *dual = moved;
        for word in point {
            weights[*word] += change * share;
        }
        weights[bias] += change;
    }
    projected.abs()
}

#[cfg(test)]
mod tests {
    use super::{COST, Claim, messages, separate};

    const FILE: &str = r#"{"floor": 0.9}
{"text": "it stalls hot", "symptoms": [{"id": "dies-when-hot", "present": true}]}
{"text": "it stalls cold", "symptoms": [{"id": "dies-when-hot", "present": false}]}
{"text": "hot or cold", "either": ["dies-when-hot"], "only": ["symptoms"]}
{"text": "12.4", "only": ["readings"]}
"#;

    /// By hand: with one word each, of length one, the plane is (a, -a) and no bias by symmetry, and
    /// a^2 + 2 C (1 - a)^2 is smallest at a = 2 C / (1 + 2 C).
    #[test]
    fn two_messages_part_where_arithmetic_says() {
        let two = &messages(FILE).unwrap()[..2];
        let plane = separate(
            two,
            &[vec![0], vec![1]],
            &Claim::Symptom("dies-when-hot".into()),
            2,
        );
        let expected = 2.0 * COST / (1.0 + 2.0 * COST);
        for (weight, expected) in plane.iter().zip([expected, -expected, 0.0]) {
            assert!((weight - expected).abs() < 0.01, "{plane:?}");
        }
    }

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
