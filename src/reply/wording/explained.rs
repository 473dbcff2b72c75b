//! How a judgement came about, in full: for a rider who asks why.

use super::judgement::Shown;
use super::number::{display, list};
use crate::quantity::number::{fixed, two_digits};
use crate::quantity::receipt::Cause;
use crate::quantity::uncertainty::Origin;
use crate::quantity::{Basis, Kind, Receipt};

impl Shown<'_> {
    /// How the verdict came about, in full; `meter` is the rider's own, per cent and digits.
    #[must_use]
    pub fn explained(&self, meter: Option<(f64, f64)>) -> Vec<String> {
        let mut lines = vec![format!("About \"{}\": {}", self.check.name, self.read())];
        if let Some(receipt) = self.receipt() {
            lines.push(doubts(&receipt));
        }
        if self.raw.kind.is_electrical() && self.judgement.estimate.is_some() {
            lines.push(meter_used(meter));
        }
        let probable: Vec<String> = self.probable().collect();
        lines.push(format!(
            "That makes it {}. I call a verdict clear from 97.5 % on.",
            list(&probable)
        ));
        lines.push(self.source());
        lines
    }

    /// What was read, and what was done to it.
    fn read(&self) -> String {
        let over = self
            .over
            .as_ref()
            .map(|over| format!(" in {}", display(over)));
        let ohms = self.raw.kind == Kind::Resistance && self.judgement.estimate.is_some();
        let leads = match &self.leads {
            Some(leads) => Some(format!(
                ", the leads alone show {}; what is left belongs to the part",
                display(leads)
            )),
            None => ohms.then(|| ", leads included: I do not know what yours have".to_owned()),
        };
        let factor = self.judgement.estimate.as_ref().and_then(|it| it.factor);
        let factor = factor.filter(|factor| (factor - 1.0).abs() > 1e-9).map(|factor| {
            format!(". Copper has more resistance when warm: at the temperature of the range it would be {factor:.3} times that")
        });
        let parts = [
            Some(format!("you read {}", display(&self.raw))),
            over,
            leads,
            factor,
        ];
        parts.into_iter().flatten().collect::<String>() + "."
    }

    fn source(&self) -> String {
        match self.spec {
            Some(spec) if spec.basis == Basis::Manual => {
                "The range is the one you read out of your manual; it goes before any other.".to_owned()
            }
            Some(spec) if spec.basis == Basis::Need => {
                "The least flow is what an engine of that power burns at full throttle, at 300 g/kWh and 720 kg/m3; your manual's figure would go first.".to_owned()
            }
            Some(spec) => format!(
                "The range ({}) comes from: {}.",
                spec.conditions,
                spec.source.trim_end_matches('.')
            ),
            None => format!(
                "The limits come from: {}.",
                self.check.source.trim_end_matches('.')
            ),
        }
    }
}

/// The causes of the doubt in words, largest first.
fn doubts(receipt: &Receipt) -> String {
    let symbol = receipt.unit.symbol;
    let cause = |cause: &Cause| {
        let size = two_digits(cause.standard_uncertainty);
        format!("{} ({size})", origin(cause.origin))
    };
    let causes: Vec<String> = receipt.causes.iter().take(4).map(cause).collect();
    format!(
        "In 95 of 100 such cases the true value lies within ± {} {symbol}. What makes the doubt, largest first, as standard uncertainties in {symbol}: {}.",
        fixed(receipt.plus_minus, receipt.decimals),
        list(&causes)
    )
}

fn origin(origin: Origin) -> &'static str {
    match origin {
        Origin::Accuracy => "the meter's accuracy",
        Origin::OffsetDigits => "the last digit of the second reading",
        Origin::Rounding => "the last digit you gave",
        Origin::OffsetRounding => "the last digit you gave for the leads",
        Origin::Contact => "how well the probes touch",
        Origin::LeadsUnread => "leads not yet taken off",
        Origin::Range => "the range you gave",
        Origin::Temperature => "the temperature",
        Origin::Rest => "the battery's rest and temperature",
        Origin::NoLoad => "no load",
        Origin::Volume => "the volume",
        Origin::Duration => "the time",
    }
}

fn meter_used(told: Option<(f64, f64)>) -> String {
    match told {
        Some((percent, digits)) => {
            format!("I took your meter at the {percent} % + {digits} you told me.")
        }
        None => "I took your meter for a cheap hand-held: volts 0.5 % + 2 digits, amperes 1.5 % + 3, ohms 1 % + 1. If you know better, type for example \"my meter is 0.5 % + 2\".".to_owned(),
    }
}
