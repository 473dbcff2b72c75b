//! Ohm's law on a bike: voltage lost in joints and wire, and why it must be measured under load.

use super::distribution::Shape;
use super::si::{Amperes, Ohms, Volts, Watts};
use super::uncertainty::{Origin, Part};

/// Resistances one after the other.
#[must_use]
pub fn series(resistances: &[Ohms]) -> Ohms {
    Ohms(resistances.iter().map(|r| r.0).sum())
}

/// Resistances side by side.
#[must_use]
pub fn parallel(resistances: &[Ohms]) -> Ohms {
    Ohms(1.0 / resistances.iter().map(|r| 1.0 / r.0).sum::<f64>())
}

/// The power a current delivers over a voltage.
#[must_use]
pub fn power(voltage: Volts, current: Amperes) -> Watts {
    voltage * current
}

/// A supply with some resistance in its path, a bad joint or a battery's own, and a load behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// Voltage with nothing connected.
    pub open: Volts,
    /// Resistance in the path.
    pub path: Ohms,
}

impl Feed {
    /// The current a load draws.
    #[must_use]
    pub fn current(&self, load: Ohms) -> Amperes {
        self.open / series(&[self.path, load])
    }

    /// The voltage that reaches a load.
    #[must_use]
    pub fn at_load(&self, load: Ohms) -> Volts {
        self.current(load) * load
    }

    /// The voltage at a drawn current.
    #[must_use]
    pub fn at_current(&self, current: Amperes) -> Volts {
        self.open - current * self.path
    }

    /// The voltage lost in the path.
    #[must_use]
    pub fn lost(&self, load: Ohms) -> Volts {
        self.current(load) * self.path
    }

    /// What a meter reads with the load unplugged: all of it, however bad the path, since a meter
    /// of 10 megohm draws next to nothing.
    #[must_use]
    pub fn unplugged(&self) -> Volts {
        self.at_load(METER_INPUT)
    }

    /// The resistance in a path, from the voltage with nothing connected and under a known current.
    #[must_use]
    pub fn path_of(open: Volts, loaded: Volts, current: Amperes) -> Ohms {
        (open - loaded) / current
    }
}

/// Input resistance of a hand-held meter on DC volts; common practice, no source.
pub const METER_INPUT: Ohms = Ohms(10e6);

/// Most a connection may lose under load; common practice, no standard.
pub const CONNECTION_DROP: Volts = Volts(0.1);

/// Most one side of a circuit may lose under load, from strict to lenient; common practice, no
/// standard.
pub const SIDE_DROP: (Volts, Volts) = (Volts(0.3), Volts(0.5));

/// Shares of the supply a circuit may lose under load: 3 % where it matters, 10 % elsewhere
/// (ABYC E-11, which is for boats).
pub const SHARE_DROP: (f64, f64) = (0.03, 0.10);

/// The doubt in a voltage drop read with no current flowing: with it flowing, anything up to the
/// whole of a 12 V battery may be lost.
#[must_use]
pub fn no_current() -> Part {
    Part {
        origin: Origin::NoLoad,
        shape: Shape::Rectangle {
            low: 0.0,
            high: 12.6,
        },
    }
}

/// The doubt in a voltage read with the load unplugged: with it plugged in again, anything from
/// nothing to all of it may be left.
#[must_use]
pub fn unloaded(reading: Volts) -> Part {
    Part {
        origin: Origin::NoLoad,
        shape: Shape::Rectangle {
            low: -reading.0.max(0.0),
            high: 0.0,
        },
    }
}
