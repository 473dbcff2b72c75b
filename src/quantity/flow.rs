//! Flow worked out from a volume caught in a time, and what that is uncertain by.

use super::meter::Meter;
use super::reading::Raw;
use super::uncertainty::{Origin, Part};
use super::{Kind, Unit};

/// A value worked out from other readings, with the parts of its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkedOut {
    /// The value, as if it had been read.
    pub raw: Raw,
    /// What it is uncertain by.
    pub parts: Vec<Part>,
}

/// The flow of a volume caught in a time, in litres per minute. None where either is no positive
/// number, or not of its kind.
///
/// First order in both (GUM 5.1.2): dq/q = dV/V - dt/t.
#[must_use]
pub fn flow(volume: &Raw, duration: &Raw, meter: &Meter) -> Option<WorkedOut> {
    let litres = positive(volume, Kind::Volume)?;
    let seconds = positive(duration, Kind::Duration)?;
    let flow = litres / seconds * 60.0;
    let part = |origin, raw: &Raw, value: f64| {
        Part::within(origin, flow * half_width(raw, value, meter) / value)
    };
    Some(WorkedOut {
        raw: Raw::value(Kind::Flow, flow, None).said_in(flow_unit(volume.unit)),
        parts: vec![
            part(Origin::Volume, volume, litres),
            part(Origin::Duration, duration, seconds),
        ],
    })
}

fn positive(raw: &Raw, kind: Kind) -> Option<f64> {
    raw.centre()
        .filter(|&value| raw.kind == kind && value > 0.0)
}

fn half_width(raw: &Raw, value: f64, meter: &Meter) -> f64 {
    let accuracy = meter.accuracy(raw.kind, value, None);
    let typed = raw.resolution.unwrap_or(0.0) / 2.0;
    accuracy.gain * value + accuracy.fixed().max(typed)
}

/// The flow unit that goes with the volume unit a rider speaks in.
fn flow_unit(volume: &Unit) -> &'static Unit {
    let symbol = match volume.symbol {
        "mL" | "cL" | "dL" => "mL/min",
        "US gal" | "US qt" => "US gal/h",
        "US pint" | "US cup" => "US pint/min",
        "US fl oz" | "US tbsp" | "US tsp" => "US fl oz/min",
        "imp gal" | "imp qt" => "imp gal/h",
        "imp pint" | "imp fl oz" => "imp pint/min",
        _ => Kind::Flow.unit(),
    };
    Unit::named(symbol).unwrap_or_else(|| Unit::base(Kind::Flow))
}
