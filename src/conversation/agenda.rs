//! What comes next: one exhaustive decision over the state.

use super::doubt;
use super::event::{Event, HandOver, Query, Step, Target, Topic};
use super::gates::{Clearance, Permit, clearance, open_checklist};
use super::insight::Insight;
use super::menu::targets;
use super::state::{End, State};
use crate::diagnosis::{Choice, Reason};
use crate::knowledge::Knowledge;
use crate::knowledge::compile::OUTSIDE;
use crate::knowledge::id::ObservationId;

/// The next step, with the permits of whatever in it is done with the hands.
#[derive(Debug)]
pub struct Agenda {
    /// What the rider is asked for.
    pub step: Step,
    /// One for each observation, repair or proof asked for.
    pub permits: Vec<Permit>,
}

impl Agenda {
    fn words_only(step: Step) -> Self {
        Self {
            step,
            permits: Vec::new(),
        }
    }
}

/// Decides what the rider is asked for next.
#[must_use]
pub fn next(state: &State, knowledge: &Knowledge, insight: Option<&Insight<'_>>) -> Agenda {
    if let Some(step) = kept_for_a_question(state, knowledge) {
        let targets = targets(&step);
        return cleared(state, knowledge, step, &targets);
    }
    if let Some(step) = before_testing(state, knowledge) {
        return Agenda::words_only(step);
    }
    if let Some(fault) = &state.unproven {
        let target = Target::Proof(fault.clone());
        return cleared(state, knowledge, Step::Prove(fault.clone()), &[target]);
    }
    let Some(insight) = insight else {
        return Agenda::words_only(Step::Tell(Topic::System));
    };
    if let Some(conflict) = insight.conflict {
        let id = insight.model.observations[conflict.observation.at()]
            .id
            .clone();
        return observe(state, knowledge, vec![id]);
    }
    testing(state, knowledge, insight)
}

/// While a reading is kept back, what is on the table stays there and the question is put.
fn kept_for_a_question(state: &State, knowledge: &Knowledge) -> Option<Step> {
    doubt::pending(state, knowledge)?;
    let step = state.table.clone()?;
    let goes_on = state.hazards.is_empty() && state.end.is_none();
    let waits = match step {
        Step::Tell(_)
        | Step::Surroundings
        | Step::Clear { .. }
        | Step::Observe(_)
        | Step::Repair(_)
        | Step::Refit => true,
        Step::Prove(_) | Step::Safe(_) | Step::HandOver(_) | Step::Stop => false,
    };
    let goes_on = goes_on && !state.gone && !state.stopping;
    (goes_on && waits).then_some(step)
}

/// Everything that comes before, or instead of, looking for the fault.
fn before_testing(state: &State, knowledge: &Knowledge) -> Option<Step> {
    if let Some(hazard) = state.hazards.first() {
        return Some(Step::Safe(hazard.clone()));
    }
    match &state.end {
        Some(End::HandedOver(reason)) => return Some(Step::HandOver(reason.clone())),
        Some(End::Closed(_)) => return Some(Step::Stop),
        None => {}
    }
    let settled = |topic| state.settled.contains(&topic);
    if state.gone || state.stopping {
        Some(Step::Refit)
    } else if !settled(Topic::Complaint) {
        Some(Step::Tell(Topic::Complaint))
    } else if !settled(Topic::Background) {
        Some(Step::Tell(Topic::Background))
    } else if !open_checklist(state, knowledge).is_empty() {
        Some(Step::Surroundings)
    } else if state.system.is_none() {
        Some(Step::Tell(Topic::System))
    } else if !settled(Topic::Kit) {
        Some(Step::Tell(Topic::Kit))
    } else {
        None
    }
}

fn testing(state: &State, knowledge: &Knowledge, insight: &Insight<'_>) -> Agenda {
    let model = insight.model;
    match &insight.plan.choice {
        Choice::Observe(observations) => {
            let ids = observations
                .iter()
                .map(|at| model.observations[at.at()].id.clone());
            observe(state, knowledge, ids.collect())
        }
        Choice::Repair(fault) => {
            let id = model.faults[fault.at()].id.clone();
            let target = Target::Repair(id.clone());
            cleared(state, knowledge, Step::Repair(id), &[target])
        }
        Choice::HandOver => Agenda::words_only(Step::HandOver(why_hand_over(insight))),
    }
}

fn why_hand_over(insight: &Insight<'_>) -> HandOver {
    let model = insight.model;
    let top = insight
        .belief
        .suspects()
        .first()
        .map(|(fault, _)| &model.faults[fault.at()]);
    match (insight.plan.reason, top) {
        (Reason::EvidenceFitsNothing, _) => HandOver::Unexplained,
        (_, Some(fault)) if fault.id.as_str() == OUTSIDE => HandOver::Unexplained,
        (_, Some(fault)) if fault.repair.shop_only => HandOver::ShopOnly(fault.id.clone()),
        _ => HandOver::NotWorth,
    }
}

/// Asks for what is cleared; what is not, is asked to be cleared first, never mixed.
fn observe(state: &State, knowledge: &Knowledge, ids: Vec<ObservationId>) -> Agenda {
    let target = |id: &ObservationId| Target::Observation(id.clone());
    let ready: Vec<ObservationId> = ids
        .iter()
        .filter(|id| {
            matches!(
                clearance(state, knowledge, &target(id)),
                Clearance::Granted(_)
            )
        })
        .cloned()
        .collect();
    let ids = if ready.is_empty() {
        ids.into_iter().take(1).collect()
    } else {
        ready
    };
    let targets: Vec<Target> = ids.iter().map(target).collect();
    cleared(state, knowledge, Step::Observe(ids), &targets)
}

/// The step, if every target is cleared; otherwise the question that would clear the first.
fn cleared(state: &State, knowledge: &Knowledge, step: Step, targets: &[Target]) -> Agenda {
    let mut permits = Vec::new();
    for target in targets {
        match clearance(state, knowledge, target) {
            Clearance::Granted(permit) => permits.push(permit),
            Clearance::Ask(gates) | Clearance::Blocked(gates) => {
                return Agenda::words_only(Step::Clear {
                    gates,
                    target: target.clone(),
                });
            }
        }
    }
    Agenda { step, permits }
}

/// The events that carry the agenda out.
#[must_use]
pub fn adopt(state: &State, agenda: &Agenda, insight: Option<&Insight<'_>>) -> Vec<Event> {
    let mut events = Vec::new();
    if let (Step::HandOver(reason), None) = (&agenda.step, &state.end) {
        events.push(Event::HandedOver(reason.clone()));
    }
    if state.table.as_ref() != Some(&agenda.step) {
        events.push(Event::Asked(agenda.step.clone()));
    }
    let repeat = insight.and_then(|insight| {
        let conflict = insight.conflict?;
        Some(
            insight.model.observations[conflict.observation.at()]
                .id
                .clone(),
        )
    });
    match (&agenda.step, repeat) {
        (Step::Observe(ids), Some(id)) if *ids == [id.clone()] => {
            events.push(Event::Queried(Query::Repeat(id)));
        }
        _ => {}
    }
    events
}
