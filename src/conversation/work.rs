//! The work a step took: openings made, minutes spent, conditions that must be confirmed anew.

use super::draft::Draft;
use super::event::{Event, Target};
use super::gates::{demands, reopened_by};
use crate::knowledge::id::{FaultId, ObservationId};

/// An observation that was asked for has been made.
pub fn observed(draft: &mut Draft<'_>, id: &ObservationId) {
    let minutes = draft
        .knowledge
        .observations
        .get(id)
        .map_or(0.5, |check| check.minutes);
    done(draft, &Target::Observation(id.clone()), minutes);
}

/// A repair has been carried out.
pub fn repaired(draft: &mut Draft<'_>, id: &FaultId) {
    let minutes = draft
        .knowledge
        .faults
        .get(id)
        .map_or(0.0, |fault| fault.repair.minutes);
    done(draft, &Target::Repair(id.clone()), minutes);
    draft.record(Event::Repaired(id.clone()));
}

/// The trial after a repair has been made.
pub fn proved(draft: &mut Draft<'_>, id: &FaultId, gone: bool) {
    let minutes = draft.knowledge.proof.minutes;
    done(draft, &Target::Proof(id.clone()), minutes);
    draft.record(Event::Proved {
        fault: id.clone(),
        gone,
    });
}

fn done(draft: &mut Draft<'_>, target: &Target, minutes: f64) {
    let demands = demands(&draft.state, draft.knowledge, target);
    let openings = demands
        .openings
        .iter()
        .filter_map(|id| draft.knowledge.openings.get(id));
    let opening: f64 = openings.map(|opening| opening.open_minutes).sum();
    for opening in &demands.openings {
        draft.record(Event::AccessOpened(opening.clone()));
    }
    for event in reopened_by(draft.knowledge, &demands) {
        draft.record(event);
    }
    draft.record(Event::Spent(minutes + opening));
}
