//! Readings of earlier messages that this one puts right: "sorry, that was 11.6, not 12.6".

use super::doubt::pending;
use super::draft::Draft;
use super::event::{Measured, Shown};
use super::measuring::{raw, shown};
use super::state::Entry;
use super::uptake::asked;
use crate::knowledge::id::ObservationId;
use crate::knowledge::schema::Observation;
use crate::language::interpretation::{Amends, Reading};
use crate::quantity::unit::Unit;

/// The check whose reading a message puts right, and what was measured as it should have been told. The
/// reading kept back comes first, then the last that is meant; one made before a repair stays as it is.
#[must_use]
pub fn amended<'a>(
    draft: &Draft<'a>,
    amends: Option<&Amends>,
    reading: &Reading,
) -> Option<(&'a Observation, Measured)> {
    let amends = amends?;
    let kept = pending(&draft.state, draft.knowledge);
    let kept = kept.map(|kept| (kept.check.id.clone(), kept.measured.clone()));
    let since = draft.state.entries.iter().rev();
    let since = since.map_while(|entry| match entry {
        Entry::Seen(found) => Some(found),
        Entry::Repaired(_) => None,
    });
    let seen = since.filter_map(|found| Some((found.observation.clone(), found.measured.clone()?)));
    let meant = |(id, told): &(ObservationId, Measured)| match amends.wrong {
        Some(wrong) => fits(amends, reading, told) && is_number(&told.raw, wrong),
        None => fits(amends, reading, told) && !answers(draft, id, told),
    };
    let (id, told) = kept.into_iter().chain(seen).find(meant)?;
    let right = Measured {
        raw: right(amends, reading, &told.raw),
        other: None,
        confirmed: false,
        ..told
    };
    Some((draft.knowledge.observations.get(&id)?, right))
}

/// Whether the number told now may be of the same kind as the one told before.
fn fits(amends: &Amends, reading: &Reading, told: &Measured) -> bool {
    !amends.united || reading.quantity == told.raw.quantity
}

/// Whether a number was told as that one, in the unit it was told in.
fn is_number(told: &Shown, wrong: f64) -> bool {
    /// Of the number: what converting there and back may change.
    const ROUNDING: f64 = 1e-9;
    let shown = told.value.map(|value| raw(told).unit.show(value));
    shown.is_some_and(|shown| (shown - wrong).abs() <= ROUNDING * wrong.abs().max(1.0))
}

/// Whether a number of the kind told before may as well answer what is asked for now.
fn answers(draft: &Draft<'_>, id: &ObservationId, told: &Measured) -> bool {
    let asked = asked(draft);
    let mut checks = asked
        .iter()
        .filter_map(|id| draft.knowledge.observations.get(id));
    !asked.contains(id) && checks.any(|check| check.quantity == Some(told.raw.quantity))
}

/// The number told now, in the unit of the other where it has none of its own.
fn right(amends: &Amends, reading: &Reading, told: &Shown) -> Shown {
    let now = shown(reading);
    if amends.united {
        return now;
    }
    let (unit, base) = (raw(told).unit, Unit::base(told.quantity));
    let step = amends
        .step
        .and_then(|step| unit.convert_difference(step, base).ok());
    Shown {
        quantity: told.quantity,
        value: unit.convert(amends.right, base).ok(),
        resolution: step,
        unit: told.unit.clone(),
        ..now
    }
}
