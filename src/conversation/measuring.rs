//! From a reading as said to a judgement: which spec counts, what is taken off, what is doubtful.

use super::event::{Measured, MeterTold, Shown};
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::compile::bands;
use crate::knowledge::id::ObservationId;
use crate::knowledge::schema::Observation;
use crate::language::interpretation::{Reading, Special};
use crate::quantity::{self, Band, Doubt, Judgement, Kind, Meter, Raw, Unit, judge};

/// Lower and upper limit, in the base unit.
pub type Limits = (Option<f64>, Option<f64>);

/// The spec that counts for an observation: the rider's manual, the demo bike's sheet, the generic.
#[must_use]
pub fn limits(state: &State, knowledge: &Knowledge, id: &ObservationId) -> Option<Limits> {
    let told = state.specs.iter().rev().find(|spec| spec.observation == *id);
    let bike = state.terms.bike.as_ref().and_then(|bike| knowledge.bikes.get(bike));
    let sheet = bike.and_then(|bike| bike.spec.iter().find(|spec| spec.observation == *id));
    let generic = knowledge.specs.get(id);
    told.map(|spec| (spec.low, spec.high))
        .or_else(|| sheet.or(generic).map(|spec| (spec.low, spec.high)))
}

/// The intervals an observation is judged by in this conversation.
#[must_use]
pub fn bands_for(state: &State, knowledge: &Knowledge, check: &Observation) -> Vec<Band> {
    bands(check, limits(state, knowledge, &check.id))
}

/// The number as the rider gave it, kept for the log.
#[must_use]
pub fn shown(reading: &Reading) -> Shown {
    Shown {
        quantity: reading.quantity,
        value: reading.value,
        low: reading.low,
        high: reading.high,
        resolution: reading.resolution,
        unit: reading.said_unit.clone(),
        display: reading.special.map(|special| match special {
            Special::Overload => super::event::Display::Overload,
            Special::Beep => super::event::Display::Beep,
            Special::NoBeep => super::event::Display::NoBeep,
        }),
    }
}

/// The reading with whatever is to be taken off it, known so far.
#[must_use]
pub fn measured(state: &State, raw: Shown) -> Measured {
    let leads = (raw.quantity == Kind::Resistance).then(|| state.leads.clone()).flatten();
    Measured { raw, leads }
}

/// Judges a measurement.
///
/// # Errors
/// The doubt to put to the rider first.
pub fn judgement(
    state: &State,
    knowledge: &Knowledge,
    check: &Observation,
    given: (&Measured, bool),
) -> Result<Judgement, Doubt> {
    let (measured, confirmed) = given;
    let bands = bands_for(state, knowledge, check);
    let meter = meter(state.meter.as_ref());
    judge(&quantity::Measured {
        asked: check.quantity.unwrap_or(measured.raw.quantity),
        offset: measured.leads.as_ref().map(raw),
        confirmed,
        ..quantity::Measured::new(raw(&measured.raw), &bands, &meter)
    })
}

/// The rider's meter, or the class default.
fn meter(told: Option<&MeterTold>) -> Meter {
    told.map_or_else(Meter::cheap, |told| Meter::rated(told.gain * 100.0, told.digits))
}

/// A logged number as the judgement takes it.
#[must_use]
pub fn raw(shown: &Shown) -> Raw {
    let unit = Unit::named(&shown.unit)
        .filter(|unit| unit.kind() == Some(shown.quantity))
        .unwrap_or_else(|| Unit::base(shown.quantity));
    Raw {
        kind: shown.quantity,
        shown: match (shown.display, shown.value) {
            (Some(super::event::Display::Overload), _) => quantity::Shown::Overload,
            (Some(super::event::Display::Beep), _) => quantity::Shown::Beep,
            (Some(super::event::Display::NoBeep), _) => quantity::Shown::NoBeep,
            (None, Some(value)) => quantity::Shown::Value(value),
            (None, None) => quantity::Shown::Between {
                low: shown.low,
                high: shown.high,
            },
        },
        resolution: shown.resolution,
        unit,
    }
}

/// A flow out of a volume and the time it took, in litres a minute.
#[must_use]
pub fn flow(volume: &Reading, duration: &Reading) -> Option<Reading> {
    let (litres, seconds) = (volume.value?, duration.value?);
    if seconds <= 0.0 {
        return None;
    }
    Some(Reading {
        quantity: Kind::Flow,
        value: Some(litres * 60.0 / seconds),
        low: None,
        high: None,
        said_unit: Kind::Flow.unit().to_owned(),
        resolution: None,
        of: volume.of.clone(),
        special: None,
    })
}
