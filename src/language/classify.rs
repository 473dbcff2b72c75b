//! What all words of a message tell together: what no phrase finds, and what a phrase got wrong.

use super::interpretation::{Interpretation, Said, Span, Symptom};
use super::matching::Text;
use super::scope::is_denied;
use super::token::What;
use crate::knowledge::classifier::Claim;
use crate::knowledge::id::{HazardId, ObservationId};
use std::collections::BTreeSet;
use std::ops::Range;

/// How far a message must lie on the side of a claim, or of its contrary, to count.
struct Limits {
    /// Beyond it the claim is added. Most of what a message says is said by few of its words, so that
    /// margins are small.
    enough: f64,
    /// Short of it a claim that a phrase made is taken back.
    doubted: f64,
}

// All chosen on messages that were not learned from.
const SYMPTOM: Limits = Limits {
    enough: -0.2,
    doubted: -0.8,
};
/// Where phrases have found a complaint or a danger already, the words have been accounted for.
const ONE_MORE: Limits = Limits {
    enough: 0.1,
    ..SYMPTOM
};
/// "The pump hums" says in three words that it is not silent, whatever else there is.
const DENIAL: Limits = Limits {
    enough: 0.1,
    doubted: f64::NEG_INFINITY,
};
const DENIAL_IN_STORY: Limits = Limits {
    enough: 0.1,
    ..SYMPTOM
};
const HISTORY: Limits = Limits {
    enough: 0.0,
    doubted: -0.8,
};
/// From a logistic regression of what is dangerous on the margins and on whether a phrase says so, over
/// 4,800 messages that the margins were not learned from.
const HAZARD: Limits = Limits {
    enough: -0.05,
    doubted: -0.67,
};
/// What it takes for one more danger where one is told in phrases: work stands still already.
const ONE_MORE_HAZARD: f64 = 0.15;
/// In the same regression: what the margin of any danger at all counts for beside that of the one.
const ANY_DANGER: f64 = 0.1;
/// A sentence that lies beyond this cries of danger by itself.
const CRY: f64 = 0.2;
/// A danger is only taken back where the sentence that reports it, by itself, does not lie beyond this:
/// of 2,500 short reports put into long stories no more are then lost than by phrases alone.
const SENTENCE_STANDS: f64 = -0.5;

/// Nor where the clause that reports it, by itself, lies beyond this.
const CLAUSE_STANDS: f64 = 0.36;

/// More words than this are a story.
const STORY: usize = 40;
/// Fewer words than this are an answer, which phrases know better.
const FEWEST_WORDS: usize = 4;

/// What is guessed from all words together counts as if the rider had said "I think".
const STRENGTH: f64 = 0.6;

/// No more words of a message than this are weighed.
const MOST_WORDS: usize = 1000;

/// Adds what all words together speak for and no phrase says, and takes back what a phrase says and
/// they speak against.
pub fn weigh(text: &Text<'_>, found: &mut Interpretation) {
    if text.tokens.len() < FEWEST_WORDS {
        return;
    }
    let message = Weighed::of(text);
    let claims = text.phrases.classifier.claims();
    let any = text.phrases.classifier.position(&Claim::Danger);
    let any = any.map_or(0.0, |at| message.whole[at]);
    for (at, claim) in claims.iter().enumerate() {
        match claim {
            Claim::Symptom(id) => {
                let danger = !found.hazards.is_empty();
                message.symptom(at, id, danger, &mut found.symptoms);
            }
            Claim::Denied(id) => message.denial(at, id, &mut found.symptoms),
            Claim::History(id) => message.settle(at, id, &HISTORY, &mut found.history),
            Claim::Hazard(id) => message.hazard(text, (at, any), id, &mut found.hazards),
            Claim::Danger | Claim::Reading | Claim::Leads => {}
        }
    }
}

/// A message with its margins by claim.
struct Weighed {
    is_story: bool,
    whole: Vec<f64>,
    /// The same without questions that are denied.
    told: Vec<f64>,
    sentences: Vec<Sentence>,
}

/// A sentence weighed alone.
struct Sentence {
    /// The bytes it stands on.
    place: Span,
    margins: Vec<f64>,
    /// Whether it is a question that the next one denies.
    denied: bool,
}

impl Weighed {
    fn of(text: &Text<'_>) -> Self {
        let classifier = &text.phrases.classifier;
        let sentences = by_sentence(text);
        let together = |kept: &dyn Fn(&Range<usize>) -> bool| {
            let kept = sentences.iter().filter(|(tokens, _)| kept(tokens));
            let all: BTreeSet<&String> = kept.flat_map(|(_, words)| words).collect();
            classifier.margins(all.into_iter().map(String::as_str))
        };
        let whole = together(&|_| true);
        let denied = sentences.iter().any(|(tokens, _)| is_denied(text, tokens));
        Self {
            is_story: text.tokens.len() > STORY,
            told: if denied {
                together(&|tokens| !is_denied(text, tokens))
            } else {
                whole.clone()
            },
            whole,
            sentences: sentences
                .iter()
                .map(|(tokens, words)| Sentence {
                    place: span(text, tokens),
                    margins: classifier.margins(words.iter().map(String::as_str)),
                    denied: is_denied(text, tokens),
                })
                .collect(),
        }
    }

    fn symptom(&self, at: usize, id: &ObservationId, danger: bool, list: &mut Vec<Said<Symptom>>) {
        let told = |said: &Said<Symptom>| said.what.present && said.strength > STRENGTH;
        let explained = !self.is_story && (danger || list.iter().any(told));
        let limits = if explained { &ONE_MORE } else { &SYMPTOM };
        if !list.iter().any(|said| said.what == symptom(id, false)) {
            self.settle(at, &symptom(id, true), limits, list);
        }
    }

    fn denial(&self, at: usize, id: &ObservationId, list: &mut Vec<Said<Symptom>>) {
        if !list.iter().any(|said| said.what == symptom(id, true)) {
            let limits = if self.is_story {
                &DENIAL_IN_STORY
            } else {
                &DENIAL
            };
            self.settle(at, &symptom(id, false), limits, list);
        }
    }

    /// A cry of danger counts for little in a long message: its sentence alone is enough; in a short one
    /// only where no other danger is told.
    fn hazard(
        &self,
        text: &Text<'_>,
        (at, any): (usize, f64),
        id: &HazardId,
        list: &mut Vec<Said<HazardId>>,
    ) {
        let stands = |said: &Said<HazardId>| {
            self.stands(said, at) || clause_margin(text, &said.span, at) > CLAUSE_STANDS
        };
        if list.iter().any(|said| said.what == *id && stands(said)) {
            return;
        }
        let cries = |alone: &Sentence| !alone.denied && alone.margins[at] > CRY;
        let first = self.is_story || list.is_empty();
        let speaks = |margins: &[f64]| margins[at] + ANY_DANGER * any;
        let enough = if list.iter().any(|said| said.strength > STRENGTH) {
            ONE_MORE_HAZARD
        } else {
            HAZARD.enough
        };
        if speaks(&self.told) > enough || first && self.sentences.iter().any(cries) {
            self.put(at, id, list);
        } else if speaks(&self.whole) < HAZARD.doubted {
            list.retain(|said| said.what != *id);
        }
    }

    /// Whether a sentence in which it is said speaks for the claim by itself.
    fn stands<T>(&self, said: &Said<T>, at: usize) -> bool {
        let touches = |place: &Span| place.start < said.span.end && said.span.start < place.end;
        let mut places = self.sentences.iter().filter(|alone| touches(&alone.place));
        places.any(|alone| alone.margins[at] > SENTENCE_STANDS)
    }

    fn settle<T: PartialEq + Clone>(
        &self,
        at: usize,
        what: &T,
        limits: &Limits,
        list: &mut Vec<Said<T>>,
    ) {
        if self.whole[at] < limits.doubted {
            list.retain(|said| said.what != *what);
        } else if self.whole[at] > limits.enough {
            self.put(at, what, list);
        }
    }

    /// Adds a claim, as said by the sentence that speaks most for it.
    fn put<T: PartialEq + Clone>(&self, at: usize, what: &T, list: &mut Vec<Said<T>>) {
        let sentences = self.sentences.iter();
        let most = sentences.max_by(|x, y| x.margins[at].total_cmp(&y.margins[at]));
        if !list.iter().any(|said| said.what == *what) {
            list.push(Said {
                what: what.clone(),
                span: most.map_or(0..0, |alone| alone.place.clone()),
                strength: STRENGTH,
            });
        }
    }
}

/// How far the clause in which something is said speaks for a claim: "everything is fine, there is petrol
/// everywhere" is no reason to doubt the petrol.
fn clause_margin(text: &Text<'_>, said: &Span, at: usize) -> f64 {
    let divides = |token: &usize| {
        matches!(text.tokens[*token].what, What::Mark(_)) || text.in_class(*token, "joiner")
    };
    let place = |byte: usize| text.tokens.partition_point(|token| token.span.end <= byte);
    let (first, last) = (place(said.start), place(said.end.saturating_sub(1)));
    let start = (0..first).rev().take(MOST_WORDS).find(divides);
    let end = (last + 1..text.tokens.len()).take(MOST_WORDS).find(divides);
    let tokens = start.map_or(0, |at| at + 1)..end.unwrap_or(text.tokens.len());
    let words = words_of(text, tokens, &mut { MOST_WORDS });
    text.phrases
        .classifier
        .margins(words.iter().map(String::as_str))[at]
}

fn symptom(id: &ObservationId, present: bool) -> Symptom {
    Symptom {
        id: id.clone(),
        present,
    }
}

/// The words of a message and every two that follow one another, as a table is learned from.
#[must_use]
pub fn words(text: &Text<'_>) -> BTreeSet<String> {
    let sentences = by_sentence(text);
    sentences.into_iter().flat_map(|(_, words)| words).collect()
}

/// The same sentence by sentence. Whose bike it is and what is over is not asked: leaving such sentences
/// out was tried and told less, since what is said of them has words of its own.
fn by_sentence(text: &Text<'_>) -> Vec<(Range<usize>, BTreeSet<String>)> {
    let mut left = MOST_WORDS;
    let mut sentences = Vec::new();
    for sentence in text.sentences {
        let words = words_of(text, sentence.tokens.clone(), &mut left);
        if !words.is_empty() {
            sentences.push((sentence.tokens.clone(), words));
        }
    }
    sentences
}

/// The words among some tokens and every two that follow one another, until no more may be taken.
fn words_of(text: &Text<'_>, tokens: Range<usize>, left: &mut usize) -> BTreeSet<String> {
    let mut words = BTreeSet::new();
    let mut last: Option<&str> = None;
    for token in tokens {
        let Some(word) = text.weighed(token).filter(|_| *left > 0) else {
            continue;
        };
        *left -= 1;
        words.insert(word.to_owned());
        if let Some(last) = last {
            words.insert(format!("{last} {word}"));
        }
        last = Some(word);
    }
    words
}

fn span(text: &Text<'_>, tokens: &Range<usize>) -> Span {
    text.tokens[tokens.start].span.start..text.tokens[tokens.end - 1].span.end
}
