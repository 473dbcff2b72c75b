//! Walks the steps of one sequence along the tokens of a sentence.

use super::Text;
use crate::knowledge::phrase::Unit;
use crate::knowledge::phrase::pattern::{Sort, Step};
use crate::language::quantity::Quantity;
use crate::language::token::{Token, What};
use crate::quantity::Kind;
use std::ops::Range;

/// Words a gap may stand for.
const GAP: usize = 4;
/// Small words that may be skipped between two words of a phrase.
const SKIPPED: usize = 3;
/// Steps one try of one sequence may take; no phrase comes near it.
const TRIES: usize = 400;

/// Steps still to match, and those after them.
#[derive(Clone, Copy)]
struct Rest<'s> {
    steps: &'s [Step],
    next: Option<&'s Rest<'s>>,
}

/// Where a sequence was found.
pub struct Found {
    /// The token after it.
    pub end: usize,
    /// Tokens its words stand on, in order.
    pub used: Vec<usize>,
    /// The quantities its `#` stand on.
    pub numbers: Vec<usize>,
}

/// Matches a sequence from the first of these tokens on.
pub fn walk(text: &Text<'_>, steps: &[Step], tokens: Range<usize>) -> Option<Found> {
    let mut walker = Walker {
        text,
        start: tokens.start,
        end: tokens.end,
        used: Vec::new(),
        numbers: Vec::new(),
        tries: 0,
    };
    let end = walker.run(Rest { steps, next: None }, tokens.start)?;
    Some(Found {
        end,
        used: walker.used,
        numbers: walker.numbers,
    })
}

struct Walker<'t, 'a> {
    text: &'t Text<'a>,
    start: usize,
    end: usize,
    used: Vec<usize>,
    numbers: Vec<usize>,
    tries: usize,
}

impl Walker<'_, '_> {
    /// The token after the match, if the steps match from `at` on.
    fn run(&mut self, rest: Rest<'_>, at: usize) -> Option<usize> {
        self.tries += 1;
        if self.tries > TRIES {
            return None;
        }
        let Some((step, steps)) = rest.steps.split_first() else {
            return match rest.next {
                Some(next) => self.run(*next, at),
                None => Some(at),
            };
        };
        let after = Rest {
            steps,
            next: rest.next,
        };
        match step {
            Step::Any(options) => self.options(options, after, at),
            Step::Maybe(options) => self
                .options(options, after, at)
                .or_else(|| self.run(after, at)),
            Step::Gap => self.gap(after, at),
            Step::Begin => {
                let sentence = self.text.sentence_of(at);
                let begins = self.text.sentences[sentence].tokens.start == at;
                begins.then(|| self.run(after, at)).flatten()
            }
            Step::End => {
                let end = self.clause_end(at)?;
                self.run(after, end)
            }
            Step::Words(_) | Step::Class(_) | Step::Number(_) => self.solid(step, after, at),
        }
    }

    fn options(&mut self, options: &[Vec<Step>], after: Rest<'_>, at: usize) -> Option<usize> {
        options.iter().find_map(|option| {
            self.run(
                Rest {
                    steps: option,
                    next: Some(&after),
                },
                at,
            )
        })
    }

    fn gap(&mut self, after: Rest<'_>, from: usize) -> Option<usize> {
        let (mut at, mut words) = (from, 0);
        loop {
            if let Some(end) = self.run(after, at) {
                return Some(end);
            }
            let counts = self.counts(at);
            if at >= self.end
                || (counts && words >= GAP)
                || self.text.in_class(at, "contrast")
                || self.text.tokens[at].is(';')
                || self.somebody_begins(at)
            {
                return None;
            }
            words += usize::from(counts);
            at += 1;
        }
    }

    /// Whether a comma stands here and somebody new does something after it: "won't start, I hear the
    /// pump" are two things.
    fn somebody_begins(&self, at: usize) -> bool {
        self.text.tokens[at].is(',') && at + 1 < self.end && self.text.in_class(at + 1, "person")
    }

    /// Whether a token is a word that a gap must make room for.
    fn counts(&self, at: usize) -> bool {
        let mark = |token: &Token| matches!(token.what, What::Mark(_));
        at < self.end && !mark(&self.text.tokens[at]) && !self.text.is_filler(at)
    }

    /// Where the clause ends, if only small words come before.
    fn clause_end(&self, from: usize) -> Option<usize> {
        let ends = |at: usize| {
            at >= self.end
                || matches!(self.text.tokens[at].what, What::Mark(_))
                || ["joiner", "contrast"]
                    .iter()
                    .any(|class| self.text.in_class(at, class))
        };
        let mut at = from;
        while !ends(at) {
            if !self.text.is_filler(at) {
                return None;
            }
            at += 1;
        }
        Some(at)
    }

    /// A word, a class or a number, after small words if need be.
    fn solid(&mut self, step: &Step, after: Rest<'_>, from: usize) -> Option<usize> {
        for at in from..self.end.min(from + SKIPPED) {
            if let Some(end) = self.here(step, after, at) {
                return Some(end);
            }
            let passed = self.text.is_filler(at)
                || matches!(step, Step::Number(_)) && self.text.in_class(at, "approximating");
            if at == self.start || !passed {
                return None;
            }
        }
        None
    }

    fn here(&mut self, step: &Step, after: Rest<'_>, at: usize) -> Option<usize> {
        match step {
            Step::Words(words) => {
                let id = self.text.tokens[at].id()?;
                words.binary_search(&id).ok()?;
                self.take(at..at + 1, None, after)
            }
            Step::Number(sort) => {
                let number = self.text.number_at[at]?;
                let quantity = &self.text.quantities[number];
                let unit = quantity.unit.map(|unit| self.text.phrases.units.unit(unit));
                let is_of = |kind: Option<Kind>| {
                    kind.is_none_or(|kind| unit.is_some_and(|unit| unit.kind == kind))
                };
                let fits = match sort {
                    Sort::Any => true,
                    Sort::Kind(kind) => unit.is_some_and(|unit| unit.kind == *kind),
                    Sort::Unit(symbol) => unit.is_some_and(|unit| unit.symbol == *symbol),
                    Sort::Count => quantity.is_count(),
                    Sort::Whole => quantity.is_whole(),
                    Sort::Fuse => {
                        let current = unit.is_some_and(|unit| unit.kind == Kind::Current);
                        current && quantity.is_fuse_size()
                    }
                    Sort::Range => quantity.is_meter_range(),
                    Sort::One => quantity.is_count() && quantity.is_one(),
                    Sort::More => self.compares(quantity, |new, old| new > old),
                    Sort::Negative => quantity.value < 0.0,
                    Sort::Above(kind, bound) => {
                        is_of(*kind) && base(quantity, unit) > f64::from(*bound)
                    }
                    Sort::Below(kind, bound) => {
                        is_of(*kind) && base(quantity, unit) < f64::from(*bound)
                    }
                    Sort::Less => self.compares(quantity, |new, old| new < old),
                };
                fits.then_some(())?;
                (quantity.tokens.end <= self.end).then_some(())?;
                self.take(quantity.tokens.clone(), Some(number), after)
            }
            Step::Class(class) => {
                let members = &self.text.classes_at[at];
                members.iter().find_map(|&(known, length)| {
                    let end = (known == *class).then_some(at + length)?;
                    self.take(at..end, None, after)
                })
            }
            Step::Gap | Step::Begin | Step::End | Step::Any(_) | Step::Maybe(_) => None,
        }
    }

    /// How a number compares with the one the phrase met before it.
    fn compares(&self, quantity: &Quantity, fits: fn(f64, f64) -> bool) -> bool {
        self.numbers
            .last()
            .is_some_and(|&before| fits(quantity.value, self.text.quantities[before].value))
    }

    /// Uses the tokens and goes on; gives them back if the rest does not match.
    fn take(
        &mut self,
        tokens: Range<usize>,
        number: Option<usize>,
        after: Rest<'_>,
    ) -> Option<usize> {
        let (used, numbers) = (self.used.len(), self.numbers.len());
        self.used.extend(tokens.clone());
        self.numbers.extend(number);
        let end = self.run(after, tokens.end);
        if end.is_none() {
            self.used.truncate(used);
            self.numbers.truncate(numbers);
        }
        end
    }
}

/// The number in the base unit of what it is of; as written where no unit was said.
fn base(quantity: &Quantity, unit: Option<&Unit>) -> f64 {
    unit.map_or(quantity.value, |unit| unit.to_base(quantity.value))
}
