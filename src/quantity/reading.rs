//! What a rider's instrument showed, as they said it.

use super::Kind;
use super::unit::Unit;

/// A reading before any correction; values in the base unit of `kind`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Raw {
    /// What was measured.
    pub kind: Kind,
    /// What stood on the display.
    pub shown: Shown,
    /// The step of the last digit typed (`3.4`: 0.1, `3.40`: 0.01); none for words and fractions.
    pub resolution: Option<f64>,
    /// The unit the rider speaks in, in which everything is shown back.
    pub unit: &'static Unit,
}

/// What stood on a display.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// A number.
    Value(f64),
    /// Somewhere between two numbers; an open end is none.
    Between {
        /// Lower end.
        low: Option<f64>,
        /// Upper end.
        high: Option<f64>,
    },
    /// `OL`, a lone `1` on the left, infinity: more than the range can show.
    Overload,
    /// The continuity beeper sounded.
    Beep,
    /// The continuity beeper stayed silent.
    NoBeep,
}

impl Raw {
    /// A number in the base unit of its kind, with the step of its last digit.
    #[must_use]
    pub fn value(kind: Kind, value: f64, resolution: Option<f64>) -> Self {
        Self {
            kind,
            shown: Shown::Value(value),
            resolution,
            unit: Unit::base(kind),
        }
    }

    /// A display that is no number, or a range.
    #[must_use]
    pub fn shown(kind: Kind, shown: Shown) -> Self {
        Self {
            kind,
            shown,
            resolution: None,
            unit: Unit::base(kind),
        }
    }

    /// The same reading, shown back in another unit.
    #[must_use]
    pub fn said_in(self, unit: &'static Unit) -> Self {
        Self { unit, ..self }
    }

    /// The number shown, or the middle of a range with two ends.
    #[must_use]
    pub fn centre(&self) -> Option<f64> {
        match self.shown {
            Shown::Value(value) => Some(value),
            Shown::Between {
                low: Some(low),
                high: Some(high),
            } => Some(f64::midpoint(low, high)),
            _ => None,
        }
    }
}
