//! What all words of a message tell together: what no phrase finds, and what a phrase got wrong.

use super::interpretation::{Interpretation, Said, Span, Symptom};
use super::matching::Text;
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
/// "The pump hums" says in three words that it is not silent, whatever else there is.
const DENIAL: Limits = Limits {
    enough: -0.2,
    doubted: f64::NEG_INFINITY,
};
const HISTORY: Limits = Limits {
    enough: -0.1,
    doubted: -0.8,
};
/// Of 126 reports of danger that phrases found in such messages, none lay short of it.
const HAZARD: Limits = Limits {
    enough: 0.2,
    doubted: -1.2,
};
/// In a long story a phrase may stand by chance.
const HAZARD_IN_STORY: Limits = Limits {
    enough: 0.2,
    doubted: -0.8,
};
/// Nor did any lie short of this on the side of some danger, whichever.
const NO_DANGER: f64 = -0.8;
/// A danger is only taken back where the sentence that reports it, by itself, does not lie beyond this:
/// in a long message one cry counts for little.
const SENTENCE_STANDS: f64 = -0.2;

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
    let classifier = &text.phrases.classifier;
    let sentences = by_sentence(text);
    let all: BTreeSet<&String> = sentences.iter().flat_map(|(_, words)| words).collect();
    if text.tokens.len() < FEWEST_WORDS {
        return;
    }
    let margins = classifier.margins(all.into_iter().map(String::as_str));
    let is_story = text.tokens.len() > STORY;
    for (at, claim) in classifier.claims().iter().enumerate() {
        let place = || where_said(text, &sentences, at);
        match claim {
            Claim::Symptom(id) => {
                let told = |said: &Said<Symptom>| said.what.id == *id && !said.what.present;
                if !found.symptoms.iter().any(told) {
                    let symptom = symptom(id, true);
                    settle(&mut found.symptoms, symptom, margins[at], &SYMPTOM, place);
                }
            }
            Claim::Denied(id) => {
                let told = |said: &Said<Symptom>| said.what.id == *id && said.what.present;
                if !found.symptoms.iter().any(told) {
                    let limits = if is_story { &SYMPTOM } else { &DENIAL };
                    settle(
                        &mut found.symptoms,
                        symptom(id, false),
                        margins[at],
                        limits,
                        place,
                    );
                }
            }
            Claim::History(id) => {
                settle(&mut found.history, id.clone(), margins[at], &HISTORY, place);
            }
            Claim::Hazard(id) => {
                let limits = if is_story { &HAZARD_IN_STORY } else { &HAZARD };
                let stands = |said: &Said<HazardId>| {
                    said.what == *id
                        && sentence_margin(text, &sentences, &said.span, at) > SENTENCE_STANDS
                };
                if !found.hazards.iter().any(stands) {
                    settle(&mut found.hazards, id.clone(), margins[at], limits, place);
                }
            }
            Claim::Danger if margins[at] < NO_DANGER => {
                found.hazards.retain(|said| {
                    sentence_margin(text, &sentences, &said.span, at) > SENTENCE_STANDS
                });
            }
            Claim::Danger => {}
        }
    }
}

fn symptom(id: &ObservationId, present: bool) -> Symptom {
    Symptom {
        id: id.clone(),
        present,
    }
}

/// How far the sentences that a span touches lie on the side of a claim, by themselves.
fn sentence_margin(text: &Text<'_>, sentences: &[InWords], span: &Span, claim: usize) -> f64 {
    let touched = sentences.iter().filter(|(tokens, _)| {
        let place = self::span(text, tokens);
        place.start < span.end && span.start < place.end
    });
    let words: BTreeSet<&String> = touched.flat_map(|(_, words)| words).collect();
    let words = words.into_iter().map(String::as_str);
    text.phrases.classifier.margins(words)[claim]
}

/// A sentence's tokens, and its words as they are weighed.
type InWords = (Range<usize>, BTreeSet<String>);

fn settle<T: PartialEq>(
    list: &mut Vec<Said<T>>,
    what: T,
    margin: f64,
    limits: &Limits,
    place: impl Fn() -> Span,
) {
    let told = list.iter().any(|said| said.what == what);
    if told && margin < limits.doubted {
        list.retain(|said| said.what != what);
    } else if !told && margin > limits.enough {
        list.push(Said {
            what,
            span: place(),
            strength: STRENGTH,
        });
    }
}

/// The sentence that speaks most for a claim.
fn where_said(text: &Text<'_>, sentences: &[InWords], at: usize) -> Span {
    let margin = |words: &BTreeSet<String>| {
        let words = words.iter().map(String::as_str);
        text.phrases.classifier.margins(words)[at]
    };
    let most = sentences
        .iter()
        .max_by(|x, y| margin(&x.1).total_cmp(&margin(&y.1)));
    most.map_or(0..0, |(tokens, _)| span(text, tokens))
}

/// The words of a message and every two that follow one another, as a table is learned from.
#[must_use]
pub fn words(text: &Text<'_>) -> BTreeSet<String> {
    let sentences = by_sentence(text);
    sentences.into_iter().flat_map(|(_, words)| words).collect()
}

/// The same sentence by sentence. Whose bike it is and what is over is not asked: leaving such sentences
/// out was tried and told less, since what is said of them has words of its own.
fn by_sentence(text: &Text<'_>) -> Vec<InWords> {
    let mut left = MOST_WORDS;
    let mut sentences = Vec::new();
    for sentence in text.sentences {
        let mut words = BTreeSet::new();
        let mut last: Option<&str> = None;
        for token in sentence.tokens.clone() {
            let Some(word) = word(text, token).filter(|_| left > 0) else {
                continue;
            };
            left -= 1;
            words.insert(word.to_owned());
            if let Some(last) = last {
                words.insert(format!("{last} {word}"));
            }
            last = Some(word);
        }
        if !words.is_empty() {
            sentences.push((sentence.tokens.clone(), words));
        }
    }
    sentences
}

/// A word as it is weighed: misspelt ones as what they were corrected to, every number alike.
fn word<'t>(text: &'t Text<'_>, at: usize) -> Option<&'t str> {
    match &text.tokens[at].what {
        What::Word(word) => Some(
            word.id
                .map_or(&word.plain, |id| text.phrases.words.word(id)),
        ),
        What::Number(_) => Some("0"),
        What::Mark(_) => None,
    }
}

fn span(text: &Text<'_>, tokens: &Range<usize>) -> Span {
    text.tokens[tokens.start].span.start..text.tokens[tokens.end - 1].span.end
}
