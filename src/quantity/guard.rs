//! Guard bands: how near to a limit a reading may come before it is too close to call.

use super::distribution::cumulative;

/// Where a value lies with respect to an upper limit with a guard band on either side
/// (ILAC-G8:09/2019, 4.2.3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Guarded {
    /// Surely inside.
    Pass,
    /// Probably inside; too close to call.
    ConditionalPass,
    /// Probably outside; too close to call.
    ConditionalFail,
    /// Surely outside.
    Fail,
}

/// Where a value lies, `guard` being the width of the band. For a lower limit, negate both.
#[must_use]
pub fn guarded(value: f64, upper_limit: f64, guard: f64) -> Guarded {
    match value - upper_limit {
        over if over <= -guard => Guarded::Pass,
        over if over <= 0.0 => Guarded::ConditionalPass,
        over if over <= guard => Guarded::ConditionalFail,
        _ => Guarded::Fail,
    }
}

/// Probability that a value accepted right at the edge of a guard band lies beyond the limit; the
/// band's width is given in standard uncertainties of a normal distribution.
#[must_use]
pub fn false_acceptance(guard_in_standard_uncertainties: f64) -> f64 {
    cumulative(-guard_in_standard_uncertainties)
}

/// The reading from which a true value above `limit` is sure, where the standard uncertainty is a
/// share of the reading: limit / (1 − z·share), with z = Φ⁻¹(confidence) (JCGM 106:2012, clause 8).
#[must_use]
pub fn action_level(limit: f64, relative_uncertainty: f64, z: f64) -> f64 {
    limit / (1.0 - z * relative_uncertainty)
}
