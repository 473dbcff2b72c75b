//! The law of propagation of uncertainty, for values worked out from several inputs (GUM clause 5).

use statrs::distribution::{ContinuousCDF, StudentsT};

/// One input of a measurement model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Standard uncertainty.
    pub u: f64,
    /// Change of the result for a change of this input (GUM 5.1.3).
    pub sensitivity: f64,
    /// Degrees of freedom; infinite where the uncertainty is taken as known.
    pub freedom: f64,
}

impl Input {
    /// An input whose uncertainty is taken as known.
    #[must_use]
    pub fn known(u: f64, sensitivity: f64) -> Self {
        Self {
            u,
            sensitivity,
            freedom: f64::INFINITY,
        }
    }

    fn contribution(&self) -> f64 {
        self.u * self.sensitivity
    }
}

/// Combined standard uncertainty of inputs that may be correlated (GUM 5.2.2, eq. 16);
/// `correlation` gives the coefficient of two positions.
#[must_use]
pub fn combined(inputs: &[Input], correlation: impl Fn(usize, usize) -> f64) -> f64 {
    let mut variance = 0.0;
    for (i, a) in inputs.iter().enumerate() {
        for (j, b) in inputs.iter().enumerate() {
            let r = if i == j { 1.0 } else { correlation(i, j) };
            variance += r * a.contribution() * b.contribution();
        }
    }
    // Full correlation may cancel to a hair below zero.
    variance.max(0.0).sqrt()
}

/// Combined standard uncertainty of independent inputs (GUM 5.1.2, eq. 10).
#[must_use]
pub fn independent(inputs: &[Input]) -> f64 {
    combined(inputs, |_, _| 0.0)
}

/// Effective degrees of freedom of independent inputs (Welch–Satterthwaite, GUM eq. G.2b).
#[must_use]
pub fn effective_freedom(inputs: &[Input]) -> f64 {
    let weight = |input: &Input| input.contribution().powi(4) / input.freedom;
    independent(inputs).powi(4) / inputs.iter().map(weight).sum::<f64>()
}

/// Coverage factor at a probability and degrees of freedom, from Student's distribution (GUM G.3).
///
/// # Panics
/// Where `freedom` is not positive.
#[must_use]
pub fn coverage_factor(coverage: f64, freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom)
        .expect("degrees of freedom are positive")
        .inverse_cdf(f64::midpoint(1.0, coverage))
}
