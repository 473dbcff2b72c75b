//! A judged reading: its figures, and its arithmetic in one line.

use crate::knowledge::schema::Observation;
use crate::quantity::{Judgement, Raw, Remedy, Side, Verdict, receipt};
use crate::reply::Judged;

/// The figures of a judgement, for machines and for the summary.
#[must_use]
pub fn judged(check: &Observation, judgement: &Judgement) -> Judged {
    let estimate = judgement.estimate.as_ref();
    let normal = normal_band(check, judgement);
    Judged {
        observation: check.id.clone(),
        raw: estimate.map(|estimate| estimate.raw),
        offset: estimate.and_then(|estimate| estimate.offset),
        corrected: estimate.map(|estimate| estimate.corrected),
        unit: judgement.kind.unit(),
        uncertainty: estimate.map(|estimate| estimate.standard_uncertainty),
        low: normal.and_then(|at| judgement.bands[at].low),
        high: normal.and_then(|at| judgement.bands[at].high),
        weights: check
            .outcome
            .iter()
            .map(|outcome| outcome.id.clone())
            .zip(judgement.weights.iter().copied())
            .collect(),
        verdict: verdict(check, judgement),
    }
}

/// The band of the spec, or of the outcome a sound bike shows most.
fn normal_band(check: &Observation, judgement: &Judgement) -> Option<usize> {
    let within = judgement
        .bands
        .iter()
        .position(|band| band.side == Some(Side::Within));
    let normal = |at: &usize| check.outcome[*at].normal;
    within.or_else(|| (0..check.outcome.len()).max_by(|a, b| normal(a).total_cmp(&normal(b))))
}

/// The verdict alone.
#[must_use]
pub fn verdict(check: &Observation, judgement: &Judgement) -> String {
    match judgement.verdict {
        Verdict::Clear(at) => check.outcome[at].means.clone(),
        Verdict::TooClose { best, next } => format!(
            "Too close to call between \"{}\" and \"{}\".",
            check.outcome[best].words, check.outcome[next].words
        ),
    }
}

/// The arithmetic and the verdict, with the way to do better where it is too close.
#[must_use]
pub fn line(check: &Observation, judgement: &Judgement, raw: &Raw, leads: Option<&Raw>) -> String {
    let arithmetic = receipt(judgement, raw, leads).map(|receipt| receipt.line());
    let mut line = match arithmetic {
        Some(arithmetic) => format!(
            "{}: {arithmetic}. {}",
            check.name,
            verdict(check, judgement)
        ),
        None => format!("{}: {}", check.name, verdict(check, judgement)),
    };
    if let Some(remedy) = judgement.remedies.first() {
        line = format!("{line} {}", better(*remedy));
    }
    line
}

/// What would make a reading surer.
#[must_use]
pub fn better(remedy: Remedy) -> &'static str {
    match remedy {
        Remedy::ReadLeads => {
            "To do better: hold the two probes together and tell me what the leads alone show."
        }
        Remedy::LowerRange => {
            "To do better: turn the meter to the next lower range that still shows a number."
        }
        Remedy::TypeAllDigits => {
            "To do better: give me every digit the display shows, zeros included."
        }
        Remedy::BetterContact => {
            "To do better: scrape both contacts bright, press the probes on hard, and read it three times."
        }
        Remedy::ReadANumber => "To do better: give me one number.",
        Remedy::EvenTemperature => {
            "To do better: let the part come to the temperature of the air, and tell me how warm that is."
        }
        Remedy::RestBattery => {
            "To do better: let the battery rest a few hours with nothing on, then read it again."
        }
        Remedy::MeasureUnderLoad => {
            "To do better: measure with the circuit switched on and working; without load a bad joint still shows full voltage."
        }
        Remedy::MeasureLonger => "To do better: let it run longer into a larger measure.",
        Remedy::BetterMarks => "To do better: use a measure with finer marks.",
        Remedy::BetterMeter => "To do better: borrow a more accurate meter.",
    }
}
