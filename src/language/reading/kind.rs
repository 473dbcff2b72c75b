//! What a number is a number of: by its unit, the thing beside it, the question, or its neighbours.

use super::{Sorter, Taken};
use crate::knowledge::phrase::{DisplayWord, Meaning};
use crate::language::owner;
use crate::language::quantity::Quantity;
use crate::language::role::{Candidate, is_pronoun, may_be_bare};
use crate::quantity::Kind;

impl Sorter<'_, '_, '_> {
    /// What a number is a number of.
    pub(super) fn kind(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        let quantity = self.quantity(candidate);
        if let Some(kind) = candidate.said {
            let unit = quantity.unit.map(|unit| self.text.phrases.units.unit(unit));
            let only_asked = unit.is_some_and(|unit| unit.only_asked);
            let meant = self.expected == Some(kind)
                || self.is_weather(candidate, kind)
                || self.is_heat_of_part(candidate, kind)
                || is_second_heat(candidate, kind, taken);
            return (!only_asked || meant).then_some(kind);
        }
        if quantity.article {
            return None;
        }
        if self.paired(candidate) {
            return self.bare_pairs[candidate.at];
        }
        let put_right = self.kind_put_right(candidate);
        if let Some(kind) = put_right.filter(|&kind| plausible(kind, quantity.value)) {
            return Some(kind);
        }
        if self.turns(candidate, taken) {
            return Some(Kind::Speed);
        }
        if self.is_at_a_mark(candidate) {
            return Some(Kind::Volume);
        }
        if self.is_same_time(candidate) {
            return Some(Kind::Duration);
        }
        let corrected = taken
            .last()
            .filter(|last| self.corrects(last, candidate))
            .map(|last| last.kind);
        let kind = if quantity.kilo {
            self.thousands(candidate, corrected, taken)
        } else if let Some(kind) = self.surely_of(candidate) {
            Some(kind)
        } else {
            self.changed(candidate, taken)
                .or_else(|| self.second_pressure(candidate, taken))
                .or_else(|| self.named_kind(candidate))
                .or(corrected)
                .or(self.expected)
                .or_else(|| self.like_before(candidate, taken))
                .or_else(|| self.set_before(candidate))
                .or_else(|| self.beside_overload(candidate))
                .or_else(|| self.goes_on(candidate, taken))
                .or_else(|| self.by_size(candidate))
                .or_else(|| self.as_the_last(candidate, taken))
                .or_else(|| self.likely_of(candidate))
        }?;
        let filled =
            kind == Kind::Flow && self.beside(candidate).any(|other| self.filling[other.at]);
        let corrects = corrected.is_some() && !is_pronoun(self.text, quantity);
        (corrects || may_be_bare(self.text, quantity, kind))
            .then_some(kind)
            .filter(|_| !filled)
    }

    /// "35 degrees outside", "coolant at 92 degrees": words for the weather or for what gets hot stand
    /// beside it.
    pub(super) fn is_weather(&self, candidate: &Candidate, kind: Kind) -> bool {
        kind == Kind::Temperature
            && (self.is_near(candidate, "weather") || self.is_engine_heat(candidate))
    }

    /// "2.4 k at 20 degrees": how warm a part was whose resistance is told.
    fn is_heat_of_part(&self, candidate: &Candidate, kind: Kind) -> bool {
        /// Tokens between the two.
        const NEAR: usize = 5;
        let before = self.quantity(candidate).tokens.start.checked_sub(1);
        let at = before.is_some_and(|before| self.text.in_class(before, "at-heat"));
        let ohms = |other: &Candidate| {
            let resistance = other.said == Some(Kind::Resistance) || self.quantity(other).kilo;
            let (one, two) = (self.quantity(other), self.quantity(candidate));
            let (first, second) = if other.at < candidate.at {
                (one, two)
            } else {
                (two, one)
            };
            let mut between = first.tokens.end..second.tokens.start;
            let near = between.len() <= NEAR && !between.any(|at| self.text.in_class(at, "joiner"));
            resistance && !other.excluded && near
        };
        let last = candidate.at.checked_sub(1);
        let mut beside = [last, Some(candidate.at + 1)].into_iter().flatten();
        let told = beside.any(|at| self.candidates.get(at).is_some_and(ohms));
        kind == Kind::Temperature && at && told
    }

    /// Whether words for what gets hot stand beside a number, and none for the weather.
    pub(super) fn is_engine_heat(&self, candidate: &Candidate) -> bool {
        self.is_near(candidate, "warming") && !self.is_near(candidate, "weather")
    }

    /// Whether a word of the class stands beside a number, in its sentence.
    fn is_near(&self, candidate: &Candidate, class: &str) -> bool {
        const NEAR: usize = 6;
        let tokens = &self.quantity(candidate).tokens;
        let sentence = &self.text.sentences[candidate.sentence].tokens;
        let from = tokens.start.saturating_sub(NEAR).max(sentence.start);
        let mut beside = from..(tokens.end + NEAR).min(sentence.end);
        beside.any(|at| self.text.in_class(at, class))
    }

    /// "180 ml in 30 sec, then 175 ml in the same 30": a bare time after a volume, where one with a unit
    /// was told before.
    pub(super) fn is_same_time(&self, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let before = candidate.at.checked_sub(1).map(|at| &self.candidates[at]);
        let Some(volume) = before.filter(|before| before.said == Some(Kind::Volume)) else {
            return false;
        };
        let mut between = self.quantity(volume).tokens.end..quantity.tokens.start;
        let joins = |at: usize| self.text.in_class(at, "intime");
        let passes =
            |at: usize| joins(at) || self.text.is_filler(at) || self.text.in_class(at, "same-time");
        quantity.is_count()
            && (1..=4).contains(&between.len())
            && between.clone().all(passes)
            && between.any(joins)
            && self.time_before(candidate).is_some()
    }

    /// The time of a volume, with its unit, told before.
    pub(super) fn time_before(&self, candidate: &Candidate) -> Option<&Candidate> {
        const BACK: usize = 8;
        let mut before = self.candidates[..candidate.at].iter().rev().take(BACK);
        before.find(|other| other.said == Some(Kind::Duration) && self.filling[other.at])
    }

    /// "0.6 between the yellows, OL to the frame": a bare number beside a display out of range.
    fn beside_overload(&self, candidate: &Candidate) -> Option<Kind> {
        /// No leads have more ohms than this that still measure anything (common practice, no source).
        const OHMS: f64 = 5.0;
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let out_of_range =
            self.hits[candidate.sentence]
                .iter()
                .any(|hit| match hit.phrase.meaning {
                    Meaning::Display(display) => display == DisplayWord::Overload,
                    // "A to B 0.7, and the probes shorted out are 0.3"
                    Meaning::Thing(thing) => {
                        let thing = &self.text.phrases.things[thing];
                        let of_leads =
                            thing.kind == Some(Kind::Resistance) || quantity.value < OHMS;
                        thing.id == owner::LEADS && of_leads
                    }
                    _ => false,
                });
        (out_of_range && (decimal || candidate.claimed)).then_some(Kind::Resistance)
    }

    /// A bare number beside a reading with a unit is of the same kind: "12.7 V resting, 10.1 cranking".
    fn like_before(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        /// Readings looked back over for volts.
        const NEAR: usize = 3;
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let next_to = |at: usize| self.candidates.get(at);
        let before = |back| candidate.at.checked_sub(back);
        // "65 A and 10.9", where volts were told before
        let volts =
            |last: &&Taken| last.kind == Kind::Voltage && candidate.sentence - last.sentence <= 1;
        if self.by_size(candidate).is_some() && taken.iter().rev().take(NEAR).any(|t| volts(&t)) {
            return Some(Kind::Voltage);
        }
        let around = [before(1), Some(candidate.at + 1), before(2)];
        let with_unit = |other: &&Candidate| {
            let near = other.sentence.abs_diff(candidate.sentence) <= 1;
            // "12 V 8 Ah, reads 12.9": a rating tells the kind of what is read
            let rated = candidate.claimed && other.said != Some(Kind::Current);
            let tells = !other.excluded || (rated && (decimal || other.spec));
            near && other.said.is_some() && tells
        };
        let mut beside = around.into_iter().flatten().filter_map(next_to);
        let beside = beside.find(with_unit).filter(|other| {
            other.sentence == candidate.sentence || self.by_size(candidate).is_none()
        });
        let beside = beside.and_then(|other| other.said);
        // "13.6 V at 3k revs, 12.4 at idle": the last that it can be
        let before = taken
            .iter()
            .rev()
            .take_while(|last| last.sentence == candidate.sentence)
            .find(|last| plausible(last.kind, quantity.value));
        let kind = before.map(|last| last.kind).or(beside)?;
        let linked = before.is_some_and(|last| {
            self.follows_on(last, quantity) || self.pairs_with(last, candidate)
        });
        ((decimal || candidate.claimed || linked)
            && !matches!(kind, Kind::Duration)
            && plausible(kind, quantity.value))
        .then_some(kind)
    }

    /// "2.9 bar with the key on, drops to 2.4": what a reading with a unit becomes is of its kind.
    fn changed(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        const VERB: usize = 3;
        let last = taken
            .last()
            .filter(|last| candidate.sentence - last.sentence <= 1)?;
        let said = self.candidates[last.at].said.unwrap_or(last.kind);
        let start = self.quantity(candidate).tokens.start;
        let to = start.checked_sub(1)?;
        let from = to
            .saturating_sub(VERB)
            .max(self.text.quantities[last.at].tokens.end)
            .max(self.text.sentences[candidate.sentence].tokens.start);
        let onto = self.text.in_class(to, "arriving");
        let changes = onto
            && (from..to)
                .any(|at| self.text.in_class(at, "changes") || self.text.in_class(at, "moving"));
        let fits = said != Kind::Duration && plausible(said, self.quantity(candidate).value);
        (changes && fits).then_some(said)
    }

    /// "I put the meter on ohms. The pump gives 2.1.": what was measured is told a little before.
    fn set_before(&self, candidate: &Candidate) -> Option<Kind> {
        const BACK: usize = 3;
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let from = candidate.sentence.saturating_sub(BACK);
        let kind = (from..candidate.sentence).rev().find_map(|sentence| {
            self.hits[sentence]
                .iter()
                .rev()
                .find_map(|hit| match hit.phrase.meaning {
                    Meaning::Thing(thing) if self.text.phrases.things[thing].state => {
                        self.text.phrases.things[thing].kind
                    }
                    _ => None,
                })
        })?;
        let fits = plausible(kind, quantity.value);
        // "Does the idle hunt? Mine goes between 1100 and 1500."
        let told = match kind {
            Kind::Speed => quantity.upper.is_some(),
            _ => decimal || candidate.claimed,
        };
        (fits && told).then_some(kind)
    }

    /// "The battery has 12.6. With the key on 12.1.": what the last reading was of, where nothing else that
    /// is measured is named.
    fn goes_on(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        /// Below this a bare number may as well be the ohms of what is named.
        const OHMS: f64 = 5.0;
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let last = taken
            .last()
            .filter(|last| candidate.sentence - last.sentence <= 1)?;
        let of_other = || {
            self.hits[candidate.sentence].iter().any(|hit| {
                let Meaning::Thing(thing) = hit.phrase.meaning else {
                    return false;
                };
                let thing = &self.text.phrases.things[thing];
                let open = last.kind == Kind::Voltage;
                thing.kind.map_or(open, |kind| kind != last.kind)
            })
        };
        let measured = matches!(
            last.kind,
            Kind::Voltage | Kind::Pressure | Kind::Resistance | Kind::Current
        );
        // "coolant hit 118 degrees. Once it was back at 85 it fired."
        if last.kind == Kind::Temperature {
            return self.pairs_with(last, candidate).then_some(last.kind);
        }
        let large = last.kind == Kind::Voltage && quantity.value.abs() >= OHMS;
        let fits = measured && plausible(last.kind, quantity.value) && (large || !of_other());
        (self.expected.is_none() && (decimal || candidate.claimed) && fits).then_some(last.kind)
    }

    /// A bare number that is surely a reading is of what was measured last; a volume only where it is of
    /// about the same size: "300 ml in a minute on ON and 310 on RES".
    fn as_the_last(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        const BACK: usize = 2;
        let timed = |last: &&Taken| self.filling[last.at] && last.kind == Kind::Duration;
        let mut before = taken.iter().rev();
        let last = before
            .find(|last| !timed(last))
            .filter(|last| candidate.sentence - last.sentence <= BACK)?;
        let value = self.quantity(candidate).value;
        let fits = match last.kind {
            Kind::Duration | Kind::Flow => false,
            Kind::Volume => (0.1..10.0).contains(&(value / self.text.quantities[last.at].value)),
            kind => plausible(kind, value),
        };
        (fits && self.is_surely(candidate)).then_some(last.kind)
    }

    /// "2.8 bar key on, 2.5 idling": the words between say when, and a pressure goes on.
    fn second_pressure(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        /// How far a pressure of the same line may be from another.
        const ALIKE: std::ops::Range<f64> = 0.4..2.5;
        let quantity = self.quantity(candidate);
        let last = taken
            .last()
            .filter(|last| last.sentence == candidate.sentence && last.kind == Kind::Pressure)?;
        let first = &self.text.quantities[last.at];
        let decimal = |one: &Quantity| one.decimals.is_some_and(|decimals| decimals > 0);
        let alike = ALIKE.contains(&(quantity.value / first.value));
        let part = self.hits[candidate.sentence].iter().any(|hit| {
            let Meaning::Thing(thing) = hit.phrase.meaning else {
                return false;
            };
            let thing = &self.text.phrases.things[thing];
            !thing.state && thing.kind.is_some_and(|kind| kind != Kind::Pressure)
        });
        (decimal(quantity) && decimal(first) && alike && !part).then_some(Kind::Pressure)
    }

    /// "38 psi with the key on, and 36 once it idles": a second pressure of about the same size.
    fn pairs_with(&self, last: &Taken, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let first = self.text.quantities[last.at].value;
        let alike = (0.2..5.0).contains(&(quantity.value / first));
        let heat = last.kind == Kind::Temperature && self.is_near(candidate, "warming");
        let whole = quantity.decimals == Some(0) && quantity.unit.is_none() && !quantity.spelt;
        (last.kind == Kind::Pressure || heat) && whole && alike
    }

    /// "bleeds from 40 psi to 25": the second number goes on from the first.
    fn follows_on(&self, last: &Taken, quantity: &Quantity) -> bool {
        let start = quantity.tokens.start;
        let between = self.text.quantities[last.at].tokens.end..start;
        between.len() <= 4
            && between
                .into_iter()
                .any(|at| self.text.in_class(at, "onward"))
    }

    /// The kind of the only unit said in the same sentence.
    pub(super) fn kind_beside(&self, candidate: &Candidate) -> Option<Kind> {
        let mut kinds: Vec<Kind> = self
            .beside(candidate)
            .filter(|other| !other.excluded || other.spec)
            .filter_map(|other| other.said)
            .collect();
        kinds.dedup();
        match kinds.as_slice() {
            [only] => Some(*only),
            _ => None,
        }
    }

    /// The kind of the last unit said in the sentence or the two before: "38 psi. The spec is 41 to 47."
    pub(super) fn kind_before(&self, candidate: &Candidate) -> Option<Kind> {
        const BACK: usize = 2;
        let before = self.candidates[..candidate.at].iter().rev();
        before
            .take_while(|other| candidate.sentence - other.sentence <= BACK)
            .filter_map(|other| other.said)
            .find(|kind| *kind != Kind::Duration)
    }

    /// The candidates of the same sentence.
    pub(super) fn beside(&self, candidate: &Candidate) -> impl Iterator<Item = &Candidate> {
        let sentence = candidate.sentence;
        let from = self
            .candidates
            .partition_point(|other| other.sentence < sentence);
        self.candidates[from..]
            .iter()
            .take_while(move |other| other.sentence == sentence)
    }
}

/// "Engine body 96 degree celsius, carburettor bowl 58 degree": a temperature beside another.
fn is_second_heat(candidate: &Candidate, kind: Kind, taken: &[Taken]) -> bool {
    let beside = |last: &Taken| last.kind == kind && last.sentence == candidate.sentence;
    kind == Kind::Temperature && taken.last().is_some_and(beside)
}

/// Whether the letter `k` after a number may stand for kelvin.
pub(super) fn is_kelvin(quantity: &Quantity) -> bool {
    quantity.kilo && (200.0..900.0).contains(&(quantity.value / quantity.scale))
}

/// Whether a number can be a reading of that kind on a motorcycle.
pub(super) fn plausible(kind: Kind, value: f64) -> bool {
    let value = value.abs();
    match kind {
        Kind::Voltage => !(20.0..=5_000.0).contains(&value),
        Kind::Current => value < 60.0,
        Kind::Speed => (200.0..20_000.0).contains(&value),
        _ => true,
    }
}
