//! Tenths said apart from their number: "12 volts 3", "twelve volts four", "12 65", "2 k 2".

use super::{Quantity, Reader};
use crate::language::token::What;
use crate::quantity::Kind;

impl Reader<'_> {
    /// "12 volts 3", "12 , 3": the tenths after the unit, as some languages say them.
    pub(super) fn is_tenths(&self, last: &Quantity, next: &Quantity) -> bool {
        let unit = last.unit.map(|unit| self.phrases.units.unit(unit));
        let volts = unit.is_some_and(|unit| unit.symbol == Kind::Voltage.unit());
        // five amperes and more are mostly a fuse's (common practice, no source)
        let amperes =
            unit.is_some_and(|unit| unit.symbol == Kind::Current.unit()) && last.value < 5.0;
        let between = last.tokens.end..next.tokens.start;
        // "three bar zero", "twelve volts four"; "twelve volts one in three tries" counts
        let word_next = !self.plain(next.tokens.end).is_empty();
        let counts = next.is_one() && word_next;
        let bars = unit.is_some_and(|unit| unit.symbol == "bar") && last.value < 10.0;
        let spoken = bars || (volts || amperes) && last.value <= 30.0 && !counts;
        let tenth = next.value < 10.0 && next.is_count() && last.is_count_of_unit();
        if spoken && tenth && between.is_empty() && last.spelt && next.spelt {
            return self.ends_a_number(next);
        }
        // "12 65": only a voltage is typed so
        let blank = last.unit.is_none()
            && between.is_empty()
            && (10.0..=15.0).contains(&last.value)
            && next.is_whole()
            && last.is_count()
            && !last.spelt
            && !self.tokens[next.tokens.start].glued
            && !self.is_number(last.tokens.start.wrapping_sub(1));
        let after_unit = (volts || amperes) && between.is_empty() && next.is_count();
        let apart = last.unit.is_none()
            && between.len() == 1
            && (self.is(between.start, ',') || self.is(between.start, '.'))
            && !self.tokens[between.start].glued;
        let whole = |quantity: &Quantity| {
            quantity.decimals == Some(0) && quantity.scale <= 1.0 && quantity.upper.is_none()
        };
        (after_unit || apart || blank)
            && whole(last)
            && whole(next)
            && (0.0..=30.0).contains(&last.value)
            && (0.0..100.0).contains(&next.value)
            && self.ends_a_number(next)
    }

    /// "2 k 2": how `2k2` is said.
    pub(super) fn is_tenths_of_thousand(&self, last: &Quantity, next: &Quantity) -> bool {
        let digit = next.is_count() && (1.0..10.0).contains(&next.value);
        let letter = self.plain(last.tokens.end - 1) == "k" && last.spelt == next.spelt;
        let whole = last.upper.is_none() && last.value < 100.0 * last.scale;
        let touching = last.tokens.end == next.tokens.start;
        let bare = last.unit.is_none() && (last.value / last.scale).fract() == 0.0;
        last.kilo && letter && bare && whole && touching && digit && self.ends_a_number(next)
    }

    fn is_number(&self, at: usize) -> bool {
        let token = self.tokens.get(at);
        token.is_some_and(|token| matches!(token.what, What::Number(_)))
    }

    /// Whether what follows a number is no thing that it counts.
    fn ends_a_number(&self, quantity: &Quantity) -> bool {
        let at = quantity.tokens.end;
        match self.tokens.get(at).map(|after| &after.what) {
            None => true,
            Some(What::Mark(mark)) => matches!(mark, '.' | ',' | '\n' | ')' | '!' | '?'),
            Some(What::Word(_)) => quantity.unit.is_some() || self.in_class(at, "after-tenths"),
            Some(What::Number(_)) => false,
        }
    }
}
