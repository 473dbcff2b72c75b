//! What all words of a message tell together: what no phrase finds, and what a phrase got wrong.

mod cut;
mod evidence;

pub use cut::{phrased, words};

use super::interpretation::{Interpretation, Said, Span, Symptom};
use super::matching::Text;
use super::token::What;
use crate::knowledge::classifier::Claim;
use crate::knowledge::id::{HazardId, ObservationId};
use cut::{MOST_WORDS, words_of};
use evidence::{Counts, Phrased, Weighed};

const SYMPTOM: Counts = Counts {
    none: -0.4,
    words: 1.32,
    words_of_one: 0.8,
    patterns: 0.57,
    patterns_of_one: -0.02,
    said: 2.64,
    guessed: 0.21,
    other: -0.87,
    long: 1.2,
};
const DENIAL: Counts = Counts {
    none: 0.37,
    words: 0.89,
    words_of_one: 1.36,
    patterns: 0.37,
    patterns_of_one: 0.34,
    said: 2.01,
    guessed: 0.0,
    other: 0.61,
    long: 1.12,
};
const HISTORY: Counts = Counts {
    none: -1.04,
    words: 0.8,
    words_of_one: 1.23,
    patterns: 0.3,
    patterns_of_one: 0.04,
    said: 1.78,
    guessed: 0.17,
    other: -0.22,
    long: 0.84,
};
const HAZARD: Counts = Counts {
    none: -0.7,
    words: 1.73,
    words_of_one: 1.15,
    patterns: 0.45,
    patterns_of_one: -0.1,
    said: 2.85,
    guessed: 0.22,
    other: -0.17,
    long: 0.04,
};

/// Beyond what logit a claim is made: chosen on the same messages, for complaints and history where the
/// F1 is highest.
const TOLD: f64 = -0.6;
/// For what a rider says is not so: writers differ on which denials are worth a label.
const DENIED: f64 = -0.7;
/// For dangers, chosen so that of reports that tell none fewer than 2 in 100 are taken for one; short of
/// it a danger that a phrase made is taken back.
const DANGER: f64 = -0.5;
/// What the margin of any danger at all counts for beside that of the one.
const ANY_DANGER: f64 = 0.45;
/// Where no danger is told yet, a sentence that lies beyond this cries of one by itself ..
const CRY: f64 = 1.6;
/// .. and in a story beyond this: one sentence counts for little among many.
const CRY_IN_STORY: f64 = -0.2;
/// A danger is only taken back where the sentence that reports it, by itself, does not lie beyond this:
/// of 2,500 short reports put into long stories no more are then lost than by phrases alone.
const SENTENCE_STANDS: f64 = 0.2;
/// Nor where the clause that reports it, by itself, lies beyond this.
const CLAUSE_STANDS: f64 = 0.36;

/// More words and signs than this are a story.
const STORY: usize = 40;

/// In so few words and signs nothing speaks against a danger that a phrase finds: words of a cry may never
/// have been heard before.
const FEW_WORDS: usize = 7;

/// Fewer words than this are an answer, which phrases know better.
const FEWEST_WORDS: usize = 4;

/// What is guessed from all words together counts as if the rider had said "I think".
const STRENGTH: f64 = 0.6;

/// Adds what all words together speak for and no phrase says, and takes back what a phrase says and
/// they speak against.
pub fn weigh(text: &Text<'_>, found: &mut Interpretation) {
    let (table, network) = (&text.phrases.classifier, &text.phrases.network);
    if text.tokens.len() < FEWEST_WORDS || table.claims() != network.claims() {
        return;
    }
    let message = Weighed::of(text);
    let before = found.clone();
    let danger = table.position(&Claim::Danger);
    for (at, claim) in table.claims().iter().enumerate() {
        match claim {
            Claim::Symptom(id) => {
                let phrased = of_symptom(&before, id, true);
                let made = message.logit(at, &SYMPTOM, phrased) > TOLD;
                message.report(at, made, &symptom(id, true), &mut found.symptoms);
            }
            Claim::Denied(id) => {
                let phrased = of_symptom(&before, id, false);
                let made = message.logit(at, &DENIAL, phrased) > DENIED;
                message.report(at, made, &symptom(id, false), &mut found.symptoms);
            }
            Claim::History(id) => {
                let phrased = of(&before.history, id, |_| true);
                let made = message.logit(at, &HISTORY, phrased) > TOLD;
                message.settle(at, made, id, &mut found.history);
            }
            Claim::Hazard(id) => {
                let phrased = of(&before.hazards, id, |_| true);
                let any = danger.map_or(0.0, |danger| ANY_DANGER * message.words(danger));
                let logit = any + message.logit_told(at, &HAZARD, phrased);
                message.hazard(text, (at, logit), id, &mut found.hazards);
            }
            Claim::Danger | Claim::Reading | Claim::Leads => {}
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

    /// A danger that is told counts where its sentence or clause alone speaks for it, whatever else the
    /// message says.
    fn hazard(
        &self,
        text: &Text<'_>,
        (at, logit): (usize, f64),
        id: &HazardId,
        list: &mut Vec<Said<HazardId>>,
    ) {
        let stands = |said: &Said<HazardId>| {
            self.stands(said, at) || clause_margin(text, &said.span, at) > CLAUSE_STANDS
        };
        if list.iter().any(|said| said.what == *id && stands(said)) {
            return;
        }
        let story = text.tokens.len() > STORY;
        let cry = if story { CRY_IN_STORY } else { CRY };
        let cries = |alone: &evidence::Sentence| !alone.denied && alone.logit(at, &HAZARD) > cry;
        let unheard = list.is_empty() || story;
        if logit > DANGER || unheard && self.sentences.iter().any(cries) {
            self.settle(at, true, id, list);
        } else if text.tokens.len() > FEW_WORDS {
            self.settle(at, false, id, list);
        }
    }

    /// Whether a sentence in which it is said speaks for the claim by itself.
    fn stands<T>(&self, said: &Said<T>, at: usize) -> bool {
        let touches = |place: &Span| place.start < said.span.end && said.span.start < place.end;
        let mut places = self.sentences.iter().filter(|alone| touches(&alone.place));
        places.any(|alone| alone.words(at) > SENTENCE_STANDS)
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
                strength: STRENGTH,
            });
        }
    }
}

/// What phrases say of a complaint's being there, or of its denial.
fn of_symptom(before: &Interpretation, id: &ObservationId, present: bool) -> Phrased {
    let alike = |other: &Symptom| other.present == present;
    of(&before.symptoms, &symptom(id, present), alike)
}

/// What phrases say of one of a list, and of others that are `alike`.
fn of<T: PartialEq>(list: &[Said<T>], what: &T, alike: impl Fn(&T) -> bool) -> Phrased {
    let surely = |said: &&Said<T>| said.strength > STRENGTH;
    let (this, others): (Vec<_>, Vec<_>) = list.iter().partition(|said| said.what == *what);
    let said = this.iter().any(surely);
    Phrased {
        said,
        guessed: !said && !this.is_empty(),
        other: others.iter().any(|said| surely(said) && alike(&said.what)),
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
