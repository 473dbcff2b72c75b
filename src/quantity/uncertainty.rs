//! What a corrected value may be off by: one part for each cause, by the GUM (JCGM 100:2008).

use super::Kind;
use super::distribution::Shape;
use super::meter::Meter;
use super::reading::{Raw, Shown};

/// Where a part of the uncertainty comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// The meter's stated limit of error: gain, and the digits of the reading itself.
    Accuracy,
    /// The digits of the second reading that was taken off.
    OffsetDigits,
    /// Rounding of the number as it was typed.
    Rounding,
    /// Rounding of the second reading as it was typed.
    OffsetRounding,
    /// How well the probes touch, once for each reading.
    Contact,
    /// Leads that were never read: the true value is lower by what they have.
    LeadsUnread,
    /// A range was given instead of a number.
    Range,
    /// The temperature of a winding.
    Temperature,
    /// A battery that has not rested long enough.
    Rest,
    /// The volume a flow was worked out from.
    Volume,
    /// The time a flow was worked out from.
    Duration,
}

/// One contribution to the difference between the true value and the corrected one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its cause.
    pub origin: Origin,
    /// Its distribution, in the base unit.
    pub shape: Shape,
}

impl Part {
    /// A part that lies within a half-width of zero, anywhere with equal density.
    #[must_use]
    pub fn within(origin: Origin, half_width: f64) -> Self {
        Self {
            origin,
            shape: Shape::within(half_width),
        }
    }

    /// The same part of a value that has been multiplied by `factor`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        let shape = match self.shape {
            Shape::Rectangle { low, high } => Shape::Rectangle {
                low: low * factor,
                high: high * factor,
            },
            Shape::Normal { sd } => Shape::Normal { sd: sd * factor },
        };
        Self { shape, ..self }
    }
}

/// What usual leads have, in ohms: 0.1 to 0.5; above 1 they are worn (meter manuals and general
/// guidance on two-wire measurement; no standard).
pub const USUAL_LEADS: (f64, f64) = (0.1, 0.5);

/// The parts of a reading with another reading of the same meter and range taken off.
///
/// The gain is one and the same in both, so it acts on the difference only (GUM 5.2.2 with r = +1:
/// common errors cancel). The digits and the rounding of each reading are its own. The maker's
/// limit for one reading, gain and digits together, is one rectangle (GUM 4.3.7, example 2).
#[must_use]
pub fn parts(raw: &Raw, offset: Option<&Raw>, meter: &Meter) -> Vec<Part> {
    let Some(value) = raw.centre() else {
        return Vec::new();
    };
    let taken_off = offset.and_then(Raw::centre);
    let accuracy = meter.accuracy(raw.kind, value, raw.resolution);
    let gain = accuracy.gain * (value - taken_off.unwrap_or(0.0)).abs();
    let mut parts = vec![Part::within(Origin::Accuracy, gain + accuracy.fixed())];
    parts.extend(rounding(raw, accuracy.fixed(), Origin::Rounding));
    parts.extend(range(raw));
    if let (Some(offset), Some(taken_off)) = (offset, taken_off) {
        let fixed = meter
            .accuracy(raw.kind, taken_off, offset.resolution)
            .fixed();
        parts.push(Part::within(Origin::OffsetDigits, fixed));
        parts.extend(rounding(offset, fixed, Origin::OffsetRounding));
        parts.extend(range(offset));
    }
    if raw.kind == Kind::Resistance {
        parts.extend(touches(taken_off.is_some(), meter));
    }
    parts.retain(|part| part.shape.variance() > 0.0);
    parts
}

/// The digits of a maker's limit contain the display's own step already; rounding counts on top
/// where there are none, or where the rider rounded more coarsely than the display.
fn rounding(raw: &Raw, fixed: f64, origin: Origin) -> Option<Part> {
    let half_step = raw.resolution? / 2.0;
    (half_step > fixed * (1.0 + 1e-9)).then(|| Part::within(origin, half_step))
}

fn range(raw: &Raw) -> Option<Part> {
    match raw.shown {
        Shown::Between {
            low: Some(low),
            high: Some(high),
        } => Some(Part::within(Origin::Range, (high - low) / 2.0)),
        _ => None,
    }
}

fn touches(leads_read: bool, meter: &Meter) -> [Part; 2] {
    let contact = Part {
        origin: Origin::Contact,
        shape: Shape::Normal { sd: meter.contact },
    };
    let second = if leads_read {
        contact
    } else {
        Part {
            origin: Origin::LeadsUnread,
            shape: Shape::Rectangle {
                low: -USUAL_LEADS.1,
                high: -USUAL_LEADS.0,
            },
        }
    };
    [contact, second]
}
