//! Units with their exact definitions, and conversion between any two of one dimension.
//!
//! Every factor is a ratio of whole numbers taken from the unit's definition (NIST SP 811 (2008),
//! appendix B, and the definitions of the yard, pound and gallons it rests on), so a conversion
//! rounds once, in its last bit.
//!
//! ```
//! use floatbowl::quantity::unit::Unit;
//! let psi = Unit::named("psi").unwrap();
//! let kilopascal = Unit::named("kPa").unwrap();
//! assert!((psi.convert(43.5, kilopascal).unwrap() - 299.922).abs() < 1e-3);
//! assert!(psi.convert(43.5, Unit::named("ohm").unwrap()).is_err());
//! ```

use super::Kind;
use super::dimension::Dimension;
use super::unit_table::UNITS;
use thiserror::Error;

/// A unit of measurement.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// Its symbol, as printed.
    pub symbol: &'static str,
    /// Other ways to write it.
    pub(super) also: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// Coherent SI units (degrees Celsius for temperatures) in one of it, as a ratio.
    pub(super) ratio: (u64, u64),
    /// What the scale shows at zero Celsius; 0 for all but temperature scales.
    pub(super) zero: f64,
}

/// Two units that measure different things.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{from} cannot be converted to {to}: they measure different things")]
pub struct Mismatch {
    /// Symbol of the unit given.
    pub from: &'static str,
    /// Symbol of the unit wanted.
    pub to: &'static str,
}

impl Unit {
    /// The unit of that symbol or spelling; none where unknown. Case matters: `mohm` is not `Mohm`.
    #[must_use]
    pub fn named(symbol: &str) -> Option<&'static Self> {
        UNITS
            .iter()
            .find(|unit| unit.symbol == symbol || unit.also.contains(&symbol))
    }

    /// The unit all values of a kind are kept in.
    ///
    /// # Panics
    /// Never: a test names every kind.
    #[must_use]
    pub fn base(kind: Kind) -> &'static Self {
        Self::named(kind.unit()).expect("every kind's base unit is in the table")
    }

    /// The kind this unit measures; none for units of quantities no rider is asked for.
    #[must_use]
    pub fn kind(&self) -> Option<Kind> {
        Kind::ALL
            .into_iter()
            .find(|kind| kind.dimension() == self.dimension)
    }

    /// A value of this unit in another one.
    ///
    /// # Errors
    /// When the two measure different things.
    pub fn convert(&self, value: f64, to: &Self) -> Result<f64, Mismatch> {
        let factor = self.factor(to)?;
        Ok((value - self.zero) * factor + to.zero)
    }

    /// A difference between two values of this unit in another one: 10 degF of warming is 5.6 K.
    ///
    /// # Errors
    /// When the two measure different things.
    pub fn convert_difference(&self, difference: f64, to: &Self) -> Result<f64, Mismatch> {
        Ok(difference * self.factor(to)?)
    }

    /// A value of this unit's kind, kept in the base unit, as this unit shows it.
    ///
    /// # Panics
    /// For a unit without a [`Kind`].
    #[must_use]
    pub fn show(&self, base_value: f64) -> f64 {
        self.base_of()
            .convert(base_value, self)
            .expect("a unit has the dimension of its own base unit")
    }

    /// A difference kept in the base unit, as this unit shows it.
    ///
    /// # Panics
    /// For a unit without a [`Kind`].
    #[must_use]
    pub fn show_difference(&self, base_difference: f64) -> f64 {
        self.base_of()
            .convert_difference(base_difference, self)
            .expect("a unit has the dimension of its own base unit")
    }

    fn base_of(&self) -> &'static Self {
        Self::base(self.kind().expect("a unit a rider can use has a kind"))
    }

    fn factor(&self, to: &Self) -> Result<f64, Mismatch> {
        if self.dimension != to.dimension {
            return Err(Mismatch {
                from: self.symbol,
                to: to.symbol,
            });
        }
        let num = u128::from(self.ratio.0) * u128::from(to.ratio.1);
        let den = u128::from(self.ratio.1) * u128::from(to.ratio.0);
        let common = greatest_common_divisor(num, den);
        #[expect(
            clippy::cast_precision_loss,
            reason = "each side rounds once, which is the precision of the result"
        )]
        Ok((num / common) as f64 / (den / common) as f64)
    }
}

fn greatest_common_divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}
