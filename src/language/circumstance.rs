//! How a reading was taken: the battery's rest, the load, the leads, the warmth; and the engine's power.

use super::interpretation::{Circumstance, Interpretation, Said};
use super::matching::{Hit, Text};
use super::scope::{Place, Scopes};
use super::statement::span;
use crate::knowledge::phrase::{CircumstanceWord, Meaning};
use crate::quantity::Kind;
use crate::quantity::circumstance::LONG_REST;

/// A rest that is none.
const NO_REST: f64 = 60.0;
/// One horsepower of 550 foot-pounds a second, in watts (NIST SP 811, App. B.8).
const HORSEPOWER: f64 = 745.699_9;
/// One metric horsepower, in watts (NIST SP 811, App. B.8).
const METRIC_HORSEPOWER: f64 = 735.498_8;

/// Adds how readings were taken to what is understood.
pub fn circumstances(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    found: &mut Interpretation,
) {
    for hit in hits {
        let Meaning::Circumstance(word) = hit.phrase.meaning else {
            continue;
        };
        let sense = scopes.sense(Place::of(hit));
        if sense.supposed || sense.foreign {
            continue;
        }
        let number = hit.numbers.first().map(|&at| &text.quantities[at]);
        let seconds = number.and_then(|quantity| {
            let unit = text.phrases.units.unit(quantity.unit?);
            (unit.kind == Kind::Duration).then(|| unit.to_base(quantity.value))
        });
        let said = Told {
            number: number.map(|quantity| quantity.value),
            seconds,
            negated: sense.negated,
        };
        if let Some(what) = said.meant_by(word) {
            found.circumstances.push(Said {
                what,
                span: span(text, hit),
                strength: sense.strength,
            });
        }
    }
}

struct Told {
    number: Option<f64>,
    seconds: Option<f64>,
    negated: bool,
}

impl Told {
    fn meant_by(&self, word: CircumstanceWord) -> Option<Circumstance> {
        use CircumstanceWord as Word;
        let plain = |what| (!self.negated).then_some(what);
        let power = |watts: f64| {
            self.number
                .map(|number| Circumstance::Power(number * watts))
        };
        match word {
            Word::Rested => self.seconds.map(Circumstance::Rested),
            Word::RestedLong => plain(Circumstance::Rested(LONG_REST)),
            Word::NotRested => Some(Circumstance::Rested(NO_REST)),
            // These belong to one number each; see `moment`.
            Word::Cranking | Word::Running => None,
            Word::Loaded => Some(Circumstance::Loaded(!self.negated)),
            Word::Unloaded => Some(Circumstance::Loaded(self.negated)),
            Word::Zeroed => plain(Circumstance::Zeroed),
            Word::Subtracted => plain(Circumstance::Subtracted),
            Word::Hot => plain(Circumstance::Hot),
            Word::Cool => plain(Circumstance::Cool),
            Word::Kilowatts => power(1000.0),
            Word::Horsepower => power(HORSEPOWER),
            Word::MetricHorsepower => power(METRIC_HORSEPOWER),
        }
    }
}
