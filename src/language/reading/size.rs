//! Bare decimals of the size of a battery's voltage, which are volts where nothing else is measured.

use super::Sorter;
use crate::knowledge::phrase::Meaning;
use crate::language::owner::LEADS;
use crate::language::role::{Candidate, counts};
use crate::quantity::Kind;
use std::ops::RangeInclusive;

/// Volts of a twelve-volt battery, cranking, resting or charging (common practice, no source).
const BATTERY: RangeInclusive<f64> = 8.0..=15.5;

impl Sorter<'_, '_, '_> {
    /// "12.7 sitting, 11.2 winding over": decimals the size of a twelve-volt battery's voltage, where
    /// nothing else tells what they are of (common practice, no source).
    pub(super) fn by_size(&self, candidate: &Candidate) -> Option<Kind> {
        let quantity = self.quantity(candidate);
        let typed = quantity
            .decimals
            .is_some_and(|decimals| (1..=2).contains(&decimals));
        let sized = BATTERY.contains(&quantity.value.abs())
            && quantity.upper.is_none_or(|upper| BATTERY.contains(&upper));
        let other = counts(self.text, quantity) || self.is_price_or_date(candidate);
        let asked = self.text.sentences[candidate.sentence].asks && !candidate.claimed;
        let supposed = candidate.sense.supposed && !candidate.claimed;
        let told = self.expected.is_none() && !supposed && !asked;
        (told && typed && sized && !other).then_some(Kind::Voltage)
    }

    /// "Battery 12.6", whatever was asked: named right before a bare decimal of its size.
    pub(super) fn is_of_battery(&self, candidate: &Candidate) -> bool {
        const NEAR: usize = 2;
        let quantity = self.quantity(candidate);
        let start = quantity.tokens.start;
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let sized = BATTERY.contains(&quantity.value.abs());
        let mut before = start.saturating_sub(NEAR)..start;
        decimal && sized && before.any(|at| self.text.in_class(at, "battery"))
    }

    /// Whether a bare decimal is too small, or too large, for a battery's voltage.
    pub(super) fn is_no_batterys(&self, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        decimal && !BATTERY.contains(&quantity.value.abs())
    }

    /// "Leads 0.3", named right before a small number: nothing else of them is measured.
    pub(super) fn is_of_leads(&self, candidate: &Candidate) -> bool {
        const NEAR: usize = 2;
        /// No leads that still measure anything have more ohms than this (common practice, no source).
        const OHMS: f64 = 5.0;
        let quantity = self.quantity(candidate);
        let start = quantity.tokens.start;
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let hits = self.hits[candidate.sentence].iter();
        let before = hits.filter(|hit| {
            let near = hit.head.end <= start && start - hit.head.end < NEAR;
            matches!(hit.phrase.meaning, Meaning::Thing(_)) && near
        });
        let nearest = before.max_by_key(|hit| (hit.head.end, hit.used.len()));
        decimal
            && quantity.value.abs() < OHMS
            && nearest.is_some_and(|hit| match hit.phrase.meaning {
                Meaning::Thing(thing) => self.text.phrases.things[thing].id == LEADS,
                _ => false,
            })
    }

    /// "Receipts: relay 11.90, fuses 3.20": two digits after the point where prices are told.
    pub(super) fn is_price(&self, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let sentence = &self.text.sentences[candidate.sentence].tokens;
        quantity.unit.is_none()
            && quantity.decimals == Some(2)
            && !candidate.claimed
            && sentence.clone().any(|at| self.text.in_class(at, "pricing"))
    }

    /// Whether its sentence tells prices, or it stands like a date: "posted on 12.03."
    fn is_price_or_date(&self, candidate: &Candidate) -> bool {
        let start = self.quantity(candidate).tokens.start;
        let sentence = self.text.sentences[candidate.sentence].tokens.clone();
        let priced = self.text.tokens[sentence]
            .iter()
            .any(|token| ['£', '$', '€'].iter().any(|&mark| token.is(mark)));
        let before = start.checked_sub(1);
        let dated = before.is_some_and(|before| self.text.in_class(before, "dated-by"));
        priced || dated && !candidate.claimed
    }

    /// Whether bare decimals of a battery's size stand before it in its sentence, and it is no larger.
    pub(super) fn is_along_volts(&self, candidate: &Candidate) -> bool {
        /// Below this a bare number may as well be the ohms of what is named.
        const OHMS: f64 = 5.0;
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let before = self
            .beside(candidate)
            .take_while(|other| other.at < candidate.at);
        let largest = before
            .filter(|other| other.said.is_none_or(|said| said == Kind::Voltage))
            .filter(|other| self.by_size(other).is_some())
            .map(|other| self.quantity(other).value)
            .fold(0.0, f64::max);
        decimal && (OHMS..=largest).contains(&quantity.value)
    }
}
