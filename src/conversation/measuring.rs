//! From a reading as said to a judgement: which spec counts, what is taken off, what is doubtful.

use super::event::{Display, Measured, MeterTold, Shown};
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::compile::bands;
use crate::knowledge::id::SystemId;
use crate::knowledge::schema::{self, Observation};
use crate::language::interpretation::{Reading, Special};
use crate::quantity::circumstance::Taken;
use crate::quantity::si::Watts;
use crate::quantity::spec::first_in_order;
use crate::quantity::{
    self, Band, Basis, Doubt, Judgement, Kind, Meter, Missing, Nature, Raw, Spec, Unit, fuel,
};

/// What must be cleared up before a reading counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Question {
    /// It cannot be right as it stands, or may not.
    Doubt(Doubt),
    /// The verdict hangs on something that was not said.
    Missing(Missing),
    /// The words can be read in two ways, and the verdict hangs on which.
    Twofold,
}

/// A reading judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The judgement.
    pub judgement: Judgement,
    /// Whether it was taken in a way that cannot answer the question, so that it is no finding.
    pub says_nothing: bool,
}

/// The spec that counts for an observation: the rider's manual, the group's or the demo bike's
/// sheet, what the engine needs for its power, the generic.
#[must_use]
pub fn spec(state: &State, knowledge: &Knowledge, check: &Observation) -> Option<Spec> {
    let told = state.specs.iter().rev();
    let told = told.filter(|spec| spec.observation == check.id);
    let mut specs: Vec<Spec> = told
        .map(|spec| Spec {
            low: spec.low,
            high: spec.high,
            basis: Basis::Manual,
            at_celsius: spec.celsius,
            conditions: String::new(),
            source: String::new(),
        })
        .collect();
    specs.extend(sheets(state, knowledge, check));
    specs.extend(need(state, check));
    let generic = knowledge.specs.get(&check.id);
    specs.extend(generic.map(|spec| listed(spec, Basis::Generic)));
    first_in_order(&specs).cloned()
}

/// The sheets of the group, then that of the demo bike.
fn sheets(state: &State, knowledge: &Knowledge, check: &Observation) -> Vec<Spec> {
    let system = state.system.as_ref().map(SystemId::as_str);
    let applies = |sheet: &&quantity::spec::Sheet| {
        sheet.system.is_none() || sheet.system.as_deref() == system
    };
    let group = knowledge.sheets.iter().filter(applies);
    let mut specs: Vec<Spec> = group
        .flat_map(|sheet| sheet.specs_of(check.id.as_str()))
        .collect();
    let bike = state.terms.bike.as_ref();
    let bike = bike.and_then(|bike| knowledge.bikes.get(bike));
    let rows = bike.into_iter().flat_map(|bike| &bike.spec);
    let rows = rows.filter(|spec| spec.observation == check.id);
    specs.extend(rows.map(|spec| listed(spec, Basis::Sheet)));
    specs
}

fn listed(spec: &schema::Spec, basis: Basis) -> Spec {
    Spec {
        low: spec.low,
        high: spec.high,
        basis,
        at_celsius: spec.at_celsius,
        conditions: spec.conditions.clone(),
        source: spec.source.clone(),
    }
}

/// What the engine needs at full power, on the lightest fuel and at its thirstiest.
fn need(state: &State, check: &Observation) -> Option<Spec> {
    let watts = state
        .power
        .filter(|_| check.nature == Some(Nature::FuelFlow))?;
    // Two digits: the range of engines is wider than more would say.
    let litres_per_minute = fuel::most_demand(Watts(watts)).0 * 60_000.0;
    let step = 10_f64.powf(litres_per_minute.log10().floor() - 1.0);
    let litres_per_minute = (litres_per_minute / step).ceil() * step;
    Some(Spec {
        low: Some(litres_per_minute),
        high: None,
        basis: Basis::Need,
        at_celsius: None,
        conditions: String::new(),
        source: String::new(),
    })
}

/// The intervals an observation is judged by in this conversation.
#[must_use]
pub fn bands_for(state: &State, knowledge: &Knowledge, check: &Observation) -> Vec<Band> {
    let spec = spec(state, knowledge, check);
    bands(check, spec.map(|spec| (spec.low, spec.high)))
}

/// Judges a measurement.
///
/// # Errors
/// The question to put to the rider first.
pub fn judgement(
    state: &State,
    knowledge: &Knowledge,
    check: &Observation,
    measured: &Measured,
) -> Result<Verdict, Question> {
    let spec = spec(state, knowledge, check);
    let bands = bands(check, spec.as_ref().map(|spec| (spec.low, spec.high)));
    let meter = meter(state.meter.as_ref());
    let taken = Taken {
        measured: reading(check, measured, (&bands, &meter))?,
        nature: check.nature,
        spec_celsius: spec.and_then(|spec| spec.at_celsius),
        under: measured.under,
    };
    let judged = taken.judge();
    if let Some(other) = &measured.other {
        let other = Measured {
            raw: other.clone(),
            other: None,
            ..measured.clone()
        };
        let other = reading(check, &other, (&bands, &meter))?;
        let other = Taken {
            measured: other,
            ..taken.clone()
        };
        let verdict = |judged: &Result<(Judgement, _), _>| {
            judged.as_ref().ok().map(|(judgement, _)| judgement.verdict)
        };
        if verdict(&other.judge()) != verdict(&judged) {
            return Err(Question::Twofold);
        }
    }
    match judged {
        Ok((_, Some(missing))) => Err(Question::Missing(missing)),
        Ok((judgement, None)) => Ok(Verdict {
            judgement,
            says_nothing: taken.without_load(),
        }),
        Err(doubt) => Err(Question::Doubt(doubt)),
    }
}

/// The measurement as the judgement takes it; a volume with its time is a flow.
fn reading<'b>(
    check: &Observation,
    measured: &Measured,
    (bands, meter): (&'b [Band], &'b Meter),
) -> Result<quantity::Measured<'b>, Question> {
    let given = raw(&measured.raw);
    let asked = check.quantity.unwrap_or(given.kind);
    if (asked, given.kind) != (Kind::Flow, Kind::Volume) {
        return Ok(quantity::Measured {
            asked,
            offset: measured.leads.as_ref().map(raw),
            confirmed: measured.confirmed,
            ..quantity::Measured::new(given, bands, meter)
        });
    }
    let Some(over) = &measured.over else {
        return Err(Question::Missing(Missing::Time));
    };
    let worked_out = quantity::flow(&given, &raw(over), meter);
    let flow = worked_out.map_or_else(
        || {
            let nothing = Raw::value(Kind::Flow, 0.0, None);
            quantity::Measured::new(nothing, bands, meter)
        },
        |flow| quantity::Measured::worked_out(flow, bands, meter),
    );
    Ok(quantity::Measured {
        confirmed: measured.confirmed,
        ..flow
    })
}

/// The rider's meter, or the class default.
fn meter(told: Option<&MeterTold>) -> Meter {
    told.map_or_else(Meter::cheap, |told| {
        Meter::rated(told.gain * 100.0, told.digits)
    })
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
            Special::Overload => Display::Overload,
            Special::Beep => Display::Beep,
            Special::NoBeep => Display::NoBeep,
        }),
    }
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
            (Some(Display::Overload), _) => quantity::Shown::Overload,
            (Some(Display::Beep), _) => quantity::Shown::Beep,
            (Some(Display::NoBeep), _) => quantity::Shown::NoBeep,
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

/// A number as it was meant, back in the form of the log.
#[must_use]
pub fn logged(raw: &Raw) -> Shown {
    let (value, low, high, display) = match raw.shown {
        quantity::Shown::Value(value) => (Some(value), None, None, None),
        quantity::Shown::Between { low, high } => (None, low, high, None),
        quantity::Shown::Overload => (None, None, None, Some(Display::Overload)),
        quantity::Shown::Beep => (None, None, None, Some(Display::Beep)),
        quantity::Shown::NoBeep => (None, None, None, Some(Display::NoBeep)),
    };
    Shown {
        quantity: raw.kind,
        value,
        low,
        high,
        resolution: raw.resolution,
        unit: raw.unit.symbol.to_owned(),
        display,
    }
}
