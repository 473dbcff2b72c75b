//! A minus told apart from its number: "a minus sign, then 12.08", "12.08 with a minus in front".

use super::{Quantity, Reader};
use crate::knowledge::phrase::NumberWord;
use crate::quantity::Kind;

/// Tokens between the number and the minus.
const NEAR: usize = 6;

impl Reader<'_> {
    /// Turns a voltage, a current or a bare number below zero where a minus is told beside it.
    pub(super) fn below_zero(&self, quantities: &mut [Quantity]) {
        let mut from = 0;
        for quantity in quantities {
            let tokens = quantity.tokens.clone();
            let signed = matches!(
                self.kind(quantity),
                None | Some(Kind::Voltage | Kind::Current)
            );
            let plain = quantity.value > 0.0 && quantity.upper.is_none() && !quantity.article;
            if signed && plain && (self.led(from, tokens.start) || self.followed(tokens.end)) {
                quantity.value = -quantity.value;
                quantity.otherwise = None;
            }
            from = tokens.end;
        }
    }

    fn is_minus(&self, at: usize) -> bool {
        self.phrases.numbers.find(self.plain(at)) == Some(NumberWord::Minus)
    }

    /// "minus sign then #", "a minus in front of #".
    fn led(&self, from: usize, start: usize) -> bool {
        let from = from.max(start.saturating_sub(NEAR));
        let minus = (from..start).rev().find(|at| self.is_minus(*at));
        minus.is_some_and(|minus| {
            let mut between = minus + 1..start;
            self.in_class(minus + 1, "sign-of-minus")
                && between.all(|at| self.is(at, ',') || self.in_class(at, "sign-link"))
        })
    }

    /// "# with a minus", "#, the minus sign is showing".
    fn followed(&self, end: usize) -> bool {
        let mut after = end..(end + NEAR).min(self.tokens.len());
        let Some(minus) = after.find(|at| self.is_minus(*at)) else {
            return false;
        };
        let linked = (end..minus).all(|at| self.is(at, ',') || self.in_class(at, "sign-link"));
        let article = minus > end
            && self.phrases.numbers.find(self.plain(minus - 1)) == Some(NumberWord::Article);
        let told = self.in_class(minus + 1, "sign-of-minus");
        minus > end && linked && (told || article && self.ends_an_entry(minus + 1))
    }
}
