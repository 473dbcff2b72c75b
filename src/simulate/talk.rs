//! One rider's conversation from the greeting to its end, and what came of it.

use super::rider::Rider;
use crate::conversation::event::{Incoming, Logged, Terms};
use crate::conversation::state::{GateAnswer, State};
use crate::conversation::{advance, open};
use crate::knowledge::Knowledge;
use crate::knowledge::id::FaultId;
use crate::knowledge::model::Model;
use crate::knowledge::schema::GateScope;
use crate::reply::{NextKind, Phase, Reply};

/// A conversation longer than this counts as unfinished.
const MOST_TURNS: u32 = 150;

/// Sees every turn: the state before it, what came in, and the reply.
pub type Watch<'w> = &'w mut dyn FnMut(&State, &Incoming, &Reply);

/// What came of one conversation.
#[derive(Debug, Default)]
pub(super) struct Told {
    /// Repairs carried out, in order.
    pub(super) repairs: Vec<FaultId>,
    /// The first fault that was to be repaired, or the leading one where a shop took over.
    pub(super) first_named: Option<FaultId>,
    /// The suspects named when a shop took over, likeliest first.
    pub(super) named_to_shop: Vec<FaultId>,
    /// Results asked for a second time because they fitted the others badly.
    pub(super) asked_again: u32,
    pub(super) handed_over: bool,
    pub(super) finished: bool,
    pub(super) minutes: f64,
    pub(super) turns: u32,
    pub(super) violations: u32,
}

/// Lets a rider talk to the end.
pub(super) fn talk(
    knowledge: &Knowledge,
    terms: &Terms,
    rider: &mut Rider<'_>,
    watch: Watch<'_>,
) -> Told {
    let (events, mut reply) = open(terms, knowledge);
    let mut state = State::fold(&[]);
    for event in events {
        state.apply(Logged { turn: 0, event });
    }
    let mut told = Told::default();
    while told.turns < MOST_TURNS && !told.finished {
        let incoming = rider.answer(&reply);
        let (events, next) = advance(&state, &incoming, knowledge);
        watch(&state, &incoming, &next);
        for event in events {
            state.apply(Logged {
                turn: next.turn,
                event,
            });
        }
        reply = next;
        told.turns += 1;
        told.watch(knowledge, rider.bike.model, &state, &reply);
    }
    told.minutes = state.minutes;
    told.asked_again = u32::try_from(state.repeated.len()).unwrap_or(u32::MAX);
    told.repairs.clone_from(&state.repaired);
    told
}

impl Told {
    fn watch(&mut self, knowledge: &Knowledge, model: &Model, state: &State, reply: &Reply) {
        self.violations += u32::from(violates(knowledge, model, state, reply));
        self.handed_over = reply.phase == Phase::HandedOver;
        self.finished = self.handed_over || reply.phase == Phase::Closed;
        if self.handed_over {
            let named = reply.suspects.iter().map(|suspect| suspect.fault.clone());
            self.named_to_shop = named.collect();
        }
        if self.first_named.is_none() {
            let repair = (reply.step.kind == NextKind::Repair)
                .then(|| reply.step.id.clone())
                .flatten();
            self.first_named = repair
                .map(|id| id.as_str().into())
                .or_else(|| self.named_to_shop.first().cloned());
        }
    }
}

/// Whether a hands-on step is asked for without every condition confirmed. Counts on the answers
/// given alone, not on the code that asks for them.
fn violates(knowledge: &Knowledge, model: &Model, state: &State, reply: &Reply) -> bool {
    let gates = match reply.step.kind {
        NextKind::Observe => reply
            .asks
            .iter()
            .filter_map(|ask| model.observation(ask.observation.as_str()))
            .flat_map(|at| model.observations[at.at()].gates.clone())
            .collect(),
        NextKind::Repair => {
            let fault = reply.step.id.as_deref().map(FaultId::from);
            fault
                .and_then(|id| knowledge.faults.get(&id))
                .map(|fault| fault.repair.gates.clone())
                .unwrap_or_default()
        }
        NextKind::Prove => knowledge.proof.gates.clone(),
        _ => Vec::new(),
    };
    gates.iter().any(|id| {
        let after_fuel = knowledge
            .gate(id)
            .is_some_and(|gate| gate.scope == GateScope::AfterFuel);
        let answer = state.gates.get(id);
        answer != Some(&GateAnswer::Holds) && !(after_fuel && answer.is_none())
    })
}
