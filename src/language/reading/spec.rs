//! The limits a manual gives, read out by the rider.

use super::Sorter;
use crate::language::interpretation::{Said, SpecSaid};
use crate::language::quantity::Give;
use crate::language::role::{Bound, Candidate};
use crate::quantity::Kind;

impl Sorter<'_, '_, '_> {
    /// The limits a manual gives.
    pub(super) fn spec(&self) -> Option<Said<SpecSaid>> {
        let mut spec: Option<Said<SpecSaid>> = None;
        for candidate in self
            .candidates
            .iter()
            .filter(|candidate| candidate.spec && !candidate.sense.foreign)
        {
            let Some(kind) = candidate
                .said
                .or_else(|| self.named_kind(candidate))
                .or(self.expected)
                .or_else(|| self.kind_beside(candidate))
                .or_else(|| self.quantity(candidate).kilo.then_some(Kind::Resistance))
                .or_else(|| self.kind_before(candidate))
            else {
                continue;
            };
            let (low, high) = self.limits(candidate, kind);
            let span = self.span(candidate.at);
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
                            celsius: self.celsius(candidate, kind),
                        },
                        span,
                        strength: 1.0,
                    });
                }
            }
        }
        spec
    }

    /// The temperature named in the sentence of a spec, which is the one it is given for.
    fn celsius(&self, spec: &Candidate, kind: Kind) -> Option<f64> {
        let of_it = |candidate: &&Candidate| {
            candidate.sentence == spec.sentence && candidate.said == Some(Kind::Temperature)
        };
        let named = self.candidates.iter().find(of_it)?;
        let unit = self.unit(named, Kind::Temperature)?;
        (kind != Kind::Temperature).then(|| unit.to_base(self.quantity(named).value))
    }

    fn limits(&self, candidate: &Candidate, kind: Kind) -> (Option<f64>, Option<f64>) {
        let quantity = self.quantity(candidate);
        let unit = self.unit(candidate, kind);
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
