//! What kinds of quantity are made of, so that volts never meet ohms by accident.

use super::Kind;

/// Exponents of the SI base quantities a quantity is made of (SI brochure, 9th edition, 2.3.3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dimension {
    /// Exponent of length.
    pub length: i8,
    /// Exponent of mass.
    pub mass: i8,
    /// Exponent of time.
    pub time: i8,
    /// Exponent of electric current.
    pub current: i8,
    /// Exponent of thermodynamic temperature.
    pub temperature: i8,
}

impl Dimension {
    /// A plain number.
    pub const NONE: Self = Self::of([0, 0, 0, 0, 0]);
    /// Length, in metres.
    pub const LENGTH: Self = Self::of([1, 0, 0, 0, 0]);
    /// Area, in square metres.
    pub const AREA: Self = Self::of([2, 0, 0, 0, 0]);
    /// Volume, in cubic metres.
    pub const VOLUME: Self = Self::of([3, 0, 0, 0, 0]);
    /// Mass, in kilograms.
    pub const MASS: Self = Self::of([0, 1, 0, 0, 0]);
    /// Duration, in seconds.
    pub const TIME: Self = Self::of([0, 0, 1, 0, 0]);
    /// Rotational speed, in turns per second.
    pub const PER_TIME: Self = Self::of([0, 0, -1, 0, 0]);
    /// Electric current, in amperes.
    pub const CURRENT: Self = Self::of([0, 0, 0, 1, 0]);
    /// Temperature, in kelvin.
    pub const TEMPERATURE: Self = Self::of([0, 0, 0, 0, 1]);
    /// Volume flow, in cubic metres per second.
    pub const FLOW: Self = Self::of([3, 0, -1, 0, 0]);
    /// Speed, in metres per second.
    pub const SPEED: Self = Self::of([1, 0, -1, 0, 0]);
    /// Pressure, in pascals.
    pub const PRESSURE: Self = Self::of([-1, 1, -2, 0, 0]);
    /// Density, in kilograms per cubic metre.
    pub const DENSITY: Self = Self::of([-3, 1, 0, 0, 0]);
    /// Dynamic viscosity, in pascal seconds.
    pub const VISCOSITY: Self = Self::of([-1, 1, -1, 0, 0]);
    /// Energy or torque, in joules or newton metres.
    pub const ENERGY: Self = Self::of([2, 1, -2, 0, 0]);
    /// Power, in watts.
    pub const POWER: Self = Self::of([2, 1, -3, 0, 0]);
    /// Mass of fuel per energy delivered, in kilograms per joule.
    pub const MASS_PER_ENERGY: Self = Self::of([-2, 0, 2, 0, 0]);
    /// Electric charge, in coulombs.
    pub const CHARGE: Self = Self::of([0, 0, 1, 1, 0]);
    /// Electric potential difference, in volts.
    pub const VOLTAGE: Self = Self::of([2, 1, -3, -1, 0]);
    /// Electric resistance, in ohms.
    pub const RESISTANCE: Self = Self::of([2, 1, -3, -2, 0]);
    /// Resistivity, in ohm metres.
    pub const RESISTIVITY: Self = Self::of([3, 1, -3, -2, 0]);

    const fn of(exponents: [i8; 5]) -> Self {
        let [length, mass, time, current, temperature] = exponents;
        Self {
            length,
            mass,
            time,
            current,
            temperature,
        }
    }

    const fn exponents(self) -> [i8; 5] {
        [
            self.length,
            self.mass,
            self.time,
            self.current,
            self.temperature,
        ]
    }

    /// The dimension of a product.
    #[must_use]
    pub const fn times(self, other: Self) -> Self {
        let (a, b) = (self.exponents(), other.exponents());
        Self::of([
            a[0] + b[0],
            a[1] + b[1],
            a[2] + b[2],
            a[3] + b[3],
            a[4] + b[4],
        ])
    }

    /// Whether two quantities may be added; `==`, for constant expressions.
    #[must_use]
    pub const fn is(self, other: Self) -> bool {
        let (a, b) = (self.exponents(), other.exponents());
        a[0] == b[0] && a[1] == b[1] && a[2] == b[2] && a[3] == b[3] && a[4] == b[4]
    }
}

impl Kind {
    /// What a kind of quantity is made of.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Voltage => Dimension::VOLTAGE,
            Self::Resistance => Dimension::RESISTANCE,
            Self::Current => Dimension::CURRENT,
            Self::Volume => Dimension::VOLUME,
            Self::Flow => Dimension::FLOW,
            Self::Pressure => Dimension::PRESSURE,
            Self::Duration => Dimension::TIME,
            Self::Temperature => Dimension::TEMPERATURE,
            Self::Speed => Dimension::PER_TIME,
        }
    }
}
