//! Virtual riders who talk to the conversation itself, and the score of how they fare.
//!
//! A rider's bike has one fault or two, drawn by their priors; what a check shows is drawn from
//! the same model the beliefs come from, so that the score measures the conversation and the plan,
//! not the knowledge. Deliberately absent: any look into beliefs or plans.

mod baseline;
mod rider;

use crate::conversation::event::{Incoming, Logged, Terms};
use crate::conversation::state::{GateAnswer, State};
use crate::conversation::{advance, open};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, SystemId};
use crate::knowledge::model::{FaultIx, Model};
use crate::knowledge::schema::GateScope;
use crate::reply::{NextKind, Phase, Reply};
use rider::Rider;
use serde::Serialize;

/// A conversation longer than this counts as unfinished.
const MOST_TURNS: u32 = 150;

/// What to simulate.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Whose riders.
    pub system: SystemId,
    /// How many.
    pub riders: u32,
    /// Seed of chance.
    pub seed: u64,
    /// Share of answers that are slips.
    pub slips: f64,
    /// Share of riders with two faults.
    pub doubles: f64,
}

/// How the riders fared.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Score {
    /// Riders in all.
    pub riders: u32,
    /// Riders with one fault.
    pub singles: u32,
    /// Of those, whose first repair, or hand-over by name, was the right one.
    pub found_first: u32,
    /// Riders all of whose faults were repaired, or named when handed over to a shop.
    pub found: u32,
    /// Of the riders with two faults, those whose both faults were.
    pub found_both: u32,
    /// Repairs of what was not broken, over all riders.
    pub wrong_repairs: u32,
    /// Riders handed over.
    pub handed_over: u32,
    /// Mean minutes of work.
    pub mean_minutes: f64,
    /// Mean messages.
    pub mean_turns: f64,
    /// Mean minutes of a plain walk from battery to pump and tank to jets, for the same riders.
    pub fixed_order_minutes: f64,
    /// Hands-on steps asked for without every condition confirmed.
    pub gate_violations: u32,
    /// Conversations that came to no end.
    pub unfinished: u32,
}

/// Lets every rider talk, on all cores; calls `tick` after each.
#[must_use]
pub fn simulate(knowledge: &Knowledge, plan: &Plan, tick: &(dyn Fn() + Sync)) -> Score {
    let Some(model) = knowledge.model(&plan.system) else {
        return Score::default();
    };
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let told: Vec<Score> = std::thread::scope(|scope| {
        let share = |first: usize| {
            scope.spawn(move || {
                let riders = (0..plan.riders).skip(first).step_by(threads);
                riders
                    .map(|at| ride(knowledge, model, plan, at, tick))
                    .collect::<Vec<Score>>()
            })
        };
        let shares: Vec<_> = (0..threads).map(share).collect();
        shares
            .into_iter()
            .flat_map(|share| share.join().unwrap_or_default())
            .collect()
    });
    let mut score = told.iter().fold(Score::default(), Score::and);
    let riders = f64::from(score.riders.max(1));
    score.mean_minutes /= riders;
    score.mean_turns /= riders;
    score.fixed_order_minutes /= riders;
    score
}

fn ride(
    knowledge: &Knowledge,
    model: &Model,
    plan: &Plan,
    at: u32,
    tick: &(dyn Fn() + Sync),
) -> Score {
    let mut rider = Rider::new(knowledge, model, plan, u64::from(at));
    let told = talk(knowledge, plan, &mut rider);
    tick();
    Score::of(model, &rider.faults, &told)
}

/// What came of one conversation.
#[derive(Debug, Default)]
struct Told {
    repairs: Vec<FaultId>,
    first_named: Option<FaultId>,
    handed_over: bool,
    finished: bool,
    minutes: f64,
    turns: u32,
    violations: u32,
}

fn talk(knowledge: &Knowledge, plan: &Plan, rider: &mut Rider<'_>) -> Told {
    let terms = Terms {
        system: Some(plan.system.clone()),
        ..Terms::default()
    };
    let (events, mut reply) = open(&terms, knowledge);
    let mut state = State::fold(&[]);
    for event in events {
        state.apply(Logged { turn: 0, event });
    }
    let mut told = Told::default();
    while told.turns < MOST_TURNS && !told.finished {
        let incoming: Incoming = rider.answer(&reply);
        let (events, next) = advance(&state, &incoming, knowledge);
        for event in events {
            state.apply(Logged {
                turn: next.turn,
                event,
            });
        }
        reply = next;
        told.turns += 1;
        told.watch(knowledge, rider.model, &state, &reply);
    }
    told.minutes = state.minutes;
    told.repairs.clone_from(&state.repaired);
    told
}

impl Told {
    fn watch(&mut self, knowledge: &Knowledge, model: &Model, state: &State, reply: &Reply) {
        self.violations += u32::from(violates(knowledge, model, state, reply));
        self.handed_over = reply.phase == Phase::HandedOver;
        self.finished = self.handed_over || reply.phase == Phase::Closed;
        if self.first_named.is_none() {
            let repair = (reply.step.kind == NextKind::Repair)
                .then(|| reply.step.id.clone())
                .flatten();
            let shop = reply.suspects.first().filter(|_| self.handed_over);
            self.first_named = repair
                .map(|id| id.as_str().into())
                .or_else(|| shop.map(|suspect| suspect.fault.clone()));
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

impl Score {
    /// The score of one rider, sums in place of means.
    fn of(model: &Model, faults: &[FaultIx], told: &Told) -> Self {
        let id = |fault: &FaultIx| &model.faults[fault.at()].id;
        let named =
            |fault: &FaultIx| told.handed_over && told.first_named.as_ref() == Some(id(fault));
        let found = faults
            .iter()
            .all(|fault| told.repairs.contains(id(fault)) || named(fault));
        let first = faults.len() == 1 && told.first_named.as_ref() == Some(id(&faults[0]));
        let needless = told
            .repairs
            .iter()
            .filter(|repair| !faults.iter().any(|fault| id(fault) == *repair));
        Self {
            riders: 1,
            singles: u32::from(faults.len() == 1),
            found_first: u32::from(first),
            found: u32::from(found),
            found_both: u32::from(found && faults.len() == 2),
            wrong_repairs: u32::try_from(needless.count()).unwrap_or(u32::MAX),
            handed_over: u32::from(told.handed_over),
            mean_minutes: told.minutes,
            mean_turns: f64::from(told.turns),
            fixed_order_minutes: baseline::minutes(model, faults),
            gate_violations: told.violations,
            unfinished: u32::from(!told.finished),
        }
    }

    /// Both together.
    fn and(mut self, other: &Self) -> Self {
        self.riders += other.riders;
        self.singles += other.singles;
        self.found_first += other.found_first;
        self.found += other.found;
        self.found_both += other.found_both;
        self.wrong_repairs += other.wrong_repairs;
        self.handed_over += other.handed_over;
        self.mean_minutes += other.mean_minutes;
        self.mean_turns += other.mean_turns;
        self.fixed_order_minutes += other.fixed_order_minutes;
        self.gate_violations += other.gate_violations;
        self.unfinished += other.unfinished;
        self
    }
}

/// Wilson's 95 % interval of a share (Newcombe 1998, Statistics in Medicine 17:857, method 3).
#[must_use]
pub fn wilson(hits: u32, of: u32) -> (f64, f64) {
    const Z: f64 = 1.959_963_984_540_054;
    if of == 0 {
        return (0.0, 1.0);
    }
    let (n, p) = (f64::from(of), f64::from(hits) / f64::from(of));
    let centre = p + Z * Z / (2.0 * n);
    let half = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    let scale = 1.0 + Z * Z / n;
    ((centre - half) / scale, (centre + half) / scale)
}

#[cfg(test)]
mod tests {
    use super::wilson;

    /// Newcombe 1998, Statistics in Medicine 17:857, table I.
    #[test]
    fn intervals_are_the_published_ones() {
        for (hits, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let (l, h) = wilson(hits, of);
            assert!(
                (l - low).abs() < 5e-5 && (h - high).abs() < 5e-5,
                "{hits}/{of}: {l} {h}"
            );
        }
    }
}
