//! What a number is a number of, by what is named beside it: a part, the leads, the mark of a vessel.

use super::Sorter;
use super::kind::plausible;
use crate::knowledge::phrase::{Meaning, Thing};
use crate::language::role::Candidate;
use crate::quantity::Kind;

impl Sorter<'_, '_, '_> {
    /// The kind that the meter's range or the thing measured gives to a bare number.
    pub(super) fn named_kind(&self, candidate: &Candidate) -> Option<Kind> {
        let range = self
            .beside(candidate)
            .find(|other| other.range && other.said.is_some());
        if let Some(range) = range {
            return range.said;
        }
        let quantity = self.quantity(candidate);
        let reach = if self.expected.is_some() { 4 } else { 8 };
        // "battery 12.6 V, leads 0.3, pump 3.1": ohms go on from those of the leads
        let before = candidate.at.checked_sub(1).map(|at| &self.candidates[at]);
        let leads = before
            .filter(|before| before.sentence == candidate.sentence && self.is_of_leads(before));
        let from = leads.map_or(0, |leads| self.quantity(leads).tokens.start);
        let mut near: Vec<(usize, Kind)> = Vec::new();
        let hits = self.hits[candidate.sentence].iter();
        for hit in hits.filter(|hit| leads.is_none() || hit.head.start >= from) {
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
            let when = self.is_only_when(thing, before);
            let asked = self.expected.is_some() || self.is_place(candidate);
            let weak = when || asked && !thing.state;
            if let Some(kind) = thing.kind.filter(|_| !weak && distance <= reach) {
                near.push((distance + usize::from(!before), kind));
            }
        }
        if self.is_of_battery(candidate) {
            return Some(Kind::Voltage);
        }
        if self.is_of_leads(candidate) || leads.is_some() && self.is_no_batterys(candidate) {
            return Some(Kind::Resistance);
        }
        near.sort();
        let kind = near.first()?.1;
        // "fuse 12.5, coil 7.1": volts go on along the wires, whatever the part is usually measured in
        let volts = self.is_along_volts(candidate) || self.is_at_a_part(candidate);
        if kind == Kind::Resistance && volts {
            return Some(Kind::Voltage);
        }
        plausible(kind, quantity.value).then_some(kind)
    }

    /// Whether a thing says when, and not of what, since something else was asked for: "0.6 with the key on". So
    /// does every voltage beside a pressure, but the one that names it first: "pump voltage is 12.2".
    fn is_only_when(&self, thing: &Thing, before: bool) -> bool {
        const MOMENT: &str = "moment";
        const VOLTS: &str = "volts";
        let volts = thing.kind == Some(Kind::Voltage);
        match self.expected {
            None | Some(Kind::Voltage) => false,
            Some(Kind::Pressure) => volts && !(before && thing.id == VOLTS),
            Some(_) => thing.id == MOMENT,
        }
    }

    /// Whether it numbers where a part was put: "the coil on 3".
    fn is_place(&self, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let before = quantity.tokens.start.checked_sub(1);
        quantity.is_count()
            && quantity.value <= 12.0
            && !candidate.claimed
            && before.is_some_and(|before| self.text.in_class(before, "onto-part"))
    }

    /// "11.4 at the coil": a battery's voltage that arrived there.
    fn is_at_a_part(&self, candidate: &Candidate) -> bool {
        let at = self.quantity(candidate).tokens.end;
        let article = usize::from(self.text.in_class(at + 1, "of-the-bike"));
        let told = self.text.in_class(at, "placed-at");
        let part = self.hits[candidate.sentence].iter().any(|hit| {
            matches!(hit.phrase.meaning, Meaning::Thing(_)) && hit.head.start == at + 1 + article
        });
        told && part && self.by_size(candidate).is_some()
    }

    /// "filled the 500 ml bottle to the 350 line": where a volume or a flow was asked for, or told, the mark of a
    /// vessel.
    pub(super) fn is_at_a_mark(&self, candidate: &Candidate) -> bool {
        let quantity = self.quantity(candidate);
        let volume = |kind: Option<Kind>| matches!(kind, Some(Kind::Volume | Kind::Flow));
        let told = || self.beside(candidate).any(|other| volume(other.said));
        quantity.unit.is_none()
            && quantity.is_whole()
            && !candidate.excluded
            && self.text.in_class(quantity.tokens.end, "fill-mark")
            && (volume(self.expected) || told())
    }
}
