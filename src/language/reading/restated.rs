//! A number that only says again what the one before it said: "220 mA, so 0.22 A".

use super::{Sorter, Taken};
use crate::quantity::Kind;

/// Tokens between a number and the same in another unit.
const APART: usize = 6;
/// What a value turned into another unit in the head may be off by.
const ROUNDED: f64 = 0.05;
/// Readings looked back over for one that is meant again.
const BACK: usize = 4;

impl Sorter<'_, '_, '_> {
    /// Drops every number that the one before it already says.
    pub(super) fn drop_restated(&self, taken: &mut Vec<Taken>) {
        let mut at = 1;
        while at < taken.len() {
            let earlier = at.saturating_sub(BACK)..at;
            if earlier
                .clone()
                .any(|last| self.is_meant_again(&taken[last], &taken[at]))
                || self.is_same(&taken[at - 1], &taken[at])
            {
                taken.remove(at);
            } else if self.is_settled(&taken[at - 1], &taken[at])
                || self.is_measured_out(&taken[at - 1], &taken[at])
                || self.is_off_the_display(&taken[at - 1], &taken[at])
            {
                taken.remove(at - 1);
            } else {
                at += 1;
            }
        }
    }

    /// "About a cupful, say 250 ml", "a third of a litre, call it 330": the number says how much the cup held.
    fn is_measured_out(&self, last: &Taken, this: &Taken) -> bool {
        /// Tokens between the two.
        const NEAR: usize = 10;
        let (cup, number) = (
            &self.text.quantities[last.at],
            &self.text.quantities[this.at],
        );
        let mut between = cup.tokens.end..number.tokens.start;
        let volumes = last.kind == Kind::Volume && this.kind == Kind::Volume;
        volumes
            && (cup.article || self.is_about_the_same(last, this))
            && !number.article
            && between.len() <= NEAR
            && between.any(|at| self.text.in_class(at, "estimating"))
    }

    /// "Halfway between 11 and 12, so eleven and a half": the value that a range was read as.
    fn is_settled(&self, last: &Taken, this: &Taken) -> bool {
        let (ends, value) = (&last.reading, this.reading.value);
        let within = ends.low.zip(ends.high).zip(value);
        let within = within.is_some_and(|((low, high), value)| low <= value && value <= high);
        let from = self.text.quantities[last.at].tokens.end;
        let mut between = from..self.text.quantities[this.at].tokens.start;
        last.kind == this.kind
            && within
            && between.len() <= APART
            && between.any(|at| self.text.in_class(at, "settling-on"))
    }

    /// A share, and what it is about in figures.
    fn is_about_the_same(&self, last: &Taken, this: &Taken) -> bool {
        const NEAR: f64 = 0.1;
        let share = self.text.quantities[last.at].decimals.is_none();
        let ratio = last.reading.value.zip(this.reading.value);
        share && ratio.is_some_and(|(share, figures)| (figures / share - 1.0).abs() < NEAR)
    }

    /// "On the 2k range it reads .465, so 465 ohms": the figures of the display, and then what they stand for.
    fn is_off_the_display(&self, last: &Taken, this: &Taken) -> bool {
        last.kind == this.kind && self.is_thousandth(last.at, this.at)
    }

    /// Whether a bare number is the thousandth of one with a unit that follows it.
    pub(super) fn is_thousandth(&self, shown: usize, meant: usize) -> bool {
        let (shown, meant) = (&self.text.quantities[shown], &self.text.quantities[meant]);
        let between = meant.tokens.start.saturating_sub(shown.tokens.end);
        let thousandfold = (meant.value - shown.value * 1_000.0).abs() <= 1e-6 * meant.value.abs();
        shown.unit.is_none()
            && meant.unit.is_some()
            && between <= APART
            && shown.value != 0.0
            && thousandfold
    }

    /// A value said before, with "the": "take off the 0.4"; in words where it was in digits, or the other way
    /// round; or a nought that stands beside the other: "zero amps, 0.00 on the screen".
    fn is_meant_again(&self, last: &Taken, this: &Taken) -> bool {
        /// Tokens between a nought and the other.
        const BESIDE: usize = 3;
        let (one, other) = (
            &self.text.quantities[last.at],
            &self.text.quantities[this.at],
        );
        let before = other.tokens.start.checked_sub(1);
        let definite = before.is_some_and(|before| self.text.in_class(before, "definite"));
        let between = other.tokens.start.saturating_sub(one.tokens.end);
        let nought = this.reading.value == Some(0.0) && (1..=BESIDE).contains(&between);
        let of = &this.reading.of;
        let another = of.is_some() && *of != last.reading.of;
        if self.is_bound_again(last, this) || self.is_said_over(last, this) {
            return !another;
        }
        last.kind == this.kind
            && last.reading.value.is_some()
            && last.reading.value == this.reading.value
            && !another
            && (definite || nought || one.spelt != other.spelt)
    }

    /// "Eleven point four volts at the pump. Eleven point four.": spoken again, as a sentence of its own.
    fn is_said_over(&self, last: &Taken, this: &Taken) -> bool {
        let (one, other) = (
            &self.text.quantities[last.at],
            &self.text.quantities[this.at],
        );
        let sentence = &self.text.sentences[this.sentence].tokens;
        let alone = sentence.start == other.tokens.start && sentence.end <= other.tokens.end + 1;
        let spoken = one.spelt && other.spelt && other.unit.is_none();
        let same = last.reading.value.is_some() && last.reading.value == this.reading.value;
        spoken && alone && same && last.kind == this.kind && last.sentence + 1 == this.sentence
    }

    /// "Not even 11 volts, less than 11 for sure".
    fn is_bound_again(&self, last: &Taken, this: &Taken) -> bool {
        let ends = |taken: &Taken| (taken.reading.low, taken.reading.high);
        let bound =
            this.reading.value.is_none() && (ends(this).0.is_some() != ends(this).1.is_some());
        let from = self.text.quantities[last.at].tokens.end;
        let between = self.text.quantities[this.at]
            .tokens
            .start
            .saturating_sub(from);
        last.kind == this.kind && bound && ends(last) == ends(this) && between <= APART
    }

    /// The same value next to it in another unit, or in brackets.
    fn is_same(&self, last: &Taken, this: &Taken) -> bool {
        let from = self.text.quantities[last.at].tokens.end;
        let between = from..self.text.quantities[this.at].tokens.start;
        let bracketed = between.len() == 1 && self.text.tokens[from].is('(');
        let other_unit = last.reading.said_unit != this.reading.said_unit;
        let again = between
            .clone()
            .any(|at| self.text.in_class(at, "restating"));
        let of = &this.reading.of;
        let another = of.is_some() && *of != last.reading.of;
        // "it reads 14.6, so I think 14.6 kilohm"
        let unit_added = self.text.quantities[last.at].unit.is_none()
            && self.text.quantities[this.at].unit.is_some()
            && between
                .clone()
                .any(|at| self.text.in_class(at, "working-out"));
        let said_again = bracketed || other_unit || unit_added || again && !another;
        let near = between.len() <= APART && said_again;
        let values = last.reading.value.zip(this.reading.value);
        // "43 psi, that's 3 bar in new money"
        let turned = between
            .clone()
            .any(|at| self.text.in_class(at, "converting"));
        let share = if other_unit && turned { ROUNDED } else { 1e-6 };
        let agree = |(one, other): (f64, f64)| (one - other).abs() <= share * one.abs().max(1e-6);
        near && last.kind == this.kind && values.is_some_and(agree)
    }
}
