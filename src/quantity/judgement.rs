//! A reading judged against the bands of its outcomes: how probable each is, and why.
//!
//! The probability of an outcome is the probability that the true value lies in its band given
//! the reading, with nothing assumed about the value beforehand (JCGM 106:2012, clauses 6 and 7).
//!
//! ```
//! use floatbowl::quantity::{Band, Kind, Measured, Meter, Raw, Verdict, judge};
//! let bands = [Band::below(1.6), Band::between(1.6, 2.2), Band::above(2.2)];
//! let meter = Meter::cheap();
//! let measured = Measured {
//!     offset: Some(Raw::value(Kind::Resistance, 1.6, Some(0.1))),
//!     ..Measured::new(Raw::value(Kind::Resistance, 3.4, Some(0.1)), &bands, &meter)
//! };
//! let judgement = judge(&measured).unwrap();
//! assert_eq!(judgement.verdict, Verdict::Clear(1));
//! ```

use super::band::{Band, share, share_equally};
use super::copper::Winding;
use super::distribution::{Shape, Sum};
use super::doubt::{BEEP_AT_MOST, Doubt, NO_BEEP_FROM, sane};
use super::flow::WorkedOut;
use super::guard::{Guarded, guarded};
use super::meter::Meter;
use super::reading::{Raw, Shown};
use super::remedy::{Remedy, remedies};
use super::uncertainty::{Part, parts};
use super::{Kind, Unit};

/// A verdict is clear when its outcome is at least this probable. A guard band as wide as the
/// expanded uncertainty leaves less than 2.5 % for the other side (ILAC-G8:09/2019, table 1).
pub const CLEAR_FROM: f64 = 0.975;

/// The share of the distribution that the stated plus-minus covers.
pub const COVERAGE: f64 = 0.95;

/// All that a judgement rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured<'a> {
    /// The kind of quantity asked for.
    pub asked: Kind,
    /// The reading.
    pub raw: Raw,
    /// What is taken off: the leads held together, or the other end of a voltage drop; same meter
    /// and range.
    pub offset: Option<Raw>,
    /// The instrument.
    pub meter: &'a Meter,
    /// The outcomes' intervals, in the outcomes' order.
    pub bands: &'a [Band],
    /// A copper winding whose temperature differs from its spec's.
    pub winding: Option<Winding>,
    /// Parts that stand in place of the meter's, for a value worked out from other readings.
    pub worked_out: Option<Vec<Part>>,
    /// Further causes of uncertainty, such as a battery's rest.
    pub further: Vec<Part>,
    /// Whether the rider has stood by the reading when asked, so that it is not asked again.
    pub confirmed: bool,
}

impl<'a> Measured<'a> {
    /// A single reading of what was asked for, with nothing more known.
    #[must_use]
    pub fn new(raw: Raw, bands: &'a [Band], meter: &'a Meter) -> Self {
        Self {
            asked: raw.kind,
            raw,
            offset: None,
            meter,
            bands,
            winding: None,
            worked_out: None,
            further: Vec::new(),
            confirmed: false,
        }
    }

    /// A value worked out from other readings, such as a flow.
    #[must_use]
    pub fn worked_out(value: WorkedOut, bands: &'a [Band], meter: &'a Meter) -> Self {
        Self {
            worked_out: Some(value.parts),
            ..Self::new(value.raw, bands, meter)
        }
    }

    /// Whether fewer digits were given than a common meter shows on its lowest range for the value.
    fn is_coarse(&self) -> bool {
        let class = self.raw.centre().map(|value| {
            let accuracy = Meter::cheap().accuracy(self.raw.kind, value, None);
            accuracy.step * (1.0 + 1e-9)
        });
        let given = self.raw.resolution.unwrap_or(0.0);
        class.is_some_and(|class| given > class)
    }

    fn parts(&self) -> Vec<Part> {
        match &self.worked_out {
            Some(given) => given.clone(),
            None => parts(&self.raw, self.offset.as_ref(), self.meter),
        }
    }
}

/// Where the true value is, in the base unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// As shown.
    pub raw: f64,
    /// What was taken off.
    pub offset: Option<f64>,
    /// What the difference was multiplied by to reach the spec's temperature.
    pub factor: Option<f64>,
    /// The corrected value.
    pub corrected: f64,
    /// What it may be off by.
    pub parts: Vec<Part>,
    /// Standard uncertainty of the corrected value.
    pub standard_uncertainty: f64,
    /// Expanded uncertainty: the true value lies within this of the corrected one at 95 %.
    pub expanded_uncertainty: f64,
}

impl Estimate {
    /// The distribution of the true value.
    #[must_use]
    pub fn distribution(&self) -> Sum {
        Sum::about(self.corrected, &shapes(&self.parts))
    }

    /// Expanded over standard uncertainty: 2 for a normal, 1.65 for a rectangle (EA-4/02 S9).
    #[must_use]
    pub fn coverage_factor(&self) -> f64 {
        self.expanded_uncertainty / self.standard_uncertainty
    }
}

/// Which outcome it is, if that can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// This one.
    Clear(usize),
    /// Too close to call.
    TooClose {
        /// The most probable outcome.
        best: usize,
        /// The next.
        next: usize,
    },
}

/// A judgement: a probability for each outcome, and the arithmetic.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// What was measured.
    pub kind: Kind,
    /// The unit the rider speaks in.
    pub unit: &'static Unit,
    /// The corrected value; none where the display gave no number.
    pub estimate: Option<Estimate>,
    /// Probability of each band given the reading, in order; they sum to 1.
    pub weights: Vec<f64>,
    /// What that comes to.
    pub verdict: Verdict,
    /// How to do better, most effective first; empty for a clear verdict.
    pub remedies: Vec<Remedy>,
    /// The bands judged by.
    pub bands: Vec<Band>,
}

/// Judges a reading.
///
/// # Errors
/// A [`Doubt`] where the reading cannot mean what it says, or may not: ask before going on.
pub fn judge(measured: &Measured) -> Result<Judgement, Doubt> {
    sane(measured)?;
    let estimate = measured.raw.centre().map(|raw| estimate(measured, raw));
    let weights = match &estimate {
        Some(estimate) => by_number(measured.bands, estimate),
        None => by_display(measured.bands, measured.raw.shown),
    }
    .ok_or(Doubt::NothingToJudgeBy)?;
    let verdict = verdict(&weights);
    let remedies = match (verdict, &estimate) {
        (Verdict::TooClose { .. }, Some(estimate)) => {
            remedies(&estimate.parts, measured.is_coarse())
        }
        (Verdict::TooClose { .. }, None) => vec![Remedy::ReadANumber],
        (Verdict::Clear(_), _) => Vec::new(),
    };
    Ok(Judgement {
        kind: measured.raw.kind,
        unit: measured.raw.unit,
        estimate,
        weights,
        verdict,
        remedies,
        bands: measured.bands.to_vec(),
    })
}

/// The corrected value of a reading that shows a number.
pub(super) fn estimate(measured: &Measured, raw: f64) -> Estimate {
    let offset = measured.offset.as_ref().and_then(Raw::centre);
    let difference = raw - offset.unwrap_or(0.0);
    let factor = measured.winding.map(|winding| winding.factor());
    let scale = factor.unwrap_or(1.0);
    let corrected = difference * scale;
    let mut parts: Vec<Part> = measured
        .parts()
        .into_iter()
        .map(|part| part.scaled(scale))
        .collect();
    parts.extend(measured.winding.and_then(|winding| winding.part(corrected)));
    parts.extend(&measured.further);
    let sum = Sum::about(corrected, &shapes(&parts));
    Estimate {
        raw,
        offset,
        factor,
        corrected,
        standard_uncertainty: sum.sd(),
        // What is not corrected for adds in full (GUM F.2.4.5).
        expanded_uncertainty: sum.half_width(COVERAGE) + (sum.mean() - corrected).abs(),
        parts,
    }
}

fn shapes(parts: &[Part]) -> Vec<Shape> {
    parts.iter().map(|part| part.shape).collect()
}

fn by_number(bands: &[Band], estimate: &Estimate) -> Option<Vec<f64>> {
    let distribution = estimate.distribution();
    share(bands, |limit| distribution.below(limit))
}

/// Where there is no number, every outcome the display leaves open is as likely as another.
fn by_display(bands: &[Band], shown: Shown) -> Option<Vec<f64>> {
    match shown {
        Shown::Overload => share_equally(bands, |band| band.overload)
            .or_else(|| share_equally(bands, |band| band.low.is_some() && band.high.is_none())),
        Shown::Beep => share_equally(bands, |band| band.meets(0.0, BEEP_AT_MOST)),
        Shown::NoBeep => share_equally(bands, |band| {
            band.overload || band.meets(NO_BEEP_FROM, f64::INFINITY)
        }),
        Shown::Between { low, high } => share_equally(bands, |band| {
            band.meets(
                low.unwrap_or(f64::NEG_INFINITY),
                high.unwrap_or(f64::INFINITY),
            )
        }),
        Shown::Value(_) => None,
    }
}

fn verdict(weights: &[f64]) -> Verdict {
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|&a, &b| weights[b].total_cmp(&weights[a]).then(a.cmp(&b)));
    match order[..] {
        [best, next, ..] if weights[best] < CLEAR_FROM => Verdict::TooClose { best, next },
        [best, ..] => Verdict::Clear(best),
        [] => unreachable!("weights exist only where there are bands"),
    }
}

impl Judgement {
    /// The limit that a reading too close to call lies near, in the base unit; none for a clear
    /// verdict, or where the display gave no number.
    #[must_use]
    pub fn limit_in_question(&self) -> Option<f64> {
        let Verdict::TooClose { best, next } = self.verdict else {
            return None;
        };
        let corrected = self.estimate.as_ref()?.corrected;
        let limits = [best, next].map(|at| [self.bands[at].low, self.bands[at].high]);
        let away = |limit: &f64| (limit - corrected).abs();
        limits
            .into_iter()
            .flatten()
            .flatten()
            .min_by(|a, b| away(a).total_cmp(&away(b)))
    }

    /// Where the value stands with respect to a limit, the guard band being as wide as the expanded
    /// uncertainty: below surely, below probably, above probably, above surely.
    #[must_use]
    pub fn guarded(&self, upper_limit: f64) -> Option<Guarded> {
        let estimate = self.estimate.as_ref()?;
        let guard = estimate.expanded_uncertainty;
        Some(guarded(estimate.corrected, upper_limit, guard))
    }
}
