//! What can occur at all on a motorcycle with a 12 V battery; common practice, no source.

use super::Kind;

/// Values that can occur, and within them those that usually do; base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plausible {
    /// Lowest and highest that can occur.
    pub possible: (f64, f64),
    /// Lowest and highest that a reading usually has.
    pub usual: (f64, f64),
}

impl Plausible {
    /// Whether a value can occur.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        self.possible.0 <= value && value <= self.possible.1
    }

    /// Whether a value is one that readings usually have.
    #[must_use]
    pub fn is_usual(&self, value: f64) -> bool {
        self.usual.0 <= value && value <= self.usual.1
    }
}

/// What can occur for a kind of quantity.
#[must_use]
pub fn plausible(kind: Kind) -> Plausible {
    let (possible, usual) = match kind {
        // Above 18 V the battery boils and the lamps are gone.
        Kind::Voltage => ((-18.0, 18.0), (5.0, 18.0)),
        Kind::Resistance => ((0.0, 200e6), (0.0, 200e6)),
        // A starter motor draws most.
        Kind::Current => ((-400.0, 400.0), (0.01, 100.0)),
        Kind::Volume => ((0.0, 40.0), (0.02, 20.0)),
        Kind::Flow => ((0.0, 20.0), (0.02, 5.0)),
        // A full vacuum to well above any injection pressure.
        Kind::Pressure => ((-101.325, 1000.0), (1.0, 700.0)),
        Kind::Duration => ((0.0, 1e9), (1.0, 3600.0)),
        Kind::Temperature => ((-60.0, 900.0), (-40.0, 150.0)),
        Kind::Speed => ((0.0, 20_000.0), (100.0, 15_000.0)),
    };
    Plausible { possible, usual }
}
