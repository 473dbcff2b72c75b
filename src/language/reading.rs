//! Which numbers are readings, of what kind, and which replace one said before.

use super::interpretation::{Context, Interpretation, Reading, Said, SpecSaid};
use super::matching::{Hit, Text};
use super::owner;
use super::quantity::{Give, Quantity};
use super::role::{Bound, Candidate, candidates, expected, may_be_bare};
use super::scope::Scopes;
use crate::knowledge::phrase::{Cue, Meaning, Unit};
use crate::quantity::Kind;

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

/// Adds the readings and the spec of a message to what is understood.
pub fn readings(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
    found: &mut Interpretation,
) {
    let sorter = Sorter {
        text,
        hits,
        scopes,
        expected: expected(context),
        candidates: candidates(text, hits, scopes),
    };
    let mut taken = sorter.take();
    sorter.correct(&mut taken);
    owner::assign(text, hits, &mut taken);
    for one in taken {
        let tokens = &text.quantities[one.at].tokens;
        let span = text.tokens[tokens.start].span.start..text.tokens[tokens.end - 1].span.end;
        let strength = sorter.candidates[one.at].sense.strength;
        found.readings.push(Said {
            what: one.reading,
            span,
            strength,
        });
    }
    found.spec = sorter.spec();
}

struct Sorter<'x, 't, 'a> {
    text: &'x Text<'a>,
    hits: &'x [Hit<'a>],
    scopes: &'x Scopes<'t, 'a>,
    expected: Option<Kind>,
    candidates: Vec<Candidate>,
}

impl Sorter<'_, '_, '_> {
    fn quantity(&self, candidate: &Candidate) -> &Quantity {
        &self.text.quantities[candidate.at]
    }

    fn take(&self) -> Vec<Taken> {
        let mut taken: Vec<Taken> = Vec::new();
        for candidate in &self.candidates {
            if self.is_out(candidate) {
                continue;
            }
            let Some(kind) = self.kind(candidate, &taken) else {
                continue;
            };
            if self.stands(candidate, kind) {
                let reading = self.reading(candidate, kind);
                taken.push(Taken {
                    at: candidate.at,
                    sentence: candidate.sentence,
                    kind,
                    reading,
                });
            }
        }
        taken
    }

    fn is_out(&self, candidate: &Candidate) -> bool {
        let supposed = (candidate.sense.supposed || candidate.sense.conditional)
            && self.supposed_by_condition(candidate);
        candidate.excluded
            || candidate.replaced
            || candidate.sense.foreign
            || supposed
            || self.taken_back(candidate)
    }

    /// "if it reads 12 V" is no reading; "is 12 V all right?" is one.
    fn supposed_by_condition(&self, candidate: &Candidate) -> bool {
        let start = self.quantity(candidate).tokens.start;
        let before = |cue| {
            self.scopes
                .places(cue, candidate.sentence)
                .iter()
                .any(|place| place.end <= start)
        };
        before(Cue::Condition) || before(Cue::Possible) || before(Cue::If)
    }

    /// Whether the same number is said later to be wrong: "1.4, not 14" after "14".
    fn taken_back(&self, candidate: &Candidate) -> bool {
        let value = self.quantity(candidate).value;
        self.candidates[candidate.at..].iter().any(|later| {
            let other = self.quantity(later).value;
            later.replaced && later.at > candidate.at && (other - value).abs() < 1e-9
        })
    }

    /// What a number is a number of.
    fn kind(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        if candidate.said.is_some() {
            return candidate.said;
        }
        let quantity = self.quantity(candidate);
        if quantity.article {
            return None;
        }
        let named = self.named_kind(candidate);
        let corrected = taken
            .last()
            .filter(|last| self.corrects(last, candidate))
            .map(|last| last.kind);
        let like = || self.like_before(candidate, taken);
        let kind = named.or(corrected).or(self.expected).or_else(like)?;
        (corrected.is_some() || may_be_bare(self.text, quantity, kind)).then_some(kind)
    }

    /// The kind that the meter's range or the thing measured gives to a bare number.
    fn named_kind(&self, candidate: &Candidate) -> Option<Kind> {
        let range = self.candidates.iter().find(|other| {
            other.range && other.sentence == candidate.sentence && other.said.is_some()
        });
        if let Some(range) = range {
            return range.said;
        }
        let quantity = self.quantity(candidate);
        let mut near: Vec<(usize, Kind)> = Vec::new();
        for hit in self
            .hits
            .iter()
            .filter(|hit| hit.sentence == candidate.sentence)
        {
            let Meaning::Thing(thing) = hit.phrase.meaning else {
                continue;
            };
            let thing = &self.text.phrases.things[thing];
            let before = hit.head.end <= quantity.tokens.start;
            let distance = if before {
                quantity.tokens.start - hit.head.end
            } else {
                hit.head.start.saturating_sub(quantity.tokens.end)
            };
            let weak = self.expected.is_some() && !thing.state;
            if let Some(kind) = thing.kind.filter(|_| !weak && distance <= 8) {
                near.push((distance + usize::from(!before), kind));
            }
        }
        near.sort();
        let kind = near.first()?.1;
        plausible(kind, quantity.value).then_some(kind)
    }

    /// A bare number beside a reading with a unit is of the same kind: "12.7 V resting, 10.1 cranking".
    fn like_before(&self, candidate: &Candidate, taken: &[Taken]) -> Option<Kind> {
        let quantity = self.quantity(candidate);
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        let with_unit = |other: &&Candidate| {
            let near = other.sentence.abs_diff(candidate.sentence) <= 1;
            near && other.at != candidate.at
                && other.said.is_some()
                && !other.excluded
                && other.at.abs_diff(candidate.at) == 1
        };
        let beside = self
            .candidates
            .iter()
            .find(with_unit)
            .and_then(|other| other.said);
        let before = taken
            .last()
            .filter(|last| last.sentence == candidate.sentence)
            .map(|last| last.kind);
        let kind = before.or(beside)?;
        ((decimal || candidate.claimed)
            && !matches!(kind, Kind::Duration)
            && plausible(kind, quantity.value))
        .then_some(kind)
    }

    /// Whether a number of that kind is a reading where it stands.
    fn stands(&self, candidate: &Candidate, kind: Kind) -> bool {
        let asked = self.expected == Some(kind);
        let article = self.quantity(candidate).article;
        match kind {
            Kind::Duration => {
                (asked && !article) || candidate.claimed || self.fills(candidate, Kind::Volume)
            }
            Kind::Volume => {
                ((asked || self.expected == Some(Kind::Flow)) && !article)
                    || candidate.claimed
                    || self.fills(candidate, Kind::Duration)
            }
            _ => !article || asked || candidate.claimed || candidate.bound.is_some(),
        }
    }

    /// Whether a number of the other kind stands beside it: a volume in a time.
    fn fills(&self, candidate: &Candidate, other: Kind) -> bool {
        let article = self.quantity(candidate).article;
        self.candidates.iter().any(|beside| {
            beside.said == Some(other)
                && beside.sentence == candidate.sentence
                && beside.at.abs_diff(candidate.at) <= 2
                && !beside.excluded
                && !(article
                    && self.quantity(beside).article
                    && beside.at.abs_diff(candidate.at) > 1)
                && self.in_time(candidate, beside)
        })
    }

    /// Whether a word like "in" or "took" stands between or just before the two numbers.
    fn in_time(&self, one: &Candidate, other: &Candidate) -> bool {
        let (a, b) = (&self.quantity(one).tokens, &self.quantity(other).tokens);
        let (start, end) = (a.start.min(b.start), a.end.max(b.end));
        let from = start
            .saturating_sub(6)
            .max(self.text.sentences[one.sentence].tokens.start);
        (from..end).any(|at| self.text.in_class(at, "intime")) && end - start <= 20
    }

    fn reading(&self, candidate: &Candidate, kind: Kind) -> Reading {
        let quantity = self.quantity(candidate);
        let unit = self.unit(quantity, kind);
        let base = |value: f64| unit.map_or(value, |unit| unit.to_base(value));
        let (value, low, high) = match (quantity.upper, candidate.bound) {
            (Some(upper), _) => (None, Some(base(quantity.value)), Some(base(upper))),
            (None, Some(Bound::Above)) => (None, None, Some(base(quantity.value))),
            (None, Some(Bound::Below)) => (None, Some(base(quantity.value)), None),
            (None, None) => (Some(base(quantity.value)), None, None),
        };
        let step = quantity
            .decimals
            .and_then(|decimals| i32::try_from(decimals).ok())
            .map(|decimals| 10_f64.powi(-decimals));
        Reading {
            quantity: kind,
            value,
            low,
            high,
            said_unit: unit.map_or(kind.unit(), |unit| &unit.symbol).to_owned(),
            resolution: step.map(|step| unit.map_or(step, |unit| unit.step(step))),
            of: None,
            special: None,
        }
    }

    fn unit(&self, quantity: &Quantity, kind: Kind) -> Option<&Unit> {
        let units = &self.text.phrases.units;
        let said = quantity
            .unit
            .map(|unit| units.unit(unit))
            .filter(|unit| unit.kind == kind);
        said.or_else(|| units.bare(kind, quantity.value))
    }

    /// Whether "no wait", "sorry", "I mean" stands between the two numbers.
    fn corrects(&self, last: &Taken, candidate: &Candidate) -> bool {
        let from = self.text.quantities[last.at].tokens.end;
        let to = self.quantity(candidate).tokens.start;
        let near = candidate.sentence - last.sentence <= 2;
        near && (last.sentence..=candidate.sentence).any(|sentence| {
            self.scopes
                .places(Cue::Correction, sentence)
                .iter()
                .any(|place| place.start >= from && place.end <= to && to - place.end <= 6)
        })
    }

    /// Lets each corrected value replace the one it corrects.
    fn correct(&self, taken: &mut Vec<Taken>) {
        let mut at = 1;
        while at < taken.len() {
            let candidate = &self.candidates[taken[at].at];
            let before = (0..at)
                .rev()
                .find(|&before| taken[before].kind == taken[at].kind);
            match before.filter(|&before| self.corrects(&taken[before], candidate)) {
                Some(before) => {
                    taken[at].reading.of = taken[before].reading.of.clone();
                    taken.remove(before);
                }
                None => at += 1,
            }
        }
    }

    /// The limits a manual gives.
    fn spec(&self) -> Option<Said<SpecSaid>> {
        let mut spec: Option<Said<SpecSaid>> = None;
        for candidate in self
            .candidates
            .iter()
            .filter(|candidate| candidate.spec && !candidate.sense.foreign)
        {
            let quantity = self.quantity(candidate);
            let Some(kind) = candidate
                .said
                .or_else(|| self.named_kind(candidate))
                .or(self.expected)
            else {
                continue;
            };
            let (low, high) = self.limits(candidate, kind);
            let tokens = &quantity.tokens;
            let span = self.text.tokens[tokens.start].span.start
                ..self.text.tokens[tokens.end - 1].span.end;
            match &mut spec {
                Some(said) if said.what.quantity == kind => {
                    said.what.low = said.what.low.or(low);
                    said.what.high = said.what.high.or(high);
                    said.span.end = span.end;
                }
                Some(_) => {}
                None => {
                    spec = Some(Said {
                        what: SpecSaid {
                            quantity: kind,
                            low,
                            high,
                        },
                        span,
                        strength: 1.0,
                    });
                }
            }
        }
        spec
    }

    fn limits(&self, candidate: &Candidate, kind: Kind) -> (Option<f64>, Option<f64>) {
        let quantity = self.quantity(candidate);
        let unit = self.unit(quantity, kind);
        let base = |value: f64| unit.map_or(value, |unit| unit.to_base(value));
        let by = match quantity.give {
            Some(Give::By(by)) => by,
            Some(Give::Share(share)) => quantity.value * share,
            None => 0.0,
        };
        match (quantity.upper, candidate.bound) {
            (Some(upper), _) => (Some(base(quantity.value)), Some(base(upper))),
            (None, Some(Bound::Above)) => (None, Some(base(quantity.value))),
            (None, Some(Bound::Below)) => (Some(base(quantity.value)), None),
            (None, None) => (
                Some(base(quantity.value - by)),
                Some(base(quantity.value + by)),
            ),
        }
    }
}

/// Whether a number can be a reading of that kind on a motorcycle.
fn plausible(kind: Kind, value: f64) -> bool {
    let value = value.abs();
    match kind {
        Kind::Voltage => !(20.0..=5_000.0).contains(&value),
        Kind::Current => value < 60.0,
        Kind::Speed => (200.0..20_000.0).contains(&value),
        _ => true,
    }
}
