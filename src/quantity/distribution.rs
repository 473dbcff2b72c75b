//! The distribution of a sum of rectangular and normal contributions, exactly.
//!
//! A cheap display makes rectangles, and a sum of few rectangles is far from normal: a difference
//! of two readings of the same display is a triangle. Replacing it by a normal of the same width
//! misjudges the probability of conformity by several percent, so it is not replaced. The sum of
//! n rectangles of half-widths aᵢ and a normal of standard deviation σ has the cumulative
//! distribution
//!
//! ```text
//! F(x) = σⁿ / Π(2aᵢ) · Σ over all signs s of Π sᵢ · Jₙ((x + Σ sᵢaᵢ) / σ)
//! ```
//!
//! where Jₙ is the n-fold repeated integral of the normal cumulative distribution,
//! Jₙ(z) = (z Jₙ₋₁(z) + Jₙ₋₂(z)) / n with J₋₁ = φ and J₀ = Φ (the recurrence of Abramowitz &
//! Stegun 7.2.5, carried over from the repeated integrals of erfc). Without a normal part Jₙ is the
//! truncated power, and F the spline of Irwin and Hall.

use statrs::function::erf::erfc;
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// A rectangle narrower than this share of the whole standard uncertainty joins the normal part.
/// The fourth cumulant of a rectangle is -(2a)⁴/120, so what it costs is below 1e-7 in probability.
const NARROW: f64 = 0.04;

/// How many standard deviations of the normal part reach beyond the rectangles, for practical
/// purposes: the mass left out is below 1e-18.
const REACH: f64 = 9.0;

/// One contribution to a sum, about zero unless its limits say otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Anywhere between two limits with equal density (GUM 4.3.7).
    Rectangle {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Normal about zero.
    Normal {
        /// Standard deviation.
        sd: f64,
    },
}

impl Shape {
    /// A rectangle about zero.
    #[must_use]
    pub fn within(half_width: f64) -> Self {
        Self::Rectangle {
            low: -half_width,
            high: half_width,
        }
    }

    /// Mean of the contribution.
    #[must_use]
    pub fn mean(self) -> f64 {
        match self {
            Self::Rectangle { low, high } => low.midpoint(high),
            Self::Normal { .. } => 0.0,
        }
    }

    /// Variance of the contribution (GUM 4.3.7: a²/3 for a rectangle).
    #[must_use]
    pub fn variance(self) -> f64 {
        match self {
            Self::Rectangle { low, high } => (high - low).powi(2) / 12.0,
            Self::Normal { sd } => sd * sd,
        }
    }
}

/// The distribution of a sum of independent contributions.
#[derive(Debug, Clone, PartialEq)]
pub struct Sum {
    mean: f64,
    sd: f64,
    normal: f64,
    half_widths: Vec<f64>,
}

impl Sum {
    /// A value with independent contributions about it.
    #[must_use]
    pub fn about(value: f64, shapes: &[Shape]) -> Self {
        let mean = value + shapes.iter().map(|shape| shape.mean()).sum::<f64>();
        let sd = shapes
            .iter()
            .map(|shape| shape.variance())
            .sum::<f64>()
            .sqrt();
        let mut normal_variance = 0.0;
        let mut half_widths = Vec::new();
        for shape in shapes {
            match *shape {
                Shape::Rectangle { low, high } if high - low > 2.0 * NARROW * sd => {
                    half_widths.push((high - low) / 2.0);
                }
                _ => normal_variance += shape.variance(),
            }
        }
        Self {
            mean,
            sd,
            normal: normal_variance.sqrt(),
            half_widths,
        }
    }

    /// Expectation.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// Standard uncertainty.
    #[must_use]
    pub fn sd(&self) -> f64 {
        self.sd
    }

    /// Probability of a value below `x`.
    #[must_use]
    pub fn below(&self, x: f64) -> f64 {
        let distance = x - self.mean;
        if self.sd == 0.0 {
            return if distance < 0.0 { 0.0 } else { 1.0 };
        }
        // The lower tail sums small terms only; the upper half follows by symmetry.
        let tail = self.lower_tail(-distance.abs());
        if distance <= 0.0 { tail } else { 1.0 - tail }
    }

    /// Half the width of the interval about the mean that holds `coverage` of the probability.
    #[must_use]
    pub fn half_width(&self, coverage: f64) -> f64 {
        let tail = (1.0 - coverage) / 2.0;
        let (mut narrow, mut wide) = (0.0, self.reach());
        for _ in 0..60 {
            let middle = f64::midpoint(narrow, wide);
            if self.lower_tail(-middle) > tail {
                narrow = middle;
            } else {
                wide = middle;
            }
        }
        f64::midpoint(narrow, wide)
    }

    fn reach(&self) -> f64 {
        self.half_widths.iter().sum::<f64>() + REACH * self.normal
    }

    /// Probability of falling below the mean by at least `-x`; `x` is not positive.
    fn lower_tail(&self, x: f64) -> f64 {
        if x <= -self.reach() {
            return 0.0;
        }
        let n = self.half_widths.len();
        let area: f64 = self.half_widths.iter().map(|a| 2.0 * a).product();
        let signed: f64 = (0..1_usize << n)
            .map(|signs| {
                let (sign, shift) = self.corner(signs);
                sign * repeated_integral(n, x + shift, self.normal)
            })
            .sum();
        (signed / area).clamp(0.0, 0.5)
    }

    /// One corner of the box of rectangles: the product of its signs and the sum of its sides.
    fn corner(&self, signs: usize) -> (f64, f64) {
        let mut sign = 1.0;
        let mut shift = 0.0;
        for (i, a) in self.half_widths.iter().enumerate() {
            if signs >> i & 1 == 0 {
                shift += a;
            } else {
                shift -= a;
                sign = -sign;
            }
        }
        (sign, shift)
    }
}

/// The n-fold repeated integral, from minus infinity, of the normal cumulative distribution of
/// standard deviation `sd`; of the unit step where that is zero.
fn repeated_integral(n: usize, x: f64, sd: f64) -> f64 {
    if sd == 0.0 {
        return truncated_power(n, x);
    }
    let z = x / sd;
    let (mut before, mut now) = (density(z), cumulative(z));
    for order in 1..=n {
        #[expect(clippy::cast_precision_loss, reason = "an order of a handful")]
        let next = (z * now + before) / order as f64;
        (before, now) = (now, next);
    }
    now * sd.powi(i32::try_from(n).unwrap_or(i32::MAX))
}

fn truncated_power(n: usize, x: f64) -> f64 {
    if x < 0.0 {
        return 0.0;
    }
    #[expect(clippy::cast_precision_loss, reason = "an order of a handful")]
    (1..=n).fold(1.0, |power, order| power * x / order as f64)
}

/// The standard normal density φ.
#[must_use]
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The standard normal cumulative distribution Φ.
#[must_use]
pub fn cumulative(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}
