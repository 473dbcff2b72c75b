//! What all words of a message tell together: what no phrase finds, and what a phrase got wrong.

mod cut;
mod evidence;
mod figure;

pub use cut::{Cut, cut};

use super::interpretation::{Interpretation, Said, Span, Symptom};
use super::matching::Text;
use super::scope::Scopes;
use crate::knowledge::classifier::Claim;
use crate::knowledge::id::{HazardId, ObservationId};
use crate::knowledge::phrase::Cue;
use evidence::{Counts, Phrased, Sentence, Weighed};
use std::collections::BTreeSet;
use std::ops::Range;

const SYMPTOM: Counts = Counts {
    none: 0.24,
    words: 3.22,
    words_of_one: -0.19,
    patterns: 0.31,
    patterns_of_one: -0.02,
    along: 0.38,
    along_of_one: 0.1,
    least: f64::NEG_INFINITY,
    said: 0.47,
    guessed: 0.03,
    other: -0.28,
    long: 0.36,
    most: -0.28,
};
const DENIAL: Counts = Counts {
    none: 0.51,
    words: 3.11,
    words_of_one: 0.13,
    patterns: 0.26,
    patterns_of_one: 0.03,
    along: 0.32,
    along_of_one: 0.18,
    least: f64::NEG_INFINITY,
    said: 0.18,
    guessed: -0.01,
    other: -0.33,
    long: 0.12,
    most: 0.0,
};
const HISTORY: Counts = Counts {
    none: 0.32,
    words: 2.68,
    words_of_one: 0.03,
    patterns: 0.24,
    patterns_of_one: 0.08,
    along: 0.45,
    along_of_one: -0.06,
    least: f64::NEG_INFINITY,
    said: 0.21,
    guessed: 0.06,
    other: -0.13,
    long: -0.14,
    most: 0.0,
};
const HAZARD: Counts = Counts {
    none: -1.14,
    words: 2.39,
    words_of_one: 0.35,
    patterns: 0.22,
    patterns_of_one: -0.08,
    along: 0.6,
    along_of_one: -0.12,
    least: -2.0,
    said: 0.69,
    guessed: 0.0,
    other: 0.09,
    long: 0.41,
    most: 0.0,
};

/// Beyond what logit a complaint is made: chosen on the same messages, within a hair of where the F1 is highest
/// (0.913 from -0.5 to -0.3), where every set is read at least as well as its floor.
const TOLD: f64 = -0.74;
/// For what a rider says is not so: writers differ on which denials are worth a label.
const DENIED: f64 = -0.75;
/// For history.
const HAPPENED: f64 = 0.12;
/// For dangers, chosen for recall as long as of ordinary reports that tell none fewer than 2 in 100 are taken
/// for one; short of it a danger that a phrase made is taken back. A paragraph of a story counts as a
/// message of its own: of short reports put before or behind long stories fewer than 2 in 100 are then lost.
const DANGER: f64 = -1.26;
/// In an answer of so few words and signs, beyond this: "engine still a bit warm" answers the checklist, which
/// knows what to do about it.
const DANGER_IN_AN_ANSWER: f64 = -0.2;
const ANSWER: usize = 12;
/// The same of one that no phrase says, in words that are known to sound like one and to tell none: "the wire in the
/// fuse has melted".
const DANGER_IN_THE_HARMLESS: f64 = 4.0;
/// What the margin of any danger at all counts for beside that of the one.
const ANY_DANGER: f64 = 0.41;
/// In a story a sentence that lies beyond this by itself tells of one, whatever the rest says.
const DANGER_IN_STORY: f64 = 1.0;

/// More words and signs than this are a story.
const STORY: usize = 40;

/// In so few words and signs nothing speaks against a danger that a phrase finds: words of a cry may never
/// have been heard before.
const FEW_WORDS: usize = 7;

/// Fewer words than this are an answer, which phrases know better.
const FEWEST_WORDS: usize = 4;

/// What is guessed from all words together counts as if the rider had said "I think".
pub const GUESSED: f64 = 0.6;

/// Adds what all words together speak for and no phrase says, and takes back what a phrase says and
/// they speak against.
pub fn weigh(text: &Text<'_>, scopes: &Scopes<'_, '_>, found: &mut Interpretation) {
    let table = &text.phrases.classifier;
    let networks = [
        text.phrases.network.claims(),
        text.phrases.recurrent.claims(),
    ];
    if text.tokens.len() < FEWEST_WORDS || networks.iter().any(|claims| *claims != table.claims()) {
        return;
    }
    let message = Weighed::of(text);
    let story = text.tokens.len() > STORY;
    let parts = if story {
        Weighed::paragraphs(text)
    } else {
        Vec::new()
    };
    let before = found.clone();
    let danger = table.position(&Claim::Danger);
    let answer = text.tokens.len() <= ANSWER;
    let harmless = answer && is_harmless(text, scopes);
    let asks_leave = asks_leave(text);
    for (at, claim) in table.claims().iter().enumerate() {
        match claim {
            Claim::Symptom(id) => {
                let phrased = of_symptom(&before, id, true);
                let made =
                    message.logit(at, &SYMPTOM, phrased) > TOLD && (phrased.said || !asks_leave);
                message.report(at, made, &symptom(id, true), &mut found.symptoms);
            }
            Claim::Denied(id) => {
                let phrased = of_symptom(&before, id, false);
                let made = message.logit(at, &DENIAL, phrased) > DENIED;
                message.report(at, made, &symptom(id, false), &mut found.symptoms);
            }
            Claim::History(id) => {
                let phrased = of(&before.history, id, |_| true);
                let made = message.logit_told(at, &HISTORY, phrased) > HAPPENED;
                message.settle(at, made, id, &mut found.history);
            }
            Claim::Hazard(id) => {
                let said = before.hazards.iter().any(|said| said.what == *id);
                let limit = match (answer, harmless && !said) {
                    (false, _) => DANGER,
                    (true, false) => DANGER_IN_AN_ANSWER,
                    (true, true) => DANGER_IN_THE_HARMLESS,
                };
                let told = Told {
                    at,
                    any: danger,
                    limit,
                    id,
                    list: &before.hazards,
                };
                let by = |one: &Weighed| told.by(one);
                let alone = |one: &Sentence| told.by_alone(one);
                let made = by(&message)
                    || parts.iter().any(by)
                    || story && message.sentences.iter().any(alone);
                let kept = text.tokens.len() <= FEW_WORDS || told.is_beyond(&message);
                if made || !kept {
                    message.settle(at, made, id, &mut found.hazards);
                }
            }
            Claim::Danger | Claim::Reading | Claim::Leads | Claim::Of(_) => {}
        }
    }
}

impl Weighed {
    /// Settles whether a complaint is there, or denied; who says the one does not say the other.
    fn report(&self, at: usize, made: bool, what: &Symptom, list: &mut Vec<Said<Symptom>>) {
        let contrary = symptom(&what.id, !what.present);
        if !list.iter().any(|said| said.what == contrary) {
            self.settle(at, made, what, list);
        }
    }

    /// Adds a claim that is made, as said by the sentence that speaks most for it, and takes back one that
    /// is not.
    fn settle<T: PartialEq + Clone>(
        &self,
        at: usize,
        made: bool,
        what: &T,
        list: &mut Vec<Said<T>>,
    ) {
        let said = list.iter().any(|said| said.what == *what);
        if !made {
            list.retain(|said| said.what != *what);
        } else if !said {
            let sentences = self.sentences.iter();
            let most = sentences.max_by(|x, y| x.words(at).total_cmp(&y.words(at)));
            list.push(Said {
                what: what.clone(),
                span: most.map_or(0..0, |alone| alone.place.clone()),
                strength: GUESSED,
            });
        }
    }
}

/// A danger of which a message may tell.
struct Told<'a> {
    /// Its place among the claims, and that of any danger at all.
    at: usize,
    any: Option<usize>,
    /// Beyond what logit it is told.
    limit: f64,
    id: &'a HazardId,
    /// What phrases say of it and of others.
    list: &'a [Said<HazardId>],
}

impl Told<'_> {
    /// Whether a message, or a paragraph of it, tells of it.
    fn by(&self, one: &Weighed) -> bool {
        let any = self.any.map_or(0.0, |any| ANY_DANGER * one.words(any));
        any + one.logit_told(self.at, &HAZARD, self.phrased(&one.place())) > self.limit
    }

    /// Whether a sentence of a story by itself tells of it.
    fn by_alone(&self, one: &Sentence) -> bool {
        let any = self.any.map_or(0.0, |any| ANY_DANGER * one.words(any));
        let logit = any + one.logit(self.at, &HAZARD, self.phrased(&one.place));
        !one.denied && logit > DANGER_IN_STORY
    }

    /// Whether a phrase says it beyond the words that are weighed, of which nothing here can judge.
    fn is_beyond(&self, message: &Weighed) -> bool {
        let end = message.place().end;
        let beyond = |said: &Said<HazardId>| said.what == *self.id && said.span.start >= end;
        self.list.iter().any(beyond)
    }

    /// What phrases say of it, and of others, in a place of the message.
    fn phrased(&self, place: &Span) -> Phrased {
        let touches =
            |said: &&Said<HazardId>| place.start < said.span.end && said.span.start < place.end;
        of(self.list.iter().filter(touches), self.id, |_| true)
    }
}

/// Whether it says next to nothing but words that are known to sound like a danger and to tell none.
fn is_harmless(text: &Text<'_>, scopes: &Scopes<'_, '_>) -> bool {
    /// Words and signs beside them.
    const BESIDE: usize = 2;
    let places =
        (0..text.sentences.len()).flat_map(|sentence| scopes.places(Cue::Harmless, sentence));
    let covered: BTreeSet<usize> = places.flatten().collect();
    !covered.is_empty() && covered.len() + BESIDE >= text.tokens.len()
}

/// Whether all of it asks what may be done: "can I open the cap" tells of no complaint.
fn asks_leave(text: &Text<'_>) -> bool {
    /// Small words before it.
    const BEFORE: usize = 3;
    let asks = |tokens: Range<usize>| tokens.take(BEFORE).any(|at| text.in_class(at, "leave"));
    text.sentences
        .iter()
        .all(|sentence| asks(sentence.tokens.clone()))
}

/// What phrases say of a complaint's being there, or of its denial.
fn of_symptom(before: &Interpretation, id: &ObservationId, present: bool) -> Phrased {
    let alike = |other: &Symptom| other.present == present;
    of(&before.symptoms, &symptom(id, present), alike)
}

/// What phrases say of one of a list, and of others that are `alike`.
fn of<'a, T: PartialEq + 'a>(
    list: impl IntoIterator<Item = &'a Said<T>>,
    what: &T,
    alike: impl Fn(&T) -> bool,
) -> Phrased {
    let surely = |said: &&Said<T>| said.strength > GUESSED;
    let list = list.into_iter();
    let (this, others): (Vec<_>, Vec<_>) = list.partition(|said| said.what == *what);
    let said = this.iter().any(surely);
    Phrased {
        said,
        guessed: !said && !this.is_empty(),
        other: others.iter().any(|said| surely(said) && alike(&said.what)),
    }
}

fn symptom(id: &ObservationId, present: bool) -> Symptom {
    Symptom {
        id: id.clone(),
        present,
    }
}
