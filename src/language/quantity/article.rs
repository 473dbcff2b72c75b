//! Units said without a number: "a pint", "a full minute", "the pint jar filled", and the half after one.

use super::{Quantity, Reader};
use crate::knowledge::phrase::NumberWord;
use crate::language::token::What;
use crate::quantity::Kind;
use std::ops::Range;

impl Reader<'_> {
    /// Where the unit stands of which one is meant: after "a", "full", "a full" or "in the", or as the size of a
    /// vessel.
    fn unit_of_one(&self, at: usize) -> Option<usize> {
        let article =
            |at: usize| self.phrases.numbers.find(self.plain(at)) == Some(NumberWord::Article);
        // "in the minute" is in one
        let the = at > 0 && self.class_end(at - 1, "in-the") == Some(at + 1);
        let a_time = || {
            let unit = self.unit(at + 1, true).map(|(unit, _)| unit);
            unit.is_some_and(|unit| self.phrases.units.unit(unit).kind == Kind::Duration)
        };
        if article(at) || the && a_time() {
            return Some(at + 1 + usize::from(self.in_class(at + 1, "entire")));
        }
        let sized = || {
            let unit = self.unit(at, true)?;
            let volume = self.phrases.units.unit(unit.0).kind == Kind::Volume;
            (volume && self.in_class(unit.1, "measured-vessel")).then_some(at)
        };
        // "minute and a half on the nose"
        let begun = || {
            let (unit, end) = self.unit(at, true).filter(|_| at == 0)?;
            let time = self.phrases.units.unit(unit).kind == Kind::Duration;
            (time && self.and_part(end).is_some()).then_some(at)
        };
        let told = at > 0 && (article(at - 1) || self.in_class(at - 1, "entire"));
        let full = || {
            let unit = self
                .unit(at + 1, true)
                .filter(|_| self.in_class(at, "entire"))?;
            let volume = self.phrases.units.unit(unit.0).kind == Kind::Volume;
            volume.then_some(at + 1)
        };
        sized().or_else(full).or_else(begun).filter(|_| !told)
    }

    /// "a pint", "an ohm": one of the unit, of little weight.
    pub(super) fn articles(&self, range: Range<usize>, found: &mut Vec<Quantity>) {
        for at in range.clone() {
            // "a US cup" is no cup besides
            if found.last().is_some_and(|last| last.tokens.end > at) {
                continue;
            }
            let Some(place) = self.unit_of_one(at).filter(|&place| place < range.end) else {
                continue;
            };
            // "a v" is hardly a volt; "a UK pint" is a pint
            let whole = |end: usize| end > place + 1 || self.plain(place).chars().count() > 2;
            if let Some((unit, end)) = self.unit(place, true).filter(|unit| whole(unit.1)) {
                let part = self.and_part(end);
                let mut quantity = Quantity {
                    tokens: at..part.map_or(end, |(end, _)| end),
                    value: 1.0 + part.map_or(0.0, |(_, part)| part),
                    upper: None,
                    decimals: None,
                    unit: Some(unit),
                    otherwise: None,
                    scale: 1.0,
                    kilo: false,
                    clock: false,
                    article: part.is_none(),
                    spelt: true,
                    give: None,
                };
                self.per_time(&mut quantity);
                found.push(quantity);
            }
        }
    }

    /// Where "and a half" ends and what it adds, if it begins here: "a minute and a half", "2 ohm and
    /// half", "twelve volts and eight tenths".
    pub(super) fn and_part(&self, at: usize) -> Option<(usize, f64)> {
        let word = |at: usize| self.phrases.numbers.find(self.plain(at));
        let (times, part) = match word(at + 1) {
            Some(NumberWord::Article) => (1.0, at + 2),
            Some(NumberWord::Small(times)) => (times, at + 2),
            _ => (1.0, at + 1),
        };
        let figure = self.figure(at + 1);
        let (times, part) = figure.map_or((times, part), |figure| (figure, at + 2));
        // "25 ml and a third of it was water"
        let of_it = self.in_class(part + 1, "partitive");
        let said = word(at) == Some(NumberWord::And) && !of_it;
        match word(part) {
            Some(NumberWord::Fraction(share)) if said && times * share < 1.0 => {
                Some((part + 1, times * share))
            }
            _ => None,
        }
    }

    /// A single figure that is typed.
    fn figure(&self, at: usize) -> Option<f64> {
        match &self.tokens.get(at)?.what {
            What::Number(digits) if digits.decimals == 0 => {
                digits.value.filter(|&value| value < 10.0)
            }
            _ => None,
        }
    }
}
