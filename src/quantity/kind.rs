//! The kinds of quantity a rider can measure, each with the base unit every value is kept in.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A kind of quantity (VIM 1.2), with one base unit each.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Electric potential difference, in volts.
    Voltage,
    /// Electric resistance, in ohms.
    Resistance,
    /// Electric current, in amperes.
    Current,
    /// Volume, in litres.
    Volume,
    /// Volume flow, in litres per minute.
    Flow,
    /// Pressure, in kilopascals.
    Pressure,
    /// Duration, in seconds.
    Duration,
    /// Temperature, in degrees Celsius.
    Temperature,
    /// Rotational speed, in revolutions per minute.
    Speed,
}

impl Kind {
    /// Every kind, in the order the interfaces list them.
    pub const ALL: [Kind; 9] = [
        Kind::Voltage,
        Kind::Resistance,
        Kind::Current,
        Kind::Volume,
        Kind::Flow,
        Kind::Pressure,
        Kind::Duration,
        Kind::Temperature,
        Kind::Speed,
    ];

    /// Whether it is what a multimeter reads.
    #[must_use]
    pub fn is_electrical(self) -> bool {
        matches!(self, Kind::Voltage | Kind::Resistance | Kind::Current)
    }

    /// The symbol of the base unit, as the machine interfaces print it.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Kind::Voltage => "V",
            Kind::Resistance => "ohm",
            Kind::Current => "A",
            Kind::Volume => "L",
            Kind::Flow => "L/min",
            Kind::Pressure => "kPa",
            Kind::Duration => "s",
            Kind::Temperature => "degC",
            Kind::Speed => "rpm",
        }
    }
}
