//! The hard gates: no hands-on step without a [`Permit`], and only this file can issue one.

use super::event::{Event, Step, Target};
use super::menu::targets;
use super::state::{GateAnswer, State};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{CautionId, GateId, OpeningId};
use crate::knowledge::schema::{Gate, GateScope};

/// Proof that every condition a step needs has been confirmed by the rider.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Permit {
    target: Target,
}

impl Permit {
    /// The step it was issued for.
    #[must_use]
    pub fn target(&self) -> &Target {
        &self.target
    }
}

/// Whether a step may be asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Clearance {
    /// It may.
    Granted(Permit),
    /// These conditions must be confirmed first.
    Ask(Vec<GateId>),
    /// These conditions do not hold: the step does not exist for now.
    Blocked(Vec<GateId>),
}

/// What a step does and needs, openings included.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Demands {
    /// Conditions, in the order of the knowledge.
    pub gates: Vec<GateId>,
    /// Words that go with it.
    pub cautions: Vec<CautionId>,
    /// Openings that are still to be made, outermost first.
    pub openings: Vec<OpeningId>,
    /// Whether it opens fuel.
    pub opens_fuel: bool,
}

/// Whether the rider may be asked for this step now.
#[must_use]
pub fn clearance(state: &State, knowledge: &Knowledge, target: &Target) -> Clearance {
    let demands = demands(state, knowledge, target);
    let with = |wanted: GateStanding| -> Vec<GateId> {
        let gates = demands.gates.iter();
        gates
            .filter(|gate| standing(state, knowledge, gate) == wanted)
            .cloned()
            .collect()
    };
    let (denied, unasked) = (with(GateStanding::Denied), with(GateStanding::Unasked));
    if !denied.is_empty() {
        Clearance::Blocked(denied)
    } else if !unasked.is_empty() {
        Clearance::Ask(first_asked(knowledge, unasked))
    } else {
        Clearance::Granted(Permit {
            target: target.clone(),
        })
    }
}

/// What has changed about the surroundings is asked by itself, before what the step alone needs.
fn first_asked(knowledge: &Knowledge, unasked: Vec<GateId>) -> Vec<GateId> {
    let (around, own): (Vec<GateId>, Vec<GateId>) = unasked
        .into_iter()
        .partition(|gate| is_of_surroundings(knowledge, gate));
    if around.is_empty() { own } else { around }
}

/// Whether a condition is one of the checklist.
#[must_use]
pub fn is_of_surroundings(knowledge: &Knowledge, gate: &GateId) -> bool {
    let gate = knowledge.gate(gate);
    gate.is_some_and(|gate| gate.scope == GateScope::Surroundings)
}

/// What a step needs before it may be asked for.
#[must_use]
pub fn demands(state: &State, knowledge: &Knowledge, target: &Target) -> Demands {
    let mut demands = own_demands(knowledge, target);
    demands.openings = to_open(state, knowledge, target);
    for opening in &demands.openings {
        if let Some(opening) = knowledge.openings.get(opening) {
            demands.gates.extend(opening.gates.iter().cloned());
            demands.cautions.extend(opening.cautions.iter().cloned());
        }
    }
    let wanted = std::mem::take(&mut demands.gates);
    let in_order = knowledge.gates.iter().map(|gate| &gate.id);
    demands.gates = in_order
        .filter(|gate| wanted.contains(gate))
        .cloned()
        .collect();
    dedup(&mut demands.cautions);
    demands
}

fn own_demands(knowledge: &Knowledge, target: &Target) -> Demands {
    match target {
        Target::Observation(id) => knowledge.observations.get(id).map(|check| Demands {
            gates: check.gates.clone(),
            cautions: check.cautions.clone(),
            opens_fuel: check.opens_fuel,
            ..Demands::default()
        }),
        Target::Repair(id) => knowledge.faults.get(id).map(|fault| Demands {
            gates: fault.repair.gates.clone(),
            cautions: fault.repair.cautions.clone(),
            opens_fuel: fault.repair.opens_fuel,
            ..Demands::default()
        }),
        Target::Proof(_) => Some(Demands {
            gates: knowledge.proof.gates.clone(),
            cautions: knowledge.proof.cautions.clone(),
            ..Demands::default()
        }),
    }
    .unwrap_or_default()
}

/// Openings a step needs that are not open yet, parents before children.
#[must_use]
pub fn to_open(state: &State, knowledge: &Knowledge, target: &Target) -> Vec<OpeningId> {
    let wanted: &[OpeningId] = match target {
        Target::Observation(id) => knowledge
            .observations
            .get(id)
            .map_or(&[], |check| &check.openings),
        Target::Repair(id) => knowledge
            .faults
            .get(id)
            .map_or(&[], |fault| &fault.repair.openings),
        Target::Proof(_) => &[],
    };
    let mut openings = Vec::new();
    for opening in wanted {
        let mut chain = chain(knowledge, opening);
        chain.reverse();
        openings.extend(chain);
    }
    openings.retain(|opening| !state.open.contains(opening));
    dedup(&mut openings);
    openings
}

/// An opening and its parents, innermost first.
fn chain(knowledge: &Knowledge, opening: &OpeningId) -> Vec<OpeningId> {
    let parent = |id: &OpeningId| {
        knowledge
            .openings
            .get(id)
            .and_then(|opening| opening.parent.clone())
    };
    std::iter::successors(Some(opening.clone()), parent)
        .take(knowledge.openings.len())
        .collect()
}

fn dedup<T: PartialEq + Clone>(items: &mut Vec<T>) {
    let mut kept: Vec<T> = Vec::new();
    for item in items.drain(..) {
        if !kept.contains(&item) {
            kept.push(item);
        }
    }
    *items = kept;
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum GateStanding {
    Holds,
    Denied,
    Unasked,
}

/// Whether a condition is taken to hold: it was confirmed, or nothing has ended it yet.
#[must_use]
pub fn holds(state: &State, knowledge: &Knowledge, gate: &GateId) -> bool {
    standing(state, knowledge, gate) == GateStanding::Holds
}

fn standing(state: &State, knowledge: &Knowledge, gate: &GateId) -> GateStanding {
    let after_fuel = knowledge
        .gate(gate)
        .is_some_and(|gate| gate.scope == GateScope::AfterFuel);
    match state.gates.get(gate) {
        Some(GateAnswer::Holds) => GateStanding::Holds,
        Some(GateAnswer::Denied) => GateStanding::Denied,
        None if after_fuel => GateStanding::Holds,
        Some(GateAnswer::Reopened) | None => GateStanding::Unasked,
    }
}

/// The conditions of the checklist that have not been answered yet. One that work has ended, such as
/// a cold engine, is no reason to walk the list again: it is asked before the next step that needs it.
#[must_use]
pub fn open_checklist<'a>(state: &State, knowledge: &'a Knowledge) -> Vec<&'a Gate> {
    let unanswered = |gate: &&Gate| standing(state, knowledge, &gate.id) == GateStanding::Unasked;
    let open: Vec<&Gate> = checklist(knowledge).filter(unanswered).collect();
    let ended = |gate: &&Gate| {
        !gate.ended_by.is_empty() && state.gates.get(&gate.id) == Some(&GateAnswer::Reopened)
    };
    if open.iter().all(ended) {
        Vec::new()
    } else {
        open
    }
}

/// The conditions of the checklist that the rider has denied.
#[must_use]
pub fn denied<'a>(state: &State, knowledge: &'a Knowledge) -> Vec<&'a Gate> {
    let denied = |gate: &&Gate| standing(state, knowledge, &gate.id) == GateStanding::Denied;
    checklist(knowledge).filter(denied).collect()
}

fn checklist(knowledge: &Knowledge) -> impl Iterator<Item = &Gate> {
    knowledge
        .gates
        .iter()
        .filter(|gate| gate.scope == GateScope::Surroundings)
}

/// The conditions that must be confirmed anew once a step has been asked for or carried out:
/// those of that step alone, those it ends, and, after open fuel, that it is closed and aired.
#[must_use]
pub fn reopened_by(knowledge: &Knowledge, demands: &Demands) -> Vec<Event> {
    let reopens = |gate: &&Gate| match gate.scope {
        GateScope::Surroundings => gate.ended_by.iter().any(|by| demands.gates.contains(by)),
        GateScope::Step => demands.gates.contains(&gate.id),
        GateScope::AfterFuel => demands.opens_fuel,
    };
    let gates = knowledge.gates.iter().filter(reopens);
    gates
        .map(|gate| Event::GateReopened(gate.id.clone()))
        .collect()
}

/// What must be confirmed anew because the work on the table gives way to another step: half done or
/// not begun, its own conditions held for it alone, and fuel it opens may lie open. So it is with
/// conditions that were just confirmed for a step that is then not taken.
#[must_use]
pub fn left_behind(state: &State, knowledge: &Knowledge, next: &Step) -> Vec<Event> {
    let left = match &state.table {
        Some(Step::Clear { gates, .. }) => return confirmed_in_vain(state, knowledge, gates, next),
        Some(step @ (Step::Observe(_) | Step::Repair(_) | Step::Prove(_))) if step != next => {
            targets(step)
        }
        _ => return Vec::new(),
    };
    let events = left
        .iter()
        .flat_map(|target| reopened_by(knowledge, &demands(state, knowledge, target)));
    let open = |gate: &GateId| state.gates.get(gate) == Some(&GateAnswer::Reopened);
    events
        .filter(|event| !matches!(event, Event::GateReopened(gate) if open(gate)))
        .collect()
}

/// Conditions of a single step that were confirmed for one that is not the next, unless the next needs
/// them as well.
fn confirmed_in_vain(
    state: &State,
    knowledge: &Knowledge,
    confirmed: &[GateId],
    next: &Step,
) -> Vec<Event> {
    let needed: Vec<GateId> = targets(next)
        .iter()
        .flat_map(|target| demands(state, knowledge, target).gates)
        .collect();
    let in_vain = confirmed.iter().filter(|gate| {
        let of_step = knowledge
            .gate(gate)
            .is_some_and(|gate| gate.scope == GateScope::Step);
        let holds = state.gates.get(gate) == Some(&GateAnswer::Holds);
        of_step && holds && !needed.contains(gate)
    });
    in_vain.cloned().map(Event::GateReopened).collect()
}
