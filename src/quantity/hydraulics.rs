//! Fuel under gravity: head, hoses, jets and an emptying tank, each with the limits it holds in.

use super::si::{
    CubicMetres, CubicMetresPerSecond, Kilograms, KilogramsPerCubicMetre, Metres, MetresPerSecond,
    PascalSeconds, Pascals, Seconds, SquareMetres,
};
use std::f64::consts::PI;

/// Standard acceleration of gravity (exact by definition), in m/s².
pub const GRAVITY: f64 = 9.806_65;

/// Above this Reynolds number a pipe's flow is no longer surely laminar (`OpenStax` College Physics
/// 2e, 12.4: laminar below about 2000).
pub const LAMINAR_BELOW: f64 = 2000.0;

/// Pressure under a height of liquid, ρgh.
#[must_use]
pub fn head(density: KilogramsPerCubicMetre, height: Metres) -> Pascals {
    Pascals(density.0 * GRAVITY * height.0)
}

/// Height of liquid that makes a pressure.
#[must_use]
pub fn height_for(pressure: Pascals, density: KilogramsPerCubicMetre) -> Metres {
    Metres(pressure.0 / (density.0 * GRAVITY))
}

/// Depth of a mass of liquid in a tank of some floor area.
#[must_use]
pub fn depth(mass: Kilograms, density: KilogramsPerCubicMetre, floor: SquareMetres) -> Metres {
    let volume: CubicMetres = mass / density;
    volume / floor
}

/// Mean speed in a round bore, by continuity.
#[must_use]
pub fn speed(flow: CubicMetresPerSecond, bore: Metres) -> MetresPerSecond {
    flow / bore.circle()
}

/// A liquid's two properties that matter to flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Liquid {
    /// Density.
    pub density: KilogramsPerCubicMetre,
    /// Dynamic viscosity.
    pub viscosity: PascalSeconds,
}

/// A straight round hose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hose {
    /// Inner diameter.
    pub bore: Metres,
    /// Length.
    pub length: Metres,
}

/// A pressure loss that says whether its formula holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Loss {
    /// By Hagen and Poiseuille, whose condition is met.
    Laminar(Pascals),
    /// The flow is too fast for that formula: the loss is greater than this.
    MoreThan(Pascals),
}

impl Hose {
    /// Ratio of inertia to friction in the flow, 4ρq / (πdη).
    #[must_use]
    pub fn reynolds(&self, flow: CubicMetresPerSecond, liquid: Liquid) -> f64 {
        4.0 * liquid.density.0 * flow.0 / (PI * self.bore.0 * liquid.viscosity.0)
    }

    /// Pressure lost along the hose, 128ηlq / (πd⁴) while laminar.
    #[must_use]
    pub fn loss(&self, flow: CubicMetresPerSecond, liquid: Liquid) -> Loss {
        let friction = 128.0 * liquid.viscosity.0 * self.length.0 * flow.0;
        let loss = Pascals(friction / (PI * self.bore.0.powi(4)));
        if self.reynolds(flow, liquid) < LAMINAR_BELOW {
            Loss::Laminar(loss)
        } else {
            Loss::MoreThan(loss)
        }
    }
}

/// A sharp-edged hole or jet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orifice {
    /// Diameter.
    pub bore: Metres,
    /// Discharge coefficient, about 0.62 for a sharp edge.
    pub discharge: f64,
}

impl Orifice {
    /// Flow under a pressure, Cd · A · √(2p/ρ).
    #[must_use]
    pub fn flow(&self, pressure: Pascals, density: KilogramsPerCubicMetre) -> CubicMetresPerSecond {
        let speed = MetresPerSecond((2.0 * pressure.0 / density.0).sqrt());
        self.bore.circle() * speed * self.discharge
    }

    /// Time in which the level of an open tank falls from one height above the hole to another.
    #[must_use]
    pub fn drain_time(&self, floor: SquareMetres, from: Metres, to: Metres) -> Seconds {
        let per_root = floor / self.bore.circle() / self.discharge * (2.0 / GRAVITY).sqrt();
        Seconds(per_root * (from.0.sqrt() - to.0.sqrt()))
    }
}

/// Speed of a free jet under a height of liquid, √(2gh) (Torricelli).
#[must_use]
pub fn efflux(height: Metres) -> MetresPerSecond {
    MetresPerSecond((2.0 * GRAVITY * height.0).sqrt())
}

/// Pressure before a nozzle that lifts and speeds up a stream to the open air (Bernoulli, no
/// friction).
#[must_use]
pub fn nozzle_pressure(
    density: KilogramsPerCubicMetre,
    before: MetresPerSecond,
    after: MetresPerSecond,
    lift: Metres,
) -> Pascals {
    let kinetic = Pascals(density.0 * (after.0.powi(2) - before.0.powi(2)) / 2.0);
    kinetic + head(density, lift)
}
