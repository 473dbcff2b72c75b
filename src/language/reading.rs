//! Which numbers are readings, of what kind, and which replace one said before.

mod bounds;
mod computed;
mod correction;
mod filling;
mod kind;
mod named;
mod out;
mod restated;
mod size;
mod spec;
mod turns;
mod twofold;
mod weigh;

use kind::is_kelvin;

use super::interpretation::{Context, Expecting, Interpretation, Reading, Said, Span};
use super::matching::{Hit, Text};
use super::moment;
use super::owner;
use super::quantity::Quantity;
use super::role::owned::compares;
use super::role::{Bound, Candidate, Elapsed, candidates, expected};
use super::scope::Scopes;
use super::whose::Whose;
use crate::knowledge::phrase::Unit;
use crate::quantity::Kind;

/// No weather is hotter, in degrees Celsius (WMO archive of weather extremes: 56.7).
const HOTTEST_AIR: f64 = 56.7;

/// No coolant or oil gauge of a running motorcycle shows more, in degrees Celsius (common practice, no source).
const HOTTEST_COOLANT: f64 = 130.0;

/// A number taken for a reading.
#[derive(Debug, Clone)]
pub struct Taken {
    /// Position of its quantity.
    pub at: usize,
    /// Position of its sentence.
    pub sentence: usize,
    /// What it is a number of.
    pub kind: Kind,
    /// What it says.
    pub reading: Reading,
}

/// Adds the readings, their other meanings and the spec of a message to what is understood.
pub fn readings(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
    found: &mut Interpretation,
) {
    let candidates = candidates(text, hits, scopes);
    let times = filling::times(text, &candidates);
    let whose = Whose::of(text, scopes);
    let sorter = Sorter {
        bare_pairs: filling::bare_pairs(text, &candidates),
        filling: filling::filling(&times),
        times,
        compares: compares(text) && !whose.helps(),
        whose,
        hits: by_sentence(hits, text.sentences.len()),
        text,
        scopes,
        expected: expected(context),
        heard: context.expecting == Some(Expecting::Heard),
        meter: found.meter.as_ref().map(|said| said.span.clone()),
        weights: weigh::weights(text, &candidates, context.expecting),
        candidates,
    };
    let mut taken = sorter.take();
    sorter.correct(&mut taken);
    sorter.join_bounds(&mut taken);
    moment::assign(text, hits, scopes, &mut taken);
    owner::assign(text, hits, &mut taken);
    sorter.reassign(&mut taken);
    sorter.drop_restated(&mut taken);
    sorter.drop_computed(&mut taken);
    found.amends = sorter.amends(&taken);
    for one in taken {
        let (span, strength) = (
            sorter.span(one.at),
            sorter.candidates[one.at].sense.strength,
        );
        found
            .ambiguous
            .extend(sorter.meanings(&one).map(|what| Said {
                what,
                span: span.clone(),
                strength,
            }));
        found.readings.push(Said {
            what: one.reading,
            span,
            strength,
        });
    }
    found.spec = sorter.spec();
}

/// The phrases of each sentence.
fn by_sentence<'x, 'a>(hits: &'x [Hit<'a>], sentences: usize) -> Vec<&'x [Hit<'a>]> {
    let mut all: Vec<&[Hit<'a>]> = vec![&[]; sentences];
    for beside in hits.chunk_by(|one, next| one.sentence == next.sentence) {
        all[beside[0].sentence] = beside;
    }
    all
}

struct Sorter<'x, 't, 'a> {
    text: &'x Text<'a>,
    /// By sentence.
    hits: Vec<&'x [Hit<'a>]>,
    scopes: &'x Scopes<'t, 'a>,
    expected: Option<Kind>,
    /// Whether the rider was asked to listen.
    heard: bool,
    /// Where the meter's own accuracy is told.
    meter: Option<Span>,
    candidates: Vec<Candidate>,
    /// By candidate: how far the signs around it speak for a reading; nothing where there are too many
    /// to be weighed, or nothing is known.
    weights: Vec<weigh::Weight>,
    /// By candidate: whether it is a volume in a time, or the time of one.
    filling: Vec<bool>,
    /// By candidate: the time of a volume.
    times: Vec<Option<usize>>,
    whose: Whose<'x, 't, 'a>,
    /// Whether both the rider's own bike and another are named.
    compares: bool,
    /// By candidate: what a bare number of a volume in a time is, where a flow was asked for.
    bare_pairs: Vec<Option<Kind>>,
}

impl Sorter<'_, '_, '_> {
    fn quantity(&self, candidate: &Candidate) -> &Quantity {
        &self.text.quantities[candidate.at]
    }

    /// Where a quantity stands in the message.
    fn span(&self, at: usize) -> Span {
        let tokens = &self.text.quantities[at].tokens;
        self.text.tokens[tokens.start].span.start..self.text.tokens[tokens.end - 1].span.end
    }

    fn take(&self) -> Vec<Taken> {
        let mut taken: Vec<Taken> = Vec::new();
        for candidate in self
            .candidates
            .iter()
            .filter(|candidate| !self.is_out(candidate) || self.must_be(candidate))
        {
            let kind = self.kind(candidate, &taken).filter(|&kind| {
                let stands = self.stands(candidate, kind);
                let listed = || self.is_volume_of_list(candidate, &taken);
                let may_be = || self.may_be(candidate, kind) || self.ends_pair(candidate, &taken);
                stands && may_be() || listed()
            });
            if let Some(kind) = kind {
                taken.push(Taken {
                    at: candidate.at,
                    sentence: candidate.sentence,
                    kind,
                    reading: self.reading(candidate, kind),
                });
            }
        }
        self.drop_lonely_times(&mut taken);
        taken
    }

    /// "250 ml in 30 s": whether it is the time right after a volume that is a reading.
    fn ends_pair(&self, candidate: &Candidate, taken: &[Taken]) -> bool {
        let paired = self.bare_pairs[candidate.at] == Some(Kind::Duration);
        let last = taken.last();
        let of_volume = |last: &Taken| last.kind == Kind::Volume && last.at + 1 == candidate.at;
        paired && last.is_some_and(of_volume)
    }

    /// "His gave 500 ml in 30 seconds": a time goes with its volume, where that is no reading.
    fn drop_lonely_times(&self, taken: &mut Vec<Taken>) {
        let read: Vec<usize> = taken.iter().map(|one| one.at).collect();
        let volumes = |time: usize| {
            let each = self.times.iter().enumerate();
            each.filter(move |(_, of)| **of == Some(time))
                .map(|(at, _)| at)
        };
        let lonely = |time: usize| {
            volumes(time).next().is_some() && !volumes(time).any(|at| read.contains(&at))
        };
        let asked = self.expected == Some(Kind::Duration);
        taken.retain(|one| one.kind != Kind::Duration || asked || !lonely(one.at));
    }

    /// Whether a number of that kind is a reading where it stands.
    fn stands(&self, candidate: &Candidate, kind: Kind) -> bool {
        let asked = self.expected == Some(kind);
        let article = self.quantity(candidate).article;
        let claimed = candidate.claimed || self.filling[candidate.at] || self.paired(candidate);
        // "a volt lower than the battery"
        if article
            && self
                .text
                .in_class(self.quantity(candidate).tokens.end, "comparing")
        {
            return false;
        }
        match kind {
            Kind::Duration => {
                let near =
                    candidate.at.saturating_sub(3)..(candidate.at + 4).min(self.candidates.len());
                let around = &self.candidates[near];
                let volume = |other: &Candidate| other.said == Some(Kind::Volume);
                let timed = self.filling[candidate.at] || around.iter().any(volume);
                // "the pump goes for a second"
                (claimed && (timed || !article))
                    || self.answers_a_time(candidate)
                    || self.is_same_time(candidate)
                    || (!article && self.is_surely(candidate))
                    || self.answers_beside(candidate)
            }
            Kind::Volume => {
                let timed = self.expected == Some(Kind::Flow);
                claimed
                    || self.is_at_a_mark(candidate)
                    || self.is_surely(candidate)
                    || self.answers_beside(candidate)
                    || (asked && self.is_measured(candidate))
                    || (timed && !article)
            }
            // "a litre per minute" is never just a word
            Kind::Flow => true,
            _ => claimed || !article || asked || candidate.bound.is_some(),
        }
    }

    /// "Left carb 60 cc, right carb 5 cc, centre carb 55 cc": a volume that goes on with two of its sentence, or
    /// with one where a volume was asked for.
    fn is_volume_of_list(&self, candidate: &Candidate, taken: &[Taken]) -> bool {
        let of_list = |last: &&Taken| {
            last.kind == Kind::Volume
                && last.sentence == candidate.sentence
                && self.text.quantities[last.at].unit == self.quantity(candidate).unit
        };
        let before = taken.iter().rev().take(2).filter(of_list).count();
        let enough = 2 - usize::from(self.expected == Some(Kind::Volume));
        candidate.said == Some(Kind::Volume) && before >= enough
    }

    /// Whether a flow or a volume was asked for, or a flow was told before, and this is half of a volume in a
    /// time: "half a litre in 25 seconds, second go 0.4 in 25".
    fn paired(&self, candidate: &Candidate) -> bool {
        let asked = matches!(self.expected, Some(Kind::Flow | Kind::Volume));
        let flow = asked || self.time_before(candidate).is_some();
        flow && self.bare_pairs[candidate.at].is_some()
    }

    /// Whether a time answers the question asked; "a second" only where it is measured off.
    fn answers_a_time(&self, candidate: &Candidate) -> bool {
        match self.expected {
            Some(Kind::Duration) => self.is_measured(candidate),
            Some(Kind::Flow) => !self.quantity(candidate).article && candidate.elapsed.is_none(),
            // "yes, 3 seconds and then off"
            None if self.heard => {
                let lasted = candidate.elapsed != Some(Elapsed::Wait);
                lasted && !self.quantity(candidate).article && !candidate.sense.negated
            }
            _ => false,
        }
    }

    /// Whether it is all that a short message says, where a volume or a time was asked for and this is the
    /// other of the two.
    fn answers_beside(&self, candidate: &Candidate) -> bool {
        const WORDS: usize = 5;
        let asked = matches!(self.expected, Some(Kind::Volume | Kind::Duration));
        let quantity = self.quantity(candidate);
        let words = self
            .text
            .tokens
            .iter()
            .filter(|token| token.plain().is_some());
        asked
            && quantity.unit.is_some()
            && !quantity.article
            && candidate.elapsed != Some(Elapsed::Wait)
            && self.candidates.len() == 1
            && words.count() <= WORDS
    }

    /// "2 seconds" or "about a second", and not just "a second".
    fn is_measured(&self, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let before = quantity.tokens.start.checked_sub(1);
        !quantity.article || before.is_none_or(|before| self.text.in_class(before, "roughly"))
    }

    fn reading(&self, candidate: &Candidate, kind: Kind) -> Reading {
        let quantity = self.quantity(candidate);
        let unit = self.unit(candidate, kind);
        let base = |value: f64| unit.map_or(value, |unit| unit.to_base(value));
        // "idle is 1.100": no engine turns once a minute
        let turns = quantity
            .otherwise
            .filter(|&turns| kind == Kind::Speed && turns > quantity.value);
        // "thirteen fifty" turns
        let spoken = kind == Kind::Speed && quantity.spelt && quantity.decimals == Some(2);
        let turns = turns.or(spoken.then_some((quantity.value * 100.0).round()));
        let mut quantity =
            turns.map_or_else(|| quantity.clone(), |turns| quantity.regrouped(turns));
        if kind == Kind::Temperature && is_kelvin(&quantity) {
            (quantity.value, quantity.scale) = (quantity.value / quantity.scale, 1.0);
        }
        let quantity = &quantity;
        let (value, low, high) = match (quantity.upper, candidate.bound) {
            (Some(upper), _) => (None, Some(base(quantity.value)), Some(base(upper))),
            (None, Some(Bound::Above)) => (None, None, Some(base(quantity.value))),
            (None, Some(Bound::Below)) => (None, Some(base(quantity.value)), None),
            (None, None) => (Some(base(quantity.value)), None, None),
        };
        let step = quantity.step();
        Reading {
            quantity: kind,
            value,
            low,
            high,
            said_unit: unit.map_or(kind.unit(), |unit| &unit.symbol).to_owned(),
            resolution: step.map(|step| unit.map_or(step, |unit| unit.step(step))),
            of: None,
            moment: None,
            special: None,
        }
    }

    /// The unit said, or that of a number beside it, or the one such numbers are usually in.
    fn unit(&self, candidate: &Candidate, kind: Kind) -> Option<&Unit> {
        /// Numbers looked back over for one whose unit is meant again.
        const BACK: usize = 4;
        /// Of numbers as they are written.
        const ALIKE: std::ops::Range<f64> = 0.2..5.0;
        let quantity = self.quantity(candidate);
        let units = &self.text.phrases.units;
        if kind == Kind::Temperature && is_kelvin(quantity) {
            return units.symbol("K");
        }
        let said = quantity
            .unit
            .map(|unit| units.unit(unit))
            .filter(|unit| unit.kind == kind)
            .map(
                |unit| match unit.twin.filter(|_| self.is_imperial(quantity)) {
                    Some(twin) => units.unit(twin),
                    None => unit,
                },
            );
        // nobody is out in 90 degrees Celsius
        let warm = said.is_some_and(|unit| unit.only_asked) && self.expected != Some(kind);
        let hottest = if self.is_engine_heat(candidate) {
            HOTTEST_COOLANT
        } else {
            HOTTEST_AIR
        };
        if warm && kind == Kind::Temperature && quantity.value > hottest {
            return units.symbol("degF");
        }
        let lent = || {
            let lends = |other: &Candidate| {
                let ratio = quantity.value / self.quantity(other).value;
                matches!(kind, Kind::Pressure | Kind::Temperature | Kind::Flow)
                    // "number 1 cap 5 kilohm, number 2 cap 5.1"
                    // and "12 minutes, then 9, then 7"
                    || matches!(kind, Kind::Resistance | Kind::Duration) && ALIKE.contains(&ratio)
            };
            let again = kind == Kind::Duration && self.paired(candidate);
            if again || self.is_same_time(candidate) {
                return Some(units.unit(self.quantity(self.time_before(candidate)?).unit?));
            }
            let of_kind = |other: &&Candidate| other.said == Some(kind);
            let before = || self.candidates[..candidate.at].iter().rev().take(BACK);
            let other = self
                .beside(candidate)
                .find(of_kind)
                .or_else(|| before().find(of_kind))
                .filter(|other| quantity.unit.is_none() && !quantity.kilo && lends(other))?;
            Some(units.unit(self.quantity(other).unit?))
        };
        said.or_else(lent)
            .or_else(|| units.bare(kind, quantity.value))
    }
}

#[cfg(test)]
mod tests;
