//! Permitted ranges: which one counts, and what it does to the bands of a measurement.

use super::band::Band;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

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
    /// What the engine needs for the power its rider says it has.
    Need,
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
/// Below ends at the lower limit, above begins at the upper one; the other ends stay, and so do
/// further bands beyond them.
#[must_use]
pub fn with_spec(bands: &[Band], spec: &Spec) -> Vec<Band> {
    with_limits(bands, spec.low, spec.high)
}

/// The same, from the two limits alone.
#[must_use]
pub fn with_limits(bands: &[Band], lower: Option<f64>, upper: Option<f64>) -> Vec<Band> {
    let next_below = edge(bands, Side::Below, |band| {
        band.high.unwrap_or(f64::INFINITY)
    });
    let next_above = edge(bands, Side::Above, |band| {
        -band.low.unwrap_or(f64::NEG_INFINITY)
    });
    let moved = |(at, band): (usize, &Band)| match band.side {
        Some(Side::Below) if Some(at) == next_below => Band {
            high: lower,
            low: band.low.filter(|_| lower.is_some()),
            ..*band
        },
        Some(Side::Within) => Band {
            low: lower,
            high: upper,
            ..*band
        },
        Some(Side::Above) if Some(at) == next_above => Band {
            low: upper,
            high: band.high.filter(|_| upper.is_some()),
            ..*band
        },
        Some(Side::Below | Side::Above) | None => *band,
    };
    bands.iter().enumerate().map(moved).collect()
}

/// The band on a side that lies next to the spec; those beyond it keep their limits.
fn edge(bands: &[Band], side: Side, reach: impl Fn(&Band) -> f64) -> Option<usize> {
    let on_side = bands
        .iter()
        .enumerate()
        .filter(|(_, band)| band.side == Some(side));
    on_side
        .max_by(|a, b| reach(a.1).total_cmp(&reach(b.1)))
        .map(|(at, _)| at)
}

/// A group's own sheet of specs: who stands for it, and where it was taken from.
///
/// ```
/// let sheet = floatbowl::quantity::spec::Sheet::parse(
///     r#"
///     approver = "a moderator of the group"
///     approved = "2026-11-25"
///     citation = "an invented workshop sheet, page 3"
///
///     [[spec]]
///     observation = "pump-winding"
///     low = 1.6
///     high = 2.2
///     conditions = "at the connector, cold"
///     at_celsius = 20.0
///     "#,
/// );
/// assert_eq!(sheet.unwrap().specs_of("pump-winding").len(), 1);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Who in the group approved it.
    pub approver: String,
    /// On which day, as in `2026-11-25`.
    pub approved: String,
    /// What it was taken from.
    pub citation: String,
    /// The fuel system it is for; every one where none is named.
    #[serde(default)]
    pub system: Option<String>,
    /// Its rows.
    pub spec: Vec<SheetRow>,
}

/// One row of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetRow {
    /// The observation it belongs to.
    pub observation: String,
    /// Lower limit in the base unit.
    #[serde(default)]
    pub low: Option<f64>,
    /// Upper limit in the base unit.
    #[serde(default)]
    pub high: Option<f64>,
    /// Temperature it holds at, in degrees Celsius, where one is given.
    #[serde(default)]
    pub at_celsius: Option<f64>,
    /// Under which other conditions it holds.
    pub conditions: String,
}

/// Why a group's sheet cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SheetError {
    /// It does not have the shape of a sheet.
    #[error("the sheet cannot be read: {0}")]
    Shape(#[from] toml::de::Error),
    /// Nobody stands for it.
    #[error(
        "the sheet needs an `approver` and a `citation`: without them nobody can vouch for its limits"
    )]
    NobodyVouches,
    /// A row that permits everything or nothing.
    #[error("the spec of `{0}` needs a `low`, a `high`, or both with `low` below `high`")]
    Limits(String),
}

impl Sheet {
    /// Reads a sheet from the text of its file.
    ///
    /// # Errors
    /// Where it has another shape, nobody vouches for it, or a row's limits cannot be.
    pub fn parse(text: &str) -> Result<Self, SheetError> {
        let sheet: Self = toml::from_str(text)?;
        sheet.sound()?;
        Ok(sheet)
    }

    /// Whether somebody stands for it, and its limits can be.
    ///
    /// # Errors
    /// Where nobody vouches for it, or a row's limits cannot be.
    pub fn sound(&self) -> Result<(), SheetError> {
        let vouched = [&self.approver, &self.approved, &self.citation];
        if vouched.iter().any(|words| words.trim().is_empty()) {
            return Err(SheetError::NobodyVouches);
        }
        match self.spec.iter().find(|row| !row.limits_make_sense()) {
            Some(row) => Err(SheetError::Limits(row.observation.clone())),
            None => Ok(()),
        }
    }

    /// The specs it has for an observation.
    #[must_use]
    pub fn specs_of(&self, observation: &str) -> Vec<Spec> {
        let of_it = |row: &&SheetRow| row.observation == observation;
        let spec = |row: &SheetRow| Spec {
            low: row.low,
            high: row.high,
            basis: Basis::Sheet,
            at_celsius: row.at_celsius,
            conditions: row.conditions.clone(),
            source: format!(
                "{}; approved by {}, {}",
                self.citation, self.approver, self.approved
            ),
        };
        self.spec.iter().filter(of_it).map(spec).collect()
    }
}

impl SheetRow {
    fn limits_make_sense(&self) -> bool {
        match (self.low, self.high) {
            (Some(low), Some(high)) => low < high,
            (None, None) => false,
            _ => true,
        }
    }
}
