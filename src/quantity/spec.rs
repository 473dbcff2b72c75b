//! Permitted ranges: which one counts, and what it does to the bands of a measurement.

use super::band::Band;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where a band lies with respect to the spec.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Below the lower limit.
    Below,
    /// Between the limits.
    Within,
    /// Above the upper limit.
    Above,
}

/// Whose word a spec is; the earlier counts before the later.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// The rider's own manual, as typed in.
    Manual,
    /// The group's approved sheet.
    Sheet,
    /// What holds for the fuel system in general.
    Generic,
}

/// A tolerance: what a quantity is required to be, in its base unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Spec {
    /// Lower limit.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
    /// Whose word it is.
    pub basis: Basis,
    /// Temperature it holds at, in degrees Celsius, where one is given.
    pub at_celsius: Option<f64>,
    /// Under which other conditions it holds.
    pub conditions: String,
    /// Where it comes from.
    pub source: String,
}

/// The spec that counts: manual before sheet before generic, the first given of equals.
/// None means that only an open or a short can be told.
#[must_use]
pub fn first_in_order(specs: &[Spec]) -> Option<&Spec> {
    specs.iter().min_by_key(|spec| spec.basis)
}

/// The bands with the limits of a spec put in where they have a side.
///
/// Below ends at the lower limit, above begins at the upper one; the other ends stay.
#[must_use]
pub fn with_spec(bands: &[Band], spec: &Spec) -> Vec<Band> {
    with_limits(bands, spec.low, spec.high)
}

/// The same, from the two limits alone.
#[must_use]
pub fn with_limits(bands: &[Band], lower: Option<f64>, upper: Option<f64>) -> Vec<Band> {
    let moved = |band: &Band| match band.side {
        None => *band,
        Some(Side::Below) => Band {
            high: lower,
            low: band.low.filter(|_| lower.is_some()),
            ..*band
        },
        Some(Side::Within) => Band {
            low: lower,
            high: upper,
            ..*band
        },
        Some(Side::Above) => Band {
            low: upper,
            high: band.high.filter(|_| upper.is_some()),
            ..*band
        },
    };
    bands.iter().map(moved).collect()
}
