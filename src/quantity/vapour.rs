//! Petrol vapour: how heavy it is, how little of it burns, and how a liquid is classed.

use super::si::CubicMetres;

/// Molar mass of dry air, in g/mol.
const AIR: f64 = 28.965;

/// Molar volume of an ideal gas at 20 degC and atmospheric pressure, in m³/mol.
const MOLAR_VOLUME: f64 = 8.314_462_618 * 293.15 / 101_325.0;

/// Density of a vapour over that of air, from its molar mass in g/mol.
#[must_use]
pub fn over_air(molar_mass: f64) -> f64 {
    molar_mass / AIR
}

/// A liquid that gives off vapour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volatile {
    /// Molar mass of the vapour, in g/mol.
    pub molar_mass: f64,
    /// Density of the liquid, in kg/m³.
    pub density: f64,
    /// Least share of vapour in air that burns, by volume.
    pub lower_limit: f64,
}

impl Volatile {
    /// Liquid that makes a room's air burn once it has turned to vapour and mixed; in truth a
    /// corner is reached with far less.
    #[must_use]
    pub fn to_reach_limit(&self, room: CubicMetres) -> CubicMetres {
        let moles = self.lower_limit * room.0 / MOLAR_VOLUME;
        CubicMetres(moles * self.molar_mass / 1000.0 / self.density)
    }
}

/// Category of a flammable liquid from its flash and boiling points in degrees Celsius; none above
/// 93 degC (29 CFR 1910.106(a)(19)).
#[must_use]
pub fn category(flash: f64, boiling: f64) -> Option<u8> {
    match flash {
        f if f < 23.0 && boiling <= 35.0 => Some(1),
        f if f < 23.0 => Some(2),
        f if f <= 60.0 => Some(3),
        f if f <= 93.0 => Some(4),
        _ => None,
    }
}
