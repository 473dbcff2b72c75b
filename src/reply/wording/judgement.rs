//! A judged reading: its figures, and its arithmetic in one line.

use super::number::{chance, display, range};
use crate::knowledge::schema::Observation;
use crate::quantity::circumstance::charge;
use crate::quantity::receipt::{Cause, Place};
use crate::quantity::uncertainty::Origin;
use crate::quantity::{
    Basis, Circumstances, Judgement, Nature, Raw, Receipt, Remedy, Side, Spec, Verdict, receipt,
};
use crate::reply::Judged;

/// What was read in a way that cannot answer the question.
const SAYS_NOTHING: &str = "I do not count that: with no current flowing a corroded joint shows the same as a sound one. Measure it with the plug on and the circuit switched on.";

/// The most outcomes named in an explanation are those with at least this probability.
const WORTH_NAMING: f64 = 0.01;
/// A cause smaller than this share of the largest is not named.
const NOTABLE: f64 = 0.7;

/// A judgement with all that is shown of it.
#[derive(Debug, Clone)]
pub struct Shown<'a> {
    /// What was measured.
    pub check: &'a Observation,
    /// The judgement.
    pub judgement: &'a Judgement,
    /// The spec it was judged by.
    pub spec: Option<&'a Spec>,
    /// The reading.
    pub raw: Raw,
    /// The leads taken off.
    pub leads: Option<Raw>,
    /// The time a volume was caught in.
    pub over: Option<Raw>,
    /// How it was taken.
    pub under: Circumstances,
}

impl Shown<'_> {
    /// The figures, for machines and for the summary.
    #[must_use]
    pub fn entry(&self) -> Judged {
        let judgement = self.judgement;
        let estimate = judgement.estimate.as_ref();
        let normal = self.normal_band();
        let outcomes = self.check.outcome.iter();
        Judged {
            observation: self.check.id.clone(),
            raw: estimate.map(|estimate| estimate.raw),
            offset: estimate.and_then(|estimate| estimate.offset),
            corrected: estimate.map(|estimate| estimate.corrected),
            unit: judgement.kind.unit(),
            uncertainty: estimate.map(|estimate| estimate.standard_uncertainty),
            low: normal.and_then(|at| judgement.bands[at].low),
            high: normal.and_then(|at| judgement.bands[at].high),
            weights: outcomes
                .map(|outcome| outcome.id.clone())
                .zip(judgement.weights.iter().copied())
                .collect(),
            verdict: self.verdict(),
        }
    }

    /// The band of the spec, or of the outcome a sound bike shows most.
    fn normal_band(&self) -> Option<usize> {
        let bands = &self.judgement.bands;
        let within = bands
            .iter()
            .position(|band| band.side == Some(Side::Within));
        let normal = |at: &usize| self.check.outcome[*at].normal;
        let usual = || (0..bands.len()).max_by(|a, b| normal(a).total_cmp(&normal(b)));
        within.or_else(usual)
    }

    /// The verdict alone.
    #[must_use]
    pub fn verdict(&self) -> String {
        match self.judgement.verdict {
            Verdict::Clear(at) => match self.short_of_the_extreme(at) {
                Some(words) => format!("Out of the permitted range, though not \"{words}\"."),
                None => self.check.outcome[at].means.clone(),
            },
            Verdict::TooClose { best, next } => format!(
                "Too close to call between {} and {}.",
                self.outcome(best),
                self.outcome(next)
            ),
        }
    }

    /// An outcome as it is called, in quotes, unless a spec has moved its limits.
    fn outcome(&self, at: usize) -> String {
        let (band, own) = (&self.judgement.bands[at], &self.check.outcome[at]);
        let moved = (band.low, band.high) != (own.low, own.high);
        match band.side.filter(|_| moved) {
            Some(Side::Within) => "in range".to_owned(),
            Some(Side::Below) => "below range".to_owned(),
            Some(Side::Above) => "above range".to_owned(),
            None => format!("\"{}\"", own.words),
        }
    }

    /// A value outside a spec that still lies where the check's own limits call it plausible.
    fn short_of_the_extreme(&self, at: usize) -> Option<&str> {
        let side = self.judgement.bands[at].side?;
        let corrected = self.judgement.estimate.as_ref()?.corrected;
        let outcomes = &self.check.outcome;
        let own = outcomes.iter().find(|own| own.side == Some(Side::Within))?;
        let plausible = own.low.is_none_or(|low| low <= corrected)
            && own.high.is_none_or(|high| corrected <= high);
        (self.spec.is_some() && side != Side::Within && plausible)
            .then_some(outcomes[at].words.as_str())
    }

    pub(super) fn receipt(&self) -> Option<Receipt> {
        receipt(self.judgement, &self.raw, self.leads.as_ref())
    }

    /// The arithmetic and the verdict, with the way to do better where it is too close.
    #[must_use]
    pub fn line(&self) -> String {
        let receipt = self.receipt();
        if receipt.as_ref().is_some_and(without_load) {
            return format!(
                "{}: {}, but read with no current flowing. {SAYS_NOTHING}",
                self.check.name,
                display(&self.raw)
            );
        }
        let sum = receipt
            .as_ref()
            .map_or_else(|| display(&self.raw), |r| self.sum(r));
        let mut line = format!("{}: {sum}", self.check.name);
        if let Some(receipt) = &receipt {
            line += &notes(receipt);
            line += &self.against(receipt);
        }
        line = format!("{}. {}", line.trim_end_matches('.'), self.in_words());
        line += &self.charge().unwrap_or_default();
        let words = ["To do better", "Or"].iter().zip(&self.judgement.remedies);
        let ways = words.map(|(lead, &remedy)| format!(" {lead}: {}.", better(remedy)));
        line + &ways.collect::<String>()
    }

    /// `3.4 − 1.6 (leads) = 1.8 ± 0.2 ohm`; `200 mL in 10 s = 1200 ± 200 mL/min`.
    fn sum(&self, receipt: &Receipt) -> String {
        match &self.over {
            Some(over) => format!(
                "{} in {} = {}",
                display(&self.raw),
                display(over),
                receipt.sum()
            ),
            None => receipt.sum(),
        }
    }

    /// What the value is held against, and how it comes out.
    fn against(&self, receipt: &Receipt) -> String {
        let place = match receipt.place {
            Place::InRange => "in range",
            Place::BelowRange => "below range",
            Place::AboveRange => "above range",
            Place::TooClose => "too close to call",
            Place::Between(..) => "",
        };
        let limits = receipt
            .spec
            .map(|(low, high)| range(low, high, receipt.unit.symbol));
        match (self.spec, limits, receipt.place) {
            (Some(spec), Some(limits), _) => format!("; {} {limits}; {place}", whose(spec.basis)),
            (_, _, Place::TooClose) => match receipt.limit {
                Some(limit) => format!(
                    "; the limit is {}; {place}",
                    range(Some(limit), Some(limit), receipt.unit.symbol)
                ),
                None => format!("; {place}"),
            },
            _ => String::new(),
        }
    }

    fn in_words(&self) -> String {
        let Verdict::TooClose { .. } = self.judgement.verdict else {
            let only = if self.only_open_or_short() && !self.is_extreme() {
                " Without a range out of your manual I can tell open and short only."
            } else {
                ""
            };
            return format!("{}{only}", self.verdict());
        };
        let named: Vec<String> = self.probable().collect();
        format!("It may be {}.", named.join(", or "))
    }

    /// How full a battery is by its rest voltage, as a range wide enough for what each table says.
    fn charge(&self) -> Option<String> {
        let battery = self.check.nature == Some(Nature::RestedBattery);
        let volts = self
            .judgement
            .estimate
            .as_ref()
            .filter(|_| battery)?
            .corrected;
        let charge = charge(self.under, volts);
        let percent = |share: f64| format!("{:.0}", (share * 20.0).round() * 5.0);
        let (low, high) = (percent(charge.low), percent(charge.high));
        Some(if low == high {
            format!(" By the published tables it is about {low} % full.")
        } else {
            format!(" By the published tables, which differ, it is {low} to {high} % full.")
        })
    }

    fn only_open_or_short(&self) -> bool {
        let number = self.judgement.estimate.is_some();
        number && self.spec.is_none() && self.check.nature == Some(Nature::Copper)
    }

    fn is_extreme(&self) -> bool {
        let Verdict::Clear(at) = self.judgement.verdict else {
            return false;
        };
        self.judgement.bands[at].side != Some(Side::Within)
    }

    /// Outcomes worth naming with their probabilities, likeliest first.
    pub(super) fn probable(&self) -> impl Iterator<Item = String> {
        let weights = &self.judgement.weights;
        let mut order: Vec<usize> = (0..weights.len())
            .filter(|&at| weights[at] >= WORTH_NAMING)
            .collect();
        order.sort_by(|&a, &b| weights[b].total_cmp(&weights[a]));
        order
            .into_iter()
            .map(|at| format!("{} ({})", self.outcome(at), chance(weights[at])))
    }
}

/// Whose word a spec is.
fn whose(basis: Basis) -> &'static str {
    match basis {
        Basis::Manual => "your manual asks for",
        Basis::Sheet => "the sheet for your bike asks for",
        Basis::Need => "your engine needs",
        Basis::Generic => "usual:",
    }
}

/// Causes that make most of the doubt and that the rider can do something about.
fn notes(receipt: &Receipt) -> String {
    let largest = receipt.causes.first();
    let largest = largest.map_or(0.0, |cause| cause.standard_uncertainty);
    let notable = |cause: &&Cause| cause.standard_uncertainty >= NOTABLE * largest;
    let notes = receipt.causes.iter().filter(notable);
    let notes: Vec<&str> = notes.filter_map(|cause| note(cause.origin)).collect();
    if notes.is_empty() {
        String::new()
    } else {
        format!(" ({})", notes.join("; "))
    }
}

fn without_load(receipt: &Receipt) -> bool {
    let mut causes = receipt.causes.iter();
    causes.any(|cause| cause.origin == Origin::NoLoad)
}

fn note(origin: Origin) -> Option<&'static str> {
    match origin {
        Origin::LeadsUnread => Some("your leads are still in it, mostly 0.1 to 0.5 ohm"),
        Origin::Rest => Some("a battery that has not rested long shows up to 0.3 V too much"),
        Origin::Temperature => Some("partly for not knowing just how warm it was"),
        Origin::Range => Some("you gave a range"),
        _ => None,
    }
}

/// What would make a reading surer.
#[must_use]
pub fn better(remedy: Remedy) -> &'static str {
    match remedy {
        Remedy::ReadLeads => "hold the two probes together and tell me what the leads alone show",
        Remedy::LowerRange => "turn the meter to the next lower range that still shows a number",
        Remedy::TypeAllDigits => "give me every digit the display shows, zeros included",
        Remedy::BetterContact => {
            "scrape both contacts bright, press the probes on hard, and read it three times"
        }
        Remedy::ReadANumber => "give me one number",
        Remedy::EvenTemperature => {
            "let the part come to the temperature of the air, and tell me how warm that is"
        }
        Remedy::RestBattery => "let the battery rest overnight with nothing on, then read it again",
        Remedy::MeasureUnderLoad => {
            "measure with the plug on and the circuit switched on; without load a bad joint still shows full voltage"
        }
        Remedy::MeasureLonger => "let it run longer into a larger measure",
        Remedy::BetterMarks => "use a measure with finer marks",
        Remedy::BetterMeter => "borrow a more accurate meter",
    }
}
