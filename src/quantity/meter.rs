//! How far a meter may be off: what its maker states, or what its class can be trusted with.

use super::Kind;

/// The limit of error a maker states: a share of the reading plus some steps of the last digit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Share of the reading: 0.005 for 0.5 %.
    pub gain: f64,
    /// Steps of the last digit.
    pub digits: f64,
    /// The step of the last digit on the range in use, in the base unit.
    pub step: f64,
}

impl Accuracy {
    /// The part of the limit that does not grow with the reading, in the base unit.
    #[must_use]
    pub fn fixed(&self) -> f64 {
        self.digits * self.step
    }
}

/// A rider's instruments: the multimeter, and what volume, time and pressure are taken with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// What the rider says of theirs: share of the reading and digits; none for the class default.
    rated: Option<(f64, f64)>,
    /// Standard deviation of one touch of the probes, in ohms.
    pub contact: f64,
}

impl Default for Meter {
    fn default() -> Self {
        Self::cheap()
    }
}

impl Meter {
    /// A cheap hand-held with a display of 2000 counts.
    ///
    /// Its limits are common practice, no source: DC volts 0.5 % + 2, current 1.5 % + 3, and ohms
    /// 1 % + 1, less than makers print because the rest of the printed digits is the zero of the
    /// range, which goes away with the leads. A touch of the probes repeats within 0.03 ohm.
    #[must_use]
    pub fn cheap() -> Self {
        Self {
            rated: None,
            contact: 0.03,
        }
    }

    /// A meter its owner knows: "0.5 % + 2" is `rated(0.5, 2.0)`.
    #[must_use]
    pub fn rated(percent_of_reading: f64, digits: f64) -> Self {
        Self {
            rated: Some((percent_of_reading / 100.0, digits)),
            ..Self::cheap()
        }
    }

    /// The same meter with probes that touch more or less surely; standard deviation in ohms.
    #[must_use]
    pub fn with_contact(self, contact: f64) -> Self {
        Self { contact, ..self }
    }

    /// The limit of error that goes with a value, both in the base unit of `kind`. `typed` is the
    /// step of the digits typed: where it is finer than the class would show, the range was lower.
    #[must_use]
    pub fn accuracy(&self, kind: Kind, value: f64, typed: Option<f64>) -> Accuracy {
        let class = Accuracy::of_class(kind);
        let step = step_on_range(class.step, value);
        let step = typed.map_or(step, |typed| typed.min(step));
        match self.rated {
            Some((gain, digits)) if kind.is_electrical() => Accuracy { gain, digits, step },
            _ => Accuracy { step, ..class },
        }
    }
}

impl Accuracy {
    /// Class defaults, all common practice, no source; the step is that of the lowest range used.
    fn of_class(kind: Kind) -> Self {
        let (gain, digits, step) = match kind {
            Kind::Voltage => (0.005, 2.0, 0.01),
            Kind::Resistance => (0.01, 1.0, 0.1),
            Kind::Current => (0.015, 3.0, 0.01),
            // A bottle with marks, read standing on the ground.
            Kind::Volume => (0.05, 1.0, 0.005),
            // A watch started and stopped by hand.
            Kind::Duration => (0.0, 1.0, 0.5),
            Kind::Flow => (0.05, 1.0, 0.01),
            // A round gauge of class 2.5.
            Kind::Pressure => (0.025, 1.0, 2.0),
            Kind::Temperature => (0.0, 2.0, 1.0),
            Kind::Speed => (0.02, 1.0, 50.0),
        };
        Self { gain, digits, step }
    }
}

/// Counts of the display.
const COUNTS: f64 = 2000.0;

/// The step on the lowest decade range that still shows a value.
fn step_on_range(lowest: f64, value: f64) -> f64 {
    let mut step = lowest;
    while step * COUNTS < value.abs() {
        step *= 10.0;
    }
    step
}
