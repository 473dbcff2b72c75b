//! Quantities in coherent SI units whose products and quotients the compiler checks.
//!
//! ```
//! use floatbowl::quantity::si::{Amperes, Ohms, Volts};
//! let lost: Volts = Amperes(5.0) * Ohms(0.2);
//! assert_eq!(lost, Volts(1.0));
//! ```
//!
//! ```compile_fail
//! use floatbowl::quantity::si::{Amperes, Ohms, Watts};
//! let power: Watts = Amperes(5.0) * Ohms(0.2);
//! ```

use super::dimension::Dimension;
use super::unit::{Mismatch, Unit};
use std::ops::{Add, Div, Mul, Sub};

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $dimension:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl $name {
            /// What it is made of.
            pub const DIMENSION: Dimension = Dimension::$dimension;

            /// A value given in some unit.
            ///
            /// # Errors
            /// Where the unit measures something else.
            pub fn of(value: f64, unit: &Unit) -> Result<Self, Mismatch> {
                Ok(Self(unit.to_coherent(value, Self::DIMENSION)?))
            }

            /// The value in some unit.
            ///
            /// # Errors
            /// Where the unit measures something else.
            pub fn in_unit(self, unit: &Unit) -> Result<f64, Mismatch> {
                unit.show_coherent(self.0, Self::DIMENSION)
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    )+};
}

macro_rules! products {
    ($($a:ident * $b:ident = $c:ident),+ $(,)?) => {$(
        const _: () = assert!($a::DIMENSION.times($b::DIMENSION).is($c::DIMENSION));

        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, other: $b) -> $c {
                $c(self.0 * other.0)
            }
        }

        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, other: $a) -> $c {
                $c(self.0 * other.0)
            }
        }

        impl Div<$a> for $c {
            type Output = $b;
            fn div(self, other: $a) -> $b {
                $b(self.0 / other.0)
            }
        }

        impl Div<$b> for $c {
            type Output = $a;
            fn div(self, other: $b) -> $a {
                $a(self.0 / other.0)
            }
        }
    )+};
}

quantities! {
    /// Electric potential difference.
    Volts: VOLTAGE,
    /// Electric current.
    Amperes: CURRENT,
    /// Electric resistance.
    Ohms: RESISTANCE,
    /// Power.
    Watts: POWER,
    /// Energy.
    Joules: ENERGY,
    /// Electric charge.
    Coulombs: CHARGE,
    /// Resistance of a conductor of one metre and one square metre.
    OhmMetres: RESISTIVITY,
    /// Duration.
    Seconds: TIME,
    /// Length.
    Metres: LENGTH,
    /// Area.
    SquareMetres: AREA,
    /// Volume.
    CubicMetres: VOLUME,
    /// Speed.
    MetresPerSecond: SPEED,
    /// Volume flow.
    CubicMetresPerSecond: FLOW,
    /// Pressure.
    Pascals: PRESSURE,
    /// Mass.
    Kilograms: MASS,
    /// Density.
    KilogramsPerCubicMetre: DENSITY,
    /// Dynamic viscosity.
    PascalSeconds: VISCOSITY,
    /// Fuel burnt for the energy delivered.
    KilogramsPerJoule: MASS_PER_ENERGY,
}

products! {
    Amperes * Ohms = Volts,
    Amperes * Volts = Watts,
    Amperes * Seconds = Coulombs,
    Watts * Seconds = Joules,
    Metres * SquareMetres = CubicMetres,
    SquareMetres * MetresPerSecond = CubicMetresPerSecond,
    Seconds * MetresPerSecond = Metres,
    Seconds * CubicMetresPerSecond = CubicMetres,
    KilogramsPerCubicMetre * CubicMetres = Kilograms,
    KilogramsPerJoule * Joules = Kilograms,
    Pascals * Seconds = PascalSeconds,
}

impl Metres {
    /// The area of a circle of this diameter.
    #[must_use]
    pub fn circle(self) -> SquareMetres {
        SquareMetres(std::f64::consts::FRAC_PI_4 * self.0 * self.0)
    }
}
