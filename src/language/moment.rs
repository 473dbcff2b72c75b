//! When a voltage was read: while the starter turned, or while the engine ran.

use super::interpretation::Moment;
use super::matching::{Hit, Text};
use super::reading::Taken;
use super::scope::{Place, Scopes};
use crate::knowledge::phrase::{CircumstanceWord, Meaning};
use crate::quantity::Kind;

/// Gives the voltage that a phrase of that sort is about its moment.
pub fn assign(text: &Text<'_>, hits: &[Hit<'_>], scopes: &Scopes<'_, '_>, taken: &mut [Taken]) {
    for hit in hits {
        let moment = match hit.phrase.meaning {
            Meaning::Circumstance(CircumstanceWord::Cranking) => Moment::Cranking,
            Meaning::Circumstance(CircumstanceWord::Running) => Moment::Running,
            _ => continue,
        };
        let sense = scopes.sense(Place::of(hit));
        if sense.negated || sense.supposed || sense.foreign {
            continue;
        }
        let nearest = taken
            .iter_mut()
            .filter(|one| one.kind == Kind::Voltage && hit.numbers.contains(&one.at))
            .min_by_key(|one| {
                let tokens = &text.quantities[one.at].tokens;
                tokens.start.abs_diff(hit.head.end)
            });
        if let Some(one) = nearest {
            one.reading.moment = Some(moment);
        }
    }
}
