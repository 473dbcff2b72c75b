//! Thousands without a unit: the engine's turns, or ohms.

use super::kind::is_kelvin;
use super::{Sorter, Taken};
use crate::language::role::{Bound, Candidate};
use crate::quantity::Kind;
use std::ops::RangeInclusive;

/// Turns a minute at which an engine runs (common practice, no source).
const TURNS: RangeInclusive<f64> = 500.0..=16_000.0;

impl Sorter<'_, '_, '_> {
    /// "14.1 at 4000", "hold 2500 and it's 13.9": where a voltage is asked for, so many hundreds or thousands are
    /// the engine's turns.
    pub(super) fn turns(&self, candidate: &Candidate, taken: &[Taken]) -> bool {
        const NEAR: usize = 5;
        /// Readings looked back over for other turns.
        const BACK: usize = 2;
        let quantity = self.quantity(candidate);
        let plausible = TURNS.contains(&quantity.value);
        if self.expected != Some(Kind::Voltage) || !quantity.is_count() || !plausible {
            return false;
        }
        let start = quantity.tokens.start;
        let last = taken.last().map(|last| &self.text.quantities[last.at]);
        let from = last.map_or(0, |last| last.tokens.end);
        let mut before = start.saturating_sub(NEAR).max(from)..start;
        let turning = start > 0 && self.text.in_class(start - 1, "turning");
        let mut lately = taken.iter().rev().take(BACK);
        lately.any(|one| one.kind == Kind::Speed)
            || turning && quantity.value >= 1_000.0
            || before.any(|at| self.text.in_class(at, "held-at-turns"))
    }

    /// What "4k" is: a speed where one is asked for or something turns at it, else a resistance where
    /// that fits.
    pub(super) fn thousands(
        &self,
        candidate: &Candidate,
        corrected: Option<Kind>,
        taken: &[Taken],
    ) -> Option<Kind> {
        let quantity = self.quantity(candidate);
        let fits = |kind: &Kind| matches!(kind, Kind::Resistance | Kind::Speed);
        let before = quantity.tokens.start.checked_sub(1);
        // "won't go past 6k" is what the engine reaches
        let reached = candidate.bound == Some(Bound::Above)
            && before.is_some_and(|before| self.text.in_class(before, "beyond"));
        let word = quantity.tokens.end - 1;
        let turns = self.text.in_class(word, "thousands-of-turns")
            || before.is_some_and(|before| self.text.in_class(before, "turning"));
        let turning = (reached || self.measured_beside(candidate))
            && (1_000.0..=16_000.0).contains(&quantity.value)
            && turns;
        let typed = quantity.decimals.is_some_and(|decimals| decimals > 0) || candidate.claimed;
        let ohms = || {
            let mut beside = self.beside(candidate);
            let resistance = |other: &Candidate| other.said == Some(Kind::Resistance);
            // "Coil resistance 4.0 ohm. HT side 15k."
            let before = taken.last().is_some_and(|last| {
                last.kind == Kind::Resistance && candidate.sentence - last.sentence <= 1
            });
            (typed || before || beside.any(resistance)).then_some(Kind::Resistance)
        };
        // "295 K" is a temperature, whatever else a K may be
        if self.expected == Some(Kind::Temperature) {
            return is_kelvin(quantity).then_some(Kind::Temperature);
        }
        let asked = self.expected.filter(fits);
        let named = self.named_kind(candidate).filter(fits);
        let speed = turning.then_some(Kind::Speed);
        asked.or(named).or(corrected).or(speed).or_else(ohms)
    }

    /// Whether something was measured at those turns: "14.1 at 4k", and not "it dies above 5k".
    fn measured_beside(&self, candidate: &Candidate) -> bool {
        let measured = |other: &Candidate| {
            let quantity = self.quantity(other);
            let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
            let kind = other
                .said
                .filter(|kind| !matches!(kind, Kind::Speed | Kind::Duration));
            other.at != candidate.at && (kind.is_some() || decimal || other.claimed)
        };
        self.expected.is_some() || self.beside(candidate).any(measured)
    }
}
