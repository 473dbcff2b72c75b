//! Answers to conditions: those of the surroundings checklist, and those of one step.

use super::draft::Draft;
use super::event::{Declined, Event, Query, Target};
use super::gates::{holds, is_of_surroundings, open_checklist};
use super::hear::Heard;
use super::menu::NOT;
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::id::GateId;
use crate::reply::{Line, Means, wording};

/// An answer to the checklist: conditions named one by one, and a yes or no to the rest. A first "no", or
/// a yes with a reserve, asks which condition it means; a second "no" denies what is left, and who does not
/// know a second time is asked for one condition after the other. Returns whether it was an answer.
pub fn checklist(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    if let Some(gate) = asked_alone(&draft.state, draft.knowledge) {
        return one(draft, heard, &gate);
    }
    let denied = heard
        .choice
        .as_deref()
        .and_then(|choice| choice.strip_prefix(NOT));
    let asked_which = draft.state.query == Some(Query::Closer);
    let named = named(draft, heard);
    match (denied, heard.means) {
        (Some(gate), _) => deny(draft, &GateId::from(gate)),
        (None, Some(Means::Yes | Means::Done)) if heard.has_reserve() => {
            if !named {
                draft.record(Event::Queried(Query::Closer));
            }
        }
        (None, Some(Means::Yes | Means::Done)) => {
            for gate in open(draft) {
                draft.record(Event::GateAnswered { gate, holds: true });
            }
        }
        _ if named => {}
        (None, Some(Means::No)) if asked_which => {
            for gate in open(draft) {
                deny(draft, &gate);
            }
        }
        (None, Some(Means::No | Means::Cannot | Means::Unsure | Means::Skip)) => {
            draft.record(Event::Queried(Query::Closer));
        }
        _ => return false,
    }
    true
}

/// The condition that is asked for by itself, where the rider could not say which one does not hold.
#[must_use]
pub fn asked_alone(state: &State, knowledge: &Knowledge) -> Option<GateId> {
    let alone = state.pressed == Some(Query::Closer) && state.query == Some(Query::Closer);
    let open = open_checklist(state, knowledge);
    open.first().filter(|_| alone).map(|gate| gate.id.clone())
}

/// An answer to one condition of the checklist. What the rider does not know does not count as holding.
fn one(draft: &mut Draft<'_>, heard: &Heard, gate: &GateId) -> bool {
    let picked = heard.choice.as_deref();
    let denied = picked.and_then(|choice| choice.strip_prefix(NOT));
    match (denied, heard.means) {
        (Some(denied), _) => deny(draft, &GateId::from(denied)),
        _ if named(draft, heard) => {}
        (None, Some(Means::Yes | Means::Done)) if heard.has_reserve() => {
            draft.say(Line::Plain(wording::step::PLAIN_YES.to_owned()));
        }
        (None, Some(Means::Yes | Means::Done)) => draft.record(Event::GateAnswered {
            gate: gate.clone(),
            holds: true,
        }),
        (None, Some(Means::No | Means::Cannot | Means::Unsure | Means::Skip)) => deny(draft, gate),
        _ => return false,
    }
    true
}

/// Takes the conditions that the rider speaks of by name. Returns whether there were any.
fn named(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let open = open(draft);
    let said = heard.said.conditions.iter().map(|said| &said.what);
    let said: Vec<_> = said.filter(|said| open.contains(&said.gate)).collect();
    for condition in &said {
        if condition.holds {
            draft.record(Event::GateAnswered {
                gate: condition.gate.clone(),
                holds: true,
            });
        } else {
            deny(draft, &condition.gate);
        }
    }
    !said.is_empty()
}

/// What was in order and no longer seems to be, by the rider's own words, is asked again before the next
/// step that needs it: "I moved it into the garage", "the carbs are on the bench".
pub fn doubted(draft: &mut Draft<'_>, heard: &Heard) {
    let denied = heard.said.conditions.iter().map(|said| &said.what);
    for condition in denied.filter(|condition| !condition.holds) {
        if holds(&draft.state, draft.knowledge, &condition.gate) {
            draft.record(Event::GateReopened(condition.gate.clone()));
        }
    }
}

fn open(draft: &Draft<'_>) -> Vec<GateId> {
    let open = open_checklist(&draft.state, draft.knowledge);
    open.into_iter().map(|gate| gate.id.clone()).collect()
}

/// Records that a condition does not hold, and says what to do about it.
fn deny(draft: &mut Draft<'_>, gate: &GateId) {
    draft.record(Event::GateAnswered {
        gate: gate.clone(),
        holds: false,
    });
    if let Some(gate) = draft.knowledge.gate(gate) {
        draft.say(Line::Caution(gate.otherwise.clone()));
    }
}

/// An answer to the conditions of one step. Returns whether it was one. Surroundings that do not hold
/// bar every step that needs them until they are in order again; this step is not given up.
pub fn of_step(
    draft: &mut Draft<'_>,
    (gates, target): (&[GateId], &Target),
    heard: &Heard,
) -> bool {
    match heard.means {
        Some(Means::Yes | Means::Done) => {
            for gate in gates {
                draft.record(Event::GateAnswered {
                    gate: gate.clone(),
                    holds: true,
                });
            }
        }
        Some(Means::No | Means::Cannot | Means::Unsure | Means::Skip) => {
            if gates
                .iter()
                .all(|gate| is_of_surroundings(draft.knowledge, gate))
            {
                for gate in gates {
                    deny(draft, gate);
                }
                unproven(draft, target);
                return true;
            }
            let advice = gates.iter().filter_map(|gate| draft.knowledge.gate(gate));
            let advice: Vec<Line> = advice
                .map(|gate| Line::Caution(gate.otherwise.clone()))
                .collect();
            draft.lines.extend(advice);
            draft.record(Event::Declined {
                target: target.clone(),
                reason: Declined::Gated,
            });
            unproven(draft, target);
        }
        _ => return false,
    }
    true
}

/// A repair that cannot be tried counts as not having helped; nothing is claimed.
pub fn unproven(draft: &mut Draft<'_>, target: &Target) {
    if let Target::Proof(fault) = target {
        draft.record(Event::Proved {
            fault: fault.clone(),
            gone: false,
        });
        draft.say(Line::Plain(wording::step::NOT_PROVEN.to_owned()));
    }
}
