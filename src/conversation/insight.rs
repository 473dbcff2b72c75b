//! What the evidence of a conversation says: the belief, the plan, and the repeat worth asking.

use super::event::{Declined, Target, Topic};
use super::gates::{Clearance, clearance};
use super::state::{Entry, State};
use crate::diagnosis::access::{saved_by, while_open};
use crate::diagnosis::doubt::doubting_repairs;
use crate::diagnosis::{
    Belief, Candidate, Conflict, Depth, Finding, Plan, Situation, Step, Terms, conflict_in, plan,
};
use crate::knowledge::Knowledge;
use crate::knowledge::compile::OUTSIDE;
use crate::knowledge::id::{FaultId, KitId, ObservationId};
use crate::knowledge::model::{
    FaultIx, Model, Observation, ObservationIx, ObservationKind, OpeningIx,
};
use crate::knowledge::schema::Kit;
use std::borrow::Cow;

/// What a needless repair costs a rider here, in minutes' worth: a part bought on a guess and the
/// wait for it. Set by 100 virtual riders with a pump and a carburettor: the first repair was right
/// for 96. Common practice, no source.
const WRONG_REPAIR_MINUTES: f64 = 80.0;
/// What giving up costs a rider who came for an answer, in minutes' worth for each fault left. Set by 900
/// virtual riders of injected bikes, with checks at their price in messages and discomfort: at 350 of
/// those to mend at home 964 in 1,000 were found, at 450 975, at 550 987, for three and four minutes and
/// two turns more each. Common practice, no source.
const GIVING_UP_MINUTES: f64 = 500.0;
/// What a message costs beside the work it asks for: reading, walking to the bike, answering. At
/// nothing, questions that hardly tell anything were asked for being free. Set by 150 virtual riders:
/// 3 asks two questions less than 2 and loses one of them, 4 one more less and one more is lost.
/// Common practice, no source.
const MESSAGE_MINUTES: f64 = 3.0;

/// What a minute of waiting for a message is worth in minutes of work: one does something else
/// meanwhile. In full, four hours a message sent every forum's rider to a shop before the first check; as a
/// twentieth, the free looks are asked for three at a time. Common practice, no source.
const WAITING_SHARE: f64 = 0.05;
/// What riders would rather answer or look at than set about the bike, in minutes for each message that
/// asks for hands: with less, a spark test came before a look at tap, switch and tank, which are the
/// commonest answers. Common practice, no source.
const DISCOMFORT_MINUTES: f64 = 5.0;

/// Until so many checks are made, there are little but the rider's words to go by.
const WORDS_ONLY: usize = 3;
/// Words are odd more often than bikes are: until then an unknown fault has this share of its odds,
/// or riders with two faults, who complain of much, would be handed over before the first check.
const UNKNOWN_BY_WORDS: f64 = 0.1;

/// How many checks have been made.
fn checks(state: &State, model: &Model) -> usize {
    let is_check = |id: &ObservationId| {
        model.observation(id.as_str()).is_some_and(|at| {
            let kind = model.observations[at.at()].kind;
            matches!(kind, ObservationKind::Choice | ObservationKind::Measurement)
        })
    };
    let entries = state.entries.iter();
    entries
        .filter(|entry| matches!(entry, Entry::Seen(found) if is_check(&found.observation)))
        .count()
}

fn believe_in_the_known(model: &mut Cow<'_, Model>) {
    if let Some(outside) = model.fault(OUTSIDE) {
        model.to_mut().faults[outside.at()].prior *= UNKNOWN_BY_WORDS;
    }
}

/// What steps cost in a conversation.
#[must_use]
pub fn terms(knowledge: &Knowledge, round_trip_minutes: f64) -> Terms {
    Terms {
        round_trip_minutes: WAITING_SHARE * round_trip_minutes,
        message_minutes: MESSAGE_MINUTES,
        discomfort_minutes: DISCOMFORT_MINUTES,
        proof_minutes: knowledge.proof.minutes,
        wrong_repair_minutes: WRONG_REPAIR_MINUTES,
        giving_up_minutes: GIVING_UP_MINUTES,
    }
}

/// The arithmetic of one state.
#[derive(Debug)]
pub struct Insight<'a> {
    /// The rider's system.
    pub model: &'a Model,
    /// The same as it was weighed: with every repair made open to doubt. Faults keep their positions.
    pub weighed: Cow<'a, Model>,
    /// What is believed.
    pub belief: Belief,
    /// What is best done next.
    pub plan: Plan,
    /// The result worth asking for again, if any.
    pub conflict: Option<Conflict>,
}

impl<'a> Insight<'a> {
    /// None until the system is known.
    #[must_use]
    pub fn of(state: &State, knowledge: &'a Knowledge) -> Option<Self> {
        let model = knowledge.model(state.system.as_ref()?)?;
        let (mut weighed, findings) = doubting_repairs(model, &findings(state, model));
        if checks(state, model) < WORDS_ONLY {
            believe_in_the_known(&mut weighed);
        }
        let belief = Belief::given(&weighed, &findings);
        let options = Options::of(state, knowledge, model);
        let situation = options.situation(state, knowledge, &weighed, &belief);
        let plan = plan(&situation);
        let repeatable = |at: ObservationIx| {
            let observation = &model.observations[at.at()];
            observation.kind != ObservationKind::Proof
                && may_repeat(state, knowledge, &observation.id)
        };
        let halted = !state.hazards.is_empty();
        let conflict = (!halted)
            .then(|| conflict_in(&situation, &plan.choice, repeatable))
            .flatten()
            .filter(|conflict| conflict.changes_answer);
        Some(Self {
            model,
            weighed,
            belief,
            plan,
            conflict,
        })
    }
}

/// What the next step leaves worth saying besides, worked out only where it is said.
impl Insight<'_> {
    /// The piece of kit the rider lacks whose checks would save most minutes, and how many; none
    /// where none saves a whole minute.
    #[must_use]
    pub fn missing_kit(&self, state: &State, knowledge: &Knowledge) -> Option<(KitId, f64)> {
        let options = Options::of(state, knowledge, self.model);
        let situation = options.situation(state, knowledge, &self.weighed, &self.belief);
        let saving = |kit: &Kit| {
            let with: Vec<ObservationIx> = (0..self.model.observations.len())
                .map(ObservationIx::from)
                .filter(|at| !options.observations.contains(at))
                .filter(|at| {
                    let observation = &self.model.observations[at.at()];
                    askable(state, knowledge, observation, Some(&kit.id))
                })
                .collect();
            let minutes = if with.is_empty() {
                0.0
            } else {
                saved_by(&situation, &with)
            };
            (kit.id.clone(), minutes)
        };
        let lacking = knowledge.kit.iter().filter(|kit| !state.has(&kit.id));
        lacking
            .map(saving)
            .filter(|(_, minutes)| *minutes >= 1.0)
            .max_by(|x, y| x.1.total_cmp(&y.1))
    }

    /// Checks that pay while the next step has its openings open, and that are cleared by the same
    /// conditions; best first.
    #[must_use]
    pub fn while_open(&self, state: &State, knowledge: &Knowledge) -> Vec<ObservationId> {
        let options = Options::of(state, knowledge, self.model);
        let situation = options.situation(state, knowledge, &self.weighed, &self.belief);
        let id = |candidate: &Candidate| match candidate.step {
            Step::Observe(at) => Some(self.model.observations[at.at()].id.clone()),
            Step::Repair(_) | Step::HandOver => None,
        };
        let cleared = |id: &ObservationId| {
            let target = Target::Observation(id.clone());
            matches!(clearance(state, knowledge, &target), Clearance::Granted(_))
        };
        let suggested = while_open(&situation, &self.plan.choice);
        suggested.iter().filter_map(id).filter(cleared).collect()
    }
}

/// A set of faults holds three at most. Two repairs in evidence leave room for another fault; what
/// was found before an older one counts no more, or a fourth fault could never be believed in.
const REPAIRS_REMEMBERED: usize = 2;

/// The evidence in the model's own indices; what the system does not know is left out.
#[must_use]
pub fn findings(state: &State, model: &Model) -> Vec<Finding> {
    let is_repair = |entry: &Entry| matches!(entry, Entry::Repaired(_));
    let repairs: Vec<usize> = (0..state.entries.len())
        .filter(|at| is_repair(&state.entries[*at]))
        .collect();
    let too_many = repairs.len().checked_sub(REPAIRS_REMEMBERED + 1);
    let remembered = too_many.map_or(0, |last| repairs[last] + 1);
    let (old, recent) = state.entries.split_at(remembered);
    let past = old.iter().filter(|entry| is_history(entry, model));
    past.chain(recent)
        .filter_map(|entry| finding(entry, model))
        .collect()
}

/// What happened before the trouble began, which no repair changes.
fn is_history(entry: &Entry, model: &Model) -> bool {
    matches!(entry, Entry::Seen(found) if model
        .observation(found.observation.as_str())
        .is_some_and(|at| model.observations[at.at()].kind == ObservationKind::History))
}

fn finding(entry: &Entry, model: &Model) -> Option<Finding> {
    match entry {
        Entry::Repaired(fault) => model.fault(fault.as_str()).map(Finding::Repaired),
        Entry::Seen(found) => {
            let at = model.observation(found.observation.as_str())?;
            let observation = &model.observations[at.at()];
            let mut weights = vec![0.0; observation.outcomes.len()];
            for (outcome, weight) in &found.weights {
                weights[observation.outcome(outcome.as_str())?.at()] = *weight;
            }
            Some(Finding::Seen {
                observation: at,
                weights,
                strength: found.strength,
            })
        }
    }
}

/// While a danger is open nothing is asked for: what would come next need not be worked out finely.
fn depth(state: &State) -> Depth {
    if state.hazards.is_empty() {
        Depth::TwoSteps
    } else {
        Depth::OneStep
    }
}

/// What may be weighed at all: gates, kit and refusals have already taken the rest away.
struct Options {
    open: Vec<OpeningIx>,
    observations: Vec<ObservationIx>,
    repairs: Vec<FaultIx>,
}

impl Options {
    fn of(state: &State, knowledge: &Knowledge, model: &Model) -> Self {
        let observations = (0..model.observations.len()).map(ObservationIx::from);
        let repairs = (0..model.faults.len()).map(FaultIx::from);
        let openings = model.openings.iter().zip(0..);
        Self {
            open: openings
                .filter(|(opening, _)| state.open.contains(&opening.id))
                .map(|(_, at)| OpeningIx(at))
                .collect(),
            observations: observations
                .filter(|at| askable(state, knowledge, &model.observations[at.at()], None))
                .collect(),
            repairs: repairs
                .filter(|at| repairable(state, knowledge, &model.faults[at.at()].id))
                .collect(),
        }
    }

    fn situation<'s>(
        &'s self,
        state: &State,
        knowledge: &Knowledge,
        model: &'s Model,
        belief: &'s Belief,
    ) -> Situation<'s> {
        Situation {
            model,
            belief,
            open: &self.open,
            observations: &self.observations,
            repairs: &self.repairs,
            terms: terms(knowledge, state.terms.round_trip_minutes),
            depth: depth(state),
        }
    }
}

/// Whether it may be asked for, with one more piece of kit if given.
fn askable(
    state: &State,
    knowledge: &Knowledge,
    observation: &Observation,
    more: Option<&KitId>,
) -> bool {
    let id = &observation.id;
    let worded = match observation.kind {
        ObservationKind::Proof => false,
        ObservationKind::Symptom => knowledge.symptoms.get(id).is_some_and(|item| item.askable),
        ObservationKind::History | ObservationKind::Choice | ObservationKind::Measurement => true,
    };
    // What happened before does not change with a repair.
    let known = match observation.kind {
        ObservationKind::History => state.found(id),
        _ => state.found_since_repair(id),
    };
    worded
        && known.is_none()
        && observation
            .kit
            .iter()
            .all(|kit| state.has(kit) || more == Some(kit))
        && open_to(state, knowledge, &Target::Observation(id.clone()))
}

fn repairable(state: &State, knowledge: &Knowledge, id: &FaultId) -> bool {
    knowledge.faults.get(id).is_some_and(|fault| {
        !fault.repair.shop
            && !just_repaired(state, id)
            && kit_at_hand(state, &fault.repair.kit)
            && open_to(state, knowledge, &Target::Repair(id.clone()))
    })
}

/// Whether nothing has been learned since this repair: not even a failed proof, which alone would
/// be a reason to do it over again.
fn just_repaired(state: &State, id: &FaultId) -> bool {
    let since = state.entries.iter().rev();
    since
        .take_while(|entry| !matches!(entry, Entry::Seen(_)))
        .any(|entry| matches!(entry, Entry::Repaired(fault) if fault == id))
}

/// Kit for a repair can be fetched; only what the rider said is missing counts against it.
fn kit_at_hand(state: &State, kit: &[KitId]) -> bool {
    !state.settled.contains(&Topic::Kit) || kit.iter().all(|kit| state.kit.get(kit) != Some(&false))
}

/// Neither refused nor barred by a condition that does not hold.
fn open_to(state: &State, knowledge: &Knowledge, target: &Target) -> bool {
    !state.declined.contains_key(target)
        && !matches!(clearance(state, knowledge, target), Clearance::Blocked(_))
}

fn may_repeat(state: &State, knowledge: &Knowledge, id: &ObservationId) -> bool {
    let target = Target::Observation(id.clone());
    let asked = state.found(id).is_some_and(|found| found.asked);
    asked
        && !state.repeated.contains(id)
        && state.declined.get(&target) != Some(&Declined::Cannot)
        && open_to(state, knowledge, &target)
}
