//! A unit that stands by itself beside a list of bare numbers.
//!
//! "kPa by the gauge, key on 290, running 285", "idle 1200, in gear 900, all rpm".

use super::{Quantity, Reader};
use crate::language::token::What;
use crate::quantity::Kind;
use std::ops::Range;

/// Bare numbers that make a list.
const LIST: usize = 2;
/// Below this nobody reads the turns of an engine in a minute.
const TURNS: f64 = 100.0;

impl Reader<'_> {
    /// Gives the bare numbers of a sentence the only unit that stands by itself in it.
    pub(super) fn of_free_unit(&self, quantities: &mut [Quantity]) {
        for sentence in self.stretches() {
            let from = quantities.partition_point(|one| one.tokens.start < sentence.start);
            let to = quantities.partition_point(|one| one.tokens.start < sentence.end);
            let list = &mut quantities[from..to];
            let Some(unit) = self.free_unit(&sentence, list) else {
                continue;
            };
            let kind = self.phrases.units.unit(unit).kind;
            let fits =
                |one: &Quantity| self.is_entry(one) && (kind != Kind::Speed || one.value >= TURNS);
            if list.iter().filter(|one| fits(one)).count() >= LIST {
                for one in list.iter_mut().filter(|one| fits(one)) {
                    one.unit = Some(unit);
                }
            }
        }
    }

    /// The tokens between one full stop or line break and the next.
    fn stretches(&self) -> Vec<Range<usize>> {
        let ends = |at: &usize| {
            matches!(
                self.tokens[*at].what,
                What::Mark('.' | '\n' | '!' | '?' | ';')
            )
        };
        let mut start = 0;
        let mut found = Vec::new();
        for end in (0..self.tokens.len()).filter(ends) {
            found.push(start..end);
            start = end + 1;
        }
        found.push(start..self.tokens.len());
        found
    }

    /// The unit that stands by itself, where there is one only.
    fn free_unit(&self, sentence: &Range<usize>, list: &[Quantity]) -> Option<usize> {
        if list.len() < LIST {
            return None;
        }
        let taken = |at: usize| {
            let nth = list.partition_point(|one| one.tokens.end <= at);
            list.get(nth).is_some_and(|one| one.tokens.start <= at)
        };
        let mut units = sentence.clone().filter(|at| !taken(*at)).filter_map(|at| {
            let (unit, end) = self.unit(at, false)?;
            (self.is_listed(unit) && self.is_free(at..end, sentence)).then_some(unit)
        });
        let first = units.next()?;
        units.all(|unit| unit == first).then_some(first)
    }

    /// Whether lists are told in a unit; times and flows mostly stand by their own number.
    fn is_listed(&self, unit: usize) -> bool {
        let kind = self.phrases.units.unit(unit).kind;
        !matches!(kind, Kind::Duration | Kind::Flow)
    }

    /// Whether the unit on these tokens is an entry of its own.
    fn is_free(&self, own: Range<usize>, sentence: &Range<usize>) -> bool {
        let What::Word(word) = &self.tokens[own.start].what else {
            return false;
        };
        let written = word.raw.chars().count() > 1 || word.raw == "V";
        let edge = |at: usize| self.is(at, ',') || self.is(at, ':');
        let opens = own
            .start
            .checked_sub(1)
            .filter(|_| own.start > sentence.start);
        let opens = opens.is_none_or(|at| edge(at) || self.in_class(at, "before-unit"));
        let closes =
            own.end >= sentence.end || edge(own.end) || self.in_class(own.end, "after-unit");
        written && opens && closes
    }

    /// Whether a number may be one of the list: it has no unit, and counts and numbers nothing.
    fn is_entry(&self, one: &Quantity) -> bool {
        let bare = one.unit.is_none() && !one.kilo && !one.article && !one.clock;
        let end = one.tokens.end;
        let decimal = one.decimals.is_some_and(|places| places > 0);
        let number_next = self
            .tokens
            .get(end)
            .is_some_and(|next| matches!(next.what, What::Number(_)));
        let numbers = one
            .tokens
            .start
            .checked_sub(1)
            .is_some_and(|before| self.in_class(before, "numbered") && one.decimals == Some(0));
        bare && !numbers && (self.ends_an_entry(end) || decimal && number_next)
    }
}
