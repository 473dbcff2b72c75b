//! What petrol weighs, and how much of it an engine needs for its power.

use super::si::{
    CubicMetres, CubicMetresPerSecond, Joules, Kilograms, KilogramsPerCubicMetre,
    KilogramsPerJoule, Seconds, Watts,
};

/// Density of petrol at 15 degC, lowest and highest (EN 228:2012).
pub const DENSITY: (KilogramsPerCubicMetre, KilogramsPerCubicMetre) =
    (KilogramsPerCubicMetre(720.0), KilogramsPerCubicMetre(775.0));

/// The density to work with, near the middle of the permitted range.
pub const USUAL_DENSITY: KilogramsPerCubicMetre = KilogramsPerCubicMetre(745.0);

/// Fuel a spark-ignition engine burns for the energy it delivers at good load, lowest and highest:
/// 250 to 300 g/kWh (handbook range, from memory); 322 g/kWh is found over a driving cycle.
pub const CONSUMPTION: (KilogramsPerJoule, KilogramsPerJoule) = (
    KilogramsPerJoule(250e-3 / 3.6e6),
    KilogramsPerJoule(300e-3 / 3.6e6),
);

/// The volume flow an engine needs at a power: power × specific consumption / density.
#[must_use]
pub fn demand(
    power: Watts,
    consumption: KilogramsPerJoule,
    density: KilogramsPerCubicMetre,
) -> CubicMetresPerSecond {
    let burnt: Kilograms = consumption * (power * Seconds(1.0));
    let volume: CubicMetres = burnt / density;
    volume / Seconds(1.0)
}

/// The flow an engine needs at most: the thirstiest engine on the lightest fuel.
#[must_use]
pub fn most_demand(power: Watts) -> CubicMetresPerSecond {
    demand(power, CONSUMPTION.1, DENSITY.0)
}

/// The share of the fuel's energy that becomes work; `energy_per_kilogram` is its heating value.
#[must_use]
pub fn efficiency(consumption: KilogramsPerJoule, energy_per_kilogram: f64) -> f64 {
    1.0 / (consumption.0 * energy_per_kilogram)
}

/// The mass of a volume of fuel in its can, over the volume.
#[must_use]
pub fn density_with_can(
    can: Kilograms,
    fuel: CubicMetres,
    density: KilogramsPerCubicMetre,
) -> KilogramsPerCubicMetre {
    (can + density * fuel) / fuel
}

/// How much energy a volume of fuel delivers at the crank.
#[must_use]
pub fn work(
    fuel: CubicMetres,
    density: KilogramsPerCubicMetre,
    consumption: KilogramsPerJoule,
) -> Joules {
    density * fuel / consumption
}
