//! A bike's sheet in words.

use super::number;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::Spec;

/// One spec of a sheet: what, the range, under which conditions, and where it is from.
#[must_use]
pub fn line(knowledge: &Knowledge, spec: &Spec) -> String {
    let check = knowledge.observations.get(&spec.observation);
    let (name, unit) = check.map_or((spec.observation.as_str(), ""), |check| {
        let unit = check.quantity.map_or("", crate::quantity::Kind::unit);
        (check.name.as_str(), unit)
    });
    let range = number::range(spec.low, spec.high, unit);
    format!("{name}: {range} ({}; {})", spec.conditions, spec.source)
}
