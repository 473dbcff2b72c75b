//! Numbers that take the place of others: "14, no wait, 1.4".

use super::{Sorter, Taken};
use crate::knowledge::phrase::Cue;
use crate::language::interpretation::Amends;
use crate::language::role::Candidate;
use crate::language::token::What;
use crate::quantity::Kind;
use std::ops::Range;

impl Sorter<'_, '_, '_> {
    /// Whether the same number is said later to be wrong: "1.4, not 14" after "14".
    pub(super) fn taken_back(&self, candidate: &Candidate) -> bool {
        let value = self.quantity(candidate).value;
        let near = |later: &&Candidate| later.sentence <= candidate.sentence + 3;
        let later = self.candidates[candidate.at + 1..].iter();
        later.take_while(near).any(|later| {
            let other = self.quantity(later).value;
            later.replaced && (other - value).abs() < 1e-9
        })
    }

    /// Whether "no wait", "sorry", "I mean" stands between the two numbers.
    pub(super) fn corrects(&self, last: &Taken, candidate: &Candidate) -> bool {
        let from = self.text.quantities[last.at].tokens.end;
        let to = self.quantity(candidate).tokens.start;
        self.is_flat_no(from..to)
            || self.is_denied_first(last, from..to)
            || self.is_put_right_after(&self.candidates[last.at], candidate)
    }

    /// Whether words that take something back stand between two numbers that are near each other.
    fn is_put_right_after(&self, first: &Candidate, candidate: &Candidate) -> bool {
        let from = self.quantity(first).tokens.end;
        let to = self.quantity(candidate).tokens.start;
        let takes_back = |sentence| {
            let mut places = self.scopes.places(Cue::Correction, sentence).into_iter();
            places.any(|place| {
                let between = place.start >= from && place.end <= to;
                between && to - place.end <= 10 && !self.is_courtesy(sentence, &place)
            })
        };
        let near = candidate.sentence - first.sentence <= 2;
        near && (first.sentence..=candidate.sentence).any(takes_back)
    }

    /// The kind of the number with a unit that a bare one puts right, right after it or named again:
    /// "the battery shows 12.7 V. Sorry, that was 12.1, not 12.7."
    pub(super) fn kind_put_right(&self, candidate: &Candidate) -> Option<Kind> {
        let before = &self.candidates[..candidate.at];
        let wrong = self.wrong_after(candidate).and_then(|wrong| {
            let same = |one: &&Candidate| (self.quantity(one).value - wrong).abs() < 1e-9;
            before.iter().rev().find(same)
        });
        let last = before.last();
        let last = || last.filter(|last| self.is_put_right_after(last, candidate));
        // "wait ten minutes, another twelve"
        wrong
            .or_else(last)?
            .said
            .filter(|&kind| kind != Kind::Duration)
    }

    /// The number that is said right after this one to be wrong.
    fn wrong_after(&self, candidate: &Candidate) -> Option<f64> {
        let next = self.candidates.get(candidate.at + 1)?;
        let beside = next.replaced && next.sentence == candidate.sentence;
        beside.then(|| self.quantity(next).value)
    }

    /// What the only reading of a message puts right that was told in an earlier one.
    pub(super) fn amends(&self, taken: &[Taken]) -> Option<Amends> {
        let [only] = taken else {
            return None;
        };
        let quantity = &self.text.quantities[only.at];
        let mut wrong = self.candidates.iter().filter(|one| one.replaced);
        let wrong = wrong.next().map(|one| self.quantity(one).value);
        let told_here = |wrong: f64| {
            let told = |one: &Candidate| (self.quantity(one).value - wrong).abs() < 1e-9;
            self.candidates[..only.at]
                .iter()
                .any(|one| !one.replaced && told(one))
        };
        let stands = match wrong {
            Some(wrong) => !told_here(wrong),
            None => only.at == 0 && self.opens_with_correction(quantity.tokens.start),
        };
        (stands && only.reading.value.is_some()).then(|| Amends {
            wrong,
            right: quantity.value,
            step: quantity.step(),
            united: quantity.unit.is_some(),
        })
    }

    /// "Sorry, that was 11.6": whether the message begins by taking something back.
    fn opens_with_correction(&self, number: usize) -> bool {
        let mut opening = self.scopes.places(Cue::Correction, 0).into_iter();
        opening.any(|place| {
            let mut before = 0..place.start;
            let first = before.all(|at| {
                self.text.is_filler(at)
                    || self.text.in_class(at, "denial")
                    || self.text.tokens[at].plain().is_none()
            });
            let mut between = place.end..number;
            let of_before = between.any(|at| self.text.in_class(at, "of-before"));
            first && place.end <= number && of_before && !self.is_courtesy(0, &place)
        })
    }

    /// "Resting 12.6, cranking 11.1 - sorry, 10.1": what was wrong is among these numbers, and left out already.
    fn is_put_right(&self, mut between: Range<usize>, kind: Kind) -> bool {
        between.any(|at| {
            let candidate = &self.candidates[at];
            !candidate.excluded && candidate.said.is_none_or(|said| said == kind)
        })
    }

    /// "Sorry for my English" takes nothing back.
    fn is_courtesy(&self, sentence: usize, place: &Range<usize>) -> bool {
        let figures = self.scopes.places(Cue::Figurative, sentence);
        let within = |figure: &Range<usize>| figure.start <= place.start && place.end <= figure.end;
        figures.iter().any(within)
    }

    /// "twelve volts no 12.07 volts": the "no" takes back what stands before it.
    pub(super) fn follows_a_no(&self, candidate: &Candidate) -> bool {
        let before = candidate.at.checked_sub(1).map(|at| &self.candidates[at]);
        before.is_some_and(|before| {
            let between = self.quantity(before).tokens.end..self.quantity(candidate).tokens.start;
            let alike = candidate.said.is_none_or(|said| before.said == Some(said));
            alike && !before.excluded && self.is_flat_no(between)
        })
    }

    /// "no 12.4, 11.4": a "no" right before the first, and nothing but a comma between the two.
    fn is_denied_first(&self, last: &Taken, between: Range<usize>) -> bool {
        let start = self.text.quantities[last.at].tokens.start;
        let sentence = &self.text.sentences[last.sentence];
        let opens = start == sentence.tokens.start + 1 && self.text.in_class(start - 1, "denial");
        let comma = |at: usize| matches!(self.text.tokens[at].what, What::Mark(',' | '…' | '-'));
        let next = self.text.quantities.get(last.at + 1);
        opens
            && between.len() == 1
            && comma(between.start)
            && next.is_some_and(|next| next.tokens.start == between.end)
            && self.text.quantities.get(last.at + 2).is_none()
    }

    /// "12.3 no 13.2": nothing but a "no" between the two.
    fn is_flat_no(&self, between: Range<usize>) -> bool {
        let mut words = 0;
        let plain = between.len() <= 4
            && between.clone().all(|at| match self.text.tokens[at].what {
                What::Word(_) => {
                    words += 1;
                    self.text.in_class(at, "denial")
                }
                What::Mark(mark) => matches!(mark, ',' | '.' | '…' | '-' | '?'),
                What::Number(_) => false,
            });
        plain && words == 1
    }

    /// Lets each corrected value replace the one it corrects.
    pub(super) fn correct(&self, taken: &mut Vec<Taken>) {
        let mut at = 1;
        while at < taken.len() {
            let candidate = &self.candidates[taken[at].at];
            let before = (0..at)
                .rev()
                .find(|&before| taken[before].kind == taken[at].kind);
            let stands = |before: &usize| {
                self.corrects(&taken[*before], candidate)
                    && !self.is_put_right(taken[*before].at + 1..taken[at].at, taken[at].kind)
            };
            match before.filter(stands) {
                Some(before) => {
                    taken[at].reading.of = taken[before].reading.of.clone();
                    taken.remove(before);
                }
                None => at += 1,
            }
        }
    }
}
