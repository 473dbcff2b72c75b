//! Copper: a winding's resistance at another temperature, and the resistance of wire.

use super::uncertainty::{Origin, Part};
use std::f64::consts::PI;

/// Resistivity of annealed copper at 20 degC, 1/58 ohm mm²/m (IEC 60028), in ohm metres.
pub const RESISTIVITY: f64 = 1e-6 / 58.0;

/// Temperature coefficient of annealed copper's resistance at 20 degC, per kelvin (IEC 60028).
pub const PER_KELVIN: f64 = 0.003_93;

/// The reference temperature of both, in degrees Celsius.
const REFERENCE: f64 = 20.0;

/// Resistance at a temperature in degrees Celsius over resistance at 20 degC.
#[must_use]
pub fn over_reference(celsius: f64) -> f64 {
    1.0 + PER_KELVIN * (celsius - REFERENCE)
}

/// Resistance in ohms of a solid copper wire at 20 degC; length and diameter in metres.
#[must_use]
pub fn wire_resistance(length: f64, diameter: f64) -> f64 {
    RESISTIVITY * length / (PI / 4.0 * diameter * diameter)
}

/// Diameter in metres of a wire gauge, 127 µm · 92^((36 - n) / 39) (ASTM B258).
#[must_use]
pub fn gauge_diameter(gauge: i32) -> f64 {
    127e-6 * 92_f64.powf(f64::from(36 - gauge) / 39.0)
}

/// A winding measured at one temperature whose spec holds at another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    /// Temperature at the measurement, in degrees Celsius.
    pub at_celsius: f64,
    /// How far off that may be, in kelvin.
    pub doubt: f64,
    /// Temperature the spec holds at, in degrees Celsius.
    pub spec_celsius: f64,
}

impl Winding {
    /// What a measured resistance is multiplied by to reach the spec's temperature.
    #[must_use]
    pub fn factor(&self) -> f64 {
        over_reference(self.spec_celsius) / over_reference(self.at_celsius)
    }

    /// What the doubt about the temperature does to a resistance already corrected.
    #[must_use]
    pub(super) fn part(&self, corrected: f64) -> Option<Part> {
        let half_width =
            corrected.abs() * PER_KELVIN * self.doubt / over_reference(self.at_celsius);
        (half_width > 0.0).then(|| Part::within(Origin::Temperature, half_width))
    }
}
