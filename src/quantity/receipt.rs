//! The arithmetic of a judgement as data, and as one line in the rider's own unit.
//!
//! `3.4 − 1.6 (leads) = 1.8 ± 0.2 ohm; spec 1.6 to 2.2; in range`

use super::judgement::{Estimate, Judgement, Verdict};
use super::number::{decimals_of, fixed, rounded_up, shortest};
use super::reading::Raw;
use super::spec::Side;
use super::uncertainty::{Origin, Part};
use super::{Kind, Unit};
use std::collections::BTreeMap;

/// What a term of the sum is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The reading as shown.
    Reading,
    /// The leads, taken off.
    Leads,
    /// The other end of a voltage drop, taken off.
    OtherEnd,
    /// The factor that brings copper to the spec's temperature.
    Temperature,
}

/// One term: a number as the rider gave it, or a factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// What it is.
    pub role: Role,
    /// In the rider's unit; a plain number for a factor.
    pub value: f64,
    /// Decimals to print.
    pub decimals: usize,
}

/// Where the value lies, for the end of the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place {
    /// Inside the spec.
    InRange,
    /// Below the spec.
    BelowRange,
    /// Above the spec.
    AboveRange,
    /// Between two limits of an outcome without a spec, in the rider's unit.
    Between(Option<f64>, Option<f64>),
    /// No telling which side of a limit.
    TooClose,
}

/// The arithmetic of one judgement, in the rider's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Receipt {
    /// What the result was worked out from.
    pub terms: Vec<Term>,
    /// The corrected value.
    pub result: f64,
    /// Expanded uncertainty at 95 %, rounded up.
    pub plus_minus: f64,
    /// Decimals of the result and of its uncertainty.
    pub decimals: usize,
    /// The rider's unit.
    pub unit: &'static Unit,
    /// The spec's limits.
    pub spec: Option<(Option<f64>, Option<f64>)>,
    /// Where that leaves it.
    pub place: Place,
    /// For a reading too close to call, the limit it lies near.
    pub limit: Option<f64>,
    /// What each cause adds to the standard uncertainty, largest first; for the long explanation.
    pub causes: Vec<Cause>,
}

/// What one cause adds to the standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// The cause.
    pub origin: Origin,
    /// Its standard uncertainty, in the rider's unit.
    pub standard_uncertainty: f64,
}

/// The receipt of a judgement; none where the display gave no number.
#[must_use]
pub fn receipt(judgement: &Judgement, raw: &Raw, offset: Option<&Raw>) -> Option<Receipt> {
    let estimate = judgement.estimate.as_ref()?;
    let unit = judgement.unit;
    let (plus_minus, decimals) = rounded_up(unit.show_difference(estimate.expanded_uncertainty));
    let within = judgement
        .bands
        .iter()
        .find(|band| band.side == Some(Side::Within));
    let shown = |limit: Option<f64>| limit.map(|limit| unit.show(limit));
    Some(Receipt {
        terms: terms(estimate, unit, raw, offset),
        result: unit.show(estimate.corrected),
        plus_minus,
        decimals,
        unit,
        spec: within.map(|band| (shown(band.low), shown(band.high))),
        place: place(judgement),
        limit: shown(judgement.limit_in_question()),
        causes: causes(&estimate.parts, unit),
    })
}

fn terms(estimate: &Estimate, unit: &Unit, raw: &Raw, offset: Option<&Raw>) -> Vec<Term> {
    let term = |role, value: f64, said: &Raw| Term {
        role,
        value: unit.show(value),
        decimals: decimals_of(
            unit.show(value),
            said.resolution.map(|r| unit.show_difference(r)),
        ),
    };
    let mut terms = vec![term(Role::Reading, estimate.raw, raw)];
    if let (Some(value), Some(said)) = (estimate.offset, offset) {
        let role = if raw.kind == Kind::Resistance {
            Role::Leads
        } else {
            Role::OtherEnd
        };
        terms.push(term(role, value, said));
    }
    let differs = |factor: &f64| (factor - 1.0).abs() > 1e-9;
    terms.extend(estimate.factor.filter(differs).map(|value| Term {
        role: Role::Temperature,
        value,
        decimals: 3,
    }));
    terms
}

/// Parts of one origin together, largest first.
fn causes(parts: &[Part], unit: &Unit) -> Vec<Cause> {
    let mut variances: BTreeMap<Origin, f64> = BTreeMap::new();
    for part in parts {
        *variances.entry(part.origin).or_default() += part.shape.variance();
    }
    let cause = |(origin, variance): (Origin, f64)| Cause {
        origin,
        standard_uncertainty: unit.show_difference(variance.sqrt()),
    };
    let mut causes: Vec<Cause> = variances.into_iter().map(cause).collect();
    causes.sort_by(|a, b| b.standard_uncertainty.total_cmp(&a.standard_uncertainty));
    causes
}

fn place(judgement: &Judgement) -> Place {
    let Verdict::Clear(at) = judgement.verdict else {
        return Place::TooClose;
    };
    let band = &judgement.bands[at];
    match band.side {
        Some(Side::Within) => Place::InRange,
        Some(Side::Below) => Place::BelowRange,
        Some(Side::Above) => Place::AboveRange,
        None => {
            let shown = |limit: Option<f64>| limit.map(|limit| judgement.unit.show(limit));
            Place::Between(shown(band.low), shown(band.high))
        }
    }
}

impl Receipt {
    /// The receipt as one line.
    #[must_use]
    pub fn line(&self) -> String {
        let mut line = self.sum();
        if let Some((low, high)) = self.spec {
            line = format!("{line}; spec {}", range(low, high));
        }
        let end = match self.place {
            Place::InRange => "in range".to_owned(),
            Place::BelowRange => "below range".to_owned(),
            Place::AboveRange => "above range".to_owned(),
            Place::Between(low, high) => range(low, high),
            Place::TooClose => "too close to call".to_owned(),
        };
        format!("{line}; {end}")
    }

    /// The sum up to and including the unit: `3.4 − 1.6 (leads) = 1.8 ± 0.2 ohm`.
    #[must_use]
    pub fn sum(&self) -> String {
        let symbol = self.unit.symbol;
        let result = format!(
            "{} ± {} {symbol}",
            fixed(self.result, self.decimals),
            fixed(self.plus_minus, self.decimals)
        );
        match &self.terms[..] {
            // Rounded to what is known, the reading may no longer be recognised.
            [reading] if reading.decimals > self.decimals => {
                format!(
                    "{} {symbol}, that is {result}",
                    fixed(reading.value, reading.decimals)
                )
            }
            [] | [_] => result,
            terms => format!("{} = {result}", joined(terms)),
        }
    }
}

fn joined(terms: &[Term]) -> String {
    let mut sum = String::new();
    for term in terms {
        let number = fixed(term.value, term.decimals);
        sum = match term.role {
            Role::Reading => number,
            Role::Leads => format!("{sum} − {number} (leads)"),
            Role::OtherEnd => format!("{sum} − {number}"),
            Role::Temperature if sum.contains('−') => format!("({sum}) × {number} (temperature)"),
            Role::Temperature => format!("{sum} × {number} (temperature)"),
        };
    }
    sum
}

fn range(low: Option<f64>, high: Option<f64>) -> String {
    match (low.map(shortest), high.map(shortest)) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("at least {low}"),
        (None, Some(high)) => format!("at most {high}"),
        (None, None) => "no limit".to_owned(),
    }
}
