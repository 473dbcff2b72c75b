//! Which numbers are no readings: supposed, another bike's, a time that passed, taken back.

use super::Sorter;
use crate::knowledge::phrase::Cue;
use crate::language::display;
use crate::language::role::owned::{Owner, compared};
use crate::language::role::{Candidate, Elapsed};
use crate::quantity::Kind;

impl Sorter<'_, '_, '_> {
    /// Whether something says that a number is no reading of the rider's own bike as it is.
    pub(super) fn is_out(&self, candidate: &Candidate) -> bool {
        let supposed = (candidate.sense.supposed || candidate.sense.conditional)
            && self.supposed_by_condition(candidate);
        let quantity = self.quantity(candidate);
        let lone = self.expected == Some(Kind::Resistance) && display::is_lone(self.text, quantity);
        let start = self.span(candidate.at).start;
        let of_meter = self
            .meter
            .as_ref()
            .is_some_and(|meter| meter.contains(&start));
        candidate.excluded
            || self.is_price(candidate)
            || candidate.replaced && !self.follows_a_no(candidate)
            || self.is_anothers(candidate)
            || supposed
            || lone
            || of_meter
            || self.is_other_time(candidate)
            || self.taken_back(candidate)
    }

    /// Whether it was measured on another bike: where both are named, the clause of the number tells.
    fn is_anothers(&self, candidate: &Candidate) -> bool {
        match self.compared(candidate) {
            Some(owner) => owner == Owner::Another,
            None => candidate.sense.foreign && self.whose.is_anothers(candidate.sentence),
        }
    }

    /// Whether the clause of a number names another bike, where the rider's own is named as well.
    pub(super) fn is_named_anothers(&self, candidate: &Candidate) -> bool {
        self.compared(candidate) == Some(Owner::Another)
    }

    /// Whose a number is by its clause, where both bikes are named.
    fn compared(&self, candidate: &Candidate) -> Option<Owner> {
        compared(self.text, &self.quantity(candidate).tokens, self.compares)
    }

    /// Whether it is a time that passed, and not the time of what was measured.
    fn is_other_time(&self, candidate: &Candidate) -> bool {
        let timed = matches!(
            self.expected,
            Some(Kind::Duration | Kind::Flow | Kind::Volume)
        );
        let filling = self.filling[candidate.at] || candidate.claimed || self.paired(candidate);
        let asked = self.expected == Some(Kind::Duration);
        match candidate.elapsed {
            _ if self.quantity(candidate).clock => !timed,
            Some(Elapsed::Wait) => !filling,
            Some(Elapsed::Lapse) => !(filling || asked),
            None => false,
        }
    }

    /// "if it reads 12 V" is no reading; "is 12 V all right?" and "never goes above 13 V" are.
    fn supposed_by_condition(&self, candidate: &Candidate) -> bool {
        let start = self.quantity(candidate).tokens.start;
        let before = |cue| {
            self.scopes
                .places(cue, candidate.sentence)
                .iter()
                .any(|place| {
                    place.end <= start
                        && !self.text.in_class(place.start, "denial")
                        && !self.found_out(candidate, place.end)
                })
        };
        before(Cue::Condition) || before(Cue::Possible) || before(Cue::If) && !self.tried(candidate)
    }

    /// "tested for 12 V at the pump: got 11.2": what was looked for, and then what was found.
    fn found_out(&self, candidate: &Candidate, from: usize) -> bool {
        let start = self.quantity(candidate).tokens.start;
        let sought = candidate
            .at
            .checked_sub(1)
            .map(|at| &self.text.quantities[at]);
        let Some(sought) = sought.filter(|sought| sought.tokens.start >= from) else {
            return false;
        };
        (sought.tokens.end..start)
            .any(|at| self.text.tokens[at].is(':') || self.text.in_class(at, "reads"))
    }

    /// "if I cross the leads it shows 0.1": what was done, and then what the meter showed.
    fn tried(&self, candidate: &Candidate) -> bool {
        let start = self.quantity(candidate).tokens.start;
        let sentence = &self.text.sentences[candidate.sentence];
        let ifs = self.scopes.places(Cue::If, candidate.sentence);
        let Some(last) = ifs.iter().rfind(|place| place.end <= start) else {
            return false;
        };
        let done = self.text.in_class(last.end, "person");
        let shown = (last.end + 2..start).any(|at| {
            self.text.in_class(at, "shower")
                && ["reads", "changes", "moving"]
                    .iter()
                    .any(|class| self.text.in_class(at + 1, class))
                || self.text.in_class(at, "it-is")
        });
        done && shown && !sentence.asks
    }
}
