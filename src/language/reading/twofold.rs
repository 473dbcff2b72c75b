//! Numbers that can be read in more ways than one, where that matters.

use super::{Sorter, Taken};
use crate::language::display;
use crate::language::interpretation::{Reading, Special};
use crate::language::quantity::Quantity;
use crate::quantity::Kind;

impl Sorter<'_, '_, '_> {
    /// All meanings of a reading that has several, the one taken first.
    pub(super) fn meanings(&self, taken: &Taken) -> Option<Vec<Reading>> {
        let quantity = &self.text.quantities[taken.at];
        let others = [
            self.in_twin_unit(taken, quantity),
            other_separator(taken, quantity),
            self.lone_one(taken, quantity),
        ];
        let mut all = vec![taken.reading.clone()];
        all.extend(others.into_iter().flatten());
        (all.len() > 1).then_some(all)
    }

    /// The imperial pint where a pint was said.
    fn in_twin_unit(&self, taken: &Taken, quantity: &Quantity) -> Option<Reading> {
        if self.is_imperial(quantity) {
            return None;
        }
        let units = &self.text.phrases.units;
        let said = units.unit(quantity.unit?);
        let twin = units.unit(said.twin?);
        let other = |value: f64| twin.to_base(said.from_base(value));
        let reading = &taken.reading;
        Some(Reading {
            value: reading.value.map(other),
            low: reading.low.map(other),
            high: reading.high.map(other),
            said_unit: twin.symbol.clone(),
            resolution: quantity.step().map(|step| twin.step(step)),
            ..reading.clone()
        })
    }

    /// Whether there are two units of its name, and it is told which.
    pub(super) fn is_told_apart(&self, quantity: &Quantity) -> bool {
        let units = &self.text.phrases.units;
        let twin = |unit| units.unit(unit).twin.is_some();
        quantity.unit.is_some_and(twin) && self.is_imperial(quantity)
    }

    /// "Half a pint, imperial": which of the two it is comes after it.
    pub(super) fn is_imperial(&self, quantity: &Quantity) -> bool {
        const NEAR: usize = 4;
        let from = quantity.tokens.end;
        let mut after = from..(from + NEAR).min(self.text.tokens.len());
        after.any(|at| self.text.in_class(at, "imperially"))
    }

    /// A bare "1" may be the display of a meter out of range.
    fn lone_one(&self, taken: &Taken, quantity: &Quantity) -> Option<Reading> {
        let lone = self.expected == Some(Kind::Resistance)
            && taken.kind == Kind::Resistance
            && quantity.is_count()
            && !quantity.spelt
            && quantity.is_one();
        lone.then(|| display::shown(Special::Overload))
    }
}

/// 13.3 ohms where 13,300 was said, and 1234 where it was 1.234.
fn other_separator(taken: &Taken, quantity: &Quantity) -> Option<Reading> {
    let otherwise = quantity
        .otherwise
        .filter(|_| taken.kind == Kind::Resistance && quantity.upper.is_none())?;
    let factor = otherwise / quantity.value;
    let other = |value: f64| value * factor;
    let reading = &taken.reading;
    Some(Reading {
        value: reading.value.map(other),
        low: reading.low.map(other),
        high: reading.high.map(other),
        resolution: reading
            .resolution
            .map(|_| if factor < 1.0 { 0.001 } else { 1.0 }),
        ..reading.clone()
    })
}
