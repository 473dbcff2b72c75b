//! The state of a conversation: a fold over its events that copies and decides nothing.

use super::event::{
    Declined, Ending, Event, Found, HandOver, Incoming, Logged, MeterTold, Query, Shown, SpecTold,
    Step, Target, Terms, Topic, Turn,
};
use crate::knowledge::id::{FaultId, GateId, HazardId, KitId, ObservationId, OpeningId, SystemId};
use crate::reply::Phase;
use std::collections::{BTreeMap, BTreeSet};

/// What was learned and put right, in order.
#[expect(
    clippy::large_enum_variant,
    reason = "a conversation holds a few dozen of these, and matching stays plain"
)]
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// An observation was made.
    Seen(Found),
    /// A fault was put right.
    Repaired(FaultId),
}

/// How a conversation ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum End {
    /// A person has taken over.
    HandedOver(HandOver),
    /// It is over.
    Closed(Ending),
}

/// How a condition stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GateAnswer {
    /// The rider confirmed it.
    Holds,
    /// The rider denied it.
    Denied,
    /// It must be asked again.
    Reopened,
}

/// Everything the next turn depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Under which terms it was opened.
    pub terms: Terms,
    /// The last turn.
    pub turn: Turn,
    /// What was learned and put right, in order.
    pub entries: Vec<Entry>,
    /// The bare leads, as last read.
    pub leads: Option<Shown>,
    /// How good the rider says the meter is.
    pub meter: Option<MeterTold>,
    /// What the engine delivers, in watts, as the rider said.
    pub power: Option<f64>,
    /// Specs out of the rider's own manual; the last for an observation counts.
    pub specs: Vec<SpecTold>,
    /// The fuel system.
    pub system: Option<SystemId>,
    /// What the rider has or lacks.
    pub kit: BTreeMap<KitId, bool>,
    /// Questions answered as far as the rider could.
    pub settled: BTreeSet<Topic>,
    /// Open dangers, in the order reported.
    pub hazards: Vec<HazardId>,
    /// Conditions confirmed, denied or reopened; absent where never spoken of.
    pub gates: BTreeMap<GateId, GateAnswer>,
    /// What the rider was last asked for.
    pub table: Option<Step>,
    /// What must be cleared up about it first.
    pub query: Option<Query>,
    /// The question that was put a second time, whose parts are then asked one by one.
    pub pressed: Option<Query>,
    /// Readings already asked for again.
    pub repeated: BTreeSet<ObservationId>,
    /// Whether skipped steps have been offered a second time.
    pub reconsidered: bool,
    /// Steps that came to nothing.
    pub declined: BTreeMap<Target, Declined>,
    /// What is open on the bike.
    pub open: BTreeSet<OpeningId>,
    /// Repairs carried out.
    pub repaired: Vec<FaultId>,
    /// A repair not yet proven.
    pub unproven: Option<FaultId>,
    /// Whether the last proof found the complaint gone.
    pub gone: bool,
    /// Whether the rider wants to end here, once the bike is back together.
    pub stopping: bool,
    /// Minutes of work so far.
    pub minutes: f64,
    /// How it ended, if it did.
    pub end: Option<End>,
    /// Turns that can still be taken back, oldest first.
    undoable: Vec<Turn>,
    log: Vec<Logged>,
}

impl Default for Terms {
    fn default() -> Self {
        Self {
            system: None,
            kit: None,
            round_trip_minutes: 0.0,
            bike: None,
            knowledge: String::new(),
        }
    }
}

impl State {
    /// The state after these events. Taken-back turns are left out, safety events excepted.
    #[must_use]
    pub fn fold(log: &[Logged]) -> Self {
        let mut state = Self::empty();
        let undone: BTreeSet<Turn> = log.iter().filter_map(undone_turn).collect();
        for logged in log {
            state.turn = state.turn.max(logged.turn);
            if !undone.contains(&logged.turn) || is_safety(&logged.event) {
                state.mark(logged);
                state.take(&logged.event);
            }
        }
        state.log = log.to_vec();
        state
    }

    /// The state after one more event.
    pub fn apply(&mut self, logged: Logged) {
        if undone_turn(&logged).is_some() {
            let mut log = std::mem::take(&mut self.log);
            log.push(logged);
            *self = Self::fold(&log);
        } else {
            self.turn = self.turn.max(logged.turn);
            self.mark(&logged);
            self.take(&logged.event);
            self.log.push(logged);
        }
    }

    /// The conversation's phase, derived.
    #[must_use]
    pub fn phase(&self) -> Phase {
        match (&self.end, self.hazards.is_empty(), &self.table) {
            (_, false, _) | (None, true, Some(Step::Safe(_))) => Phase::Halted,
            (Some(End::Closed(_)), true, _) | (None, true, Some(Step::Stop)) => Phase::Closed,
            (Some(End::HandedOver(_)), true, _) | (None, true, Some(Step::HandOver(_))) => {
                Phase::HandedOver
            }
            (None, true, None | Some(Step::Tell(Topic::Complaint | Topic::Background))) => {
                Phase::Intake
            }
            (None, true, Some(Step::Tell(Topic::System | Topic::Kit))) => Phase::Profile,
            (None, true, Some(Step::Surroundings | Step::Clear { .. })) => Phase::Surroundings,
            (None, true, Some(Step::Observe(_))) => Phase::Testing,
            (None, true, Some(Step::Repair(_))) => Phase::Repair,
            (None, true, Some(Step::Prove(_))) => Phase::Proof,
            (None, true, Some(Step::Refit)) => Phase::Refit,
        }
    }

    /// What was last learned of an observation, repairs notwithstanding.
    #[must_use]
    pub fn found(&self, observation: &ObservationId) -> Option<&Found> {
        self.entries.iter().rev().find_map(|entry| match entry {
            Entry::Seen(found) if found.observation == *observation => Some(found),
            _ => None,
        })
    }

    /// What was learned of an observation since the last repair.
    #[must_use]
    pub fn found_since_repair(&self, observation: &ObservationId) -> Option<&Found> {
        let since = self
            .entries
            .iter()
            .rev()
            .take_while(|entry| matches!(entry, Entry::Seen(_)));
        since.into_iter().find_map(|entry| match entry {
            Entry::Seen(found) if found.observation == *observation => Some(found),
            _ => None,
        })
    }

    /// Whether the rider has that kit.
    #[must_use]
    pub fn has(&self, kit: &KitId) -> bool {
        self.kit.get(kit).copied().unwrap_or(false)
    }

    /// The last turn that can be taken back.
    #[must_use]
    pub fn last_undoable(&self) -> Option<Turn> {
        self.undoable.last().copied()
    }

    /// The log it was folded from.
    #[must_use]
    pub fn log(&self) -> &[Logged] {
        &self.log
    }

    /// Whether the rider has said anything since the conversation, or its new beginning, was opened.
    #[must_use]
    pub fn heard_since_start(&self) -> bool {
        let since = self.log.iter().rev();
        since
            .take_while(|logged| logged.event != Event::StartedOver)
            .any(|logged| matches!(logged.event, Event::Heard(_)))
    }

    fn empty() -> Self {
        Self {
            terms: Terms::default(),
            turn: 0,
            entries: Vec::new(),
            leads: None,
            meter: None,
            power: None,
            specs: Vec::new(),
            system: None,
            kit: BTreeMap::new(),
            settled: BTreeSet::new(),
            hazards: Vec::new(),
            gates: BTreeMap::new(),
            table: None,
            query: None,
            pressed: None,
            repeated: BTreeSet::new(),
            reconsidered: false,
            declined: BTreeMap::new(),
            open: BTreeSet::new(),
            repaired: Vec::new(),
            unproven: None,
            gone: false,
            stopping: false,
            minutes: 0.0,
            end: None,
            undoable: Vec::new(),
            log: Vec::new(),
        }
    }

    /// Begins again under the same terms; dangers, what is open and what is repaired stay as they
    /// are on the bike.
    fn restart(&mut self) {
        let old = std::mem::replace(self, Self::empty());
        self.open_under(&old.terms);
        self.turn = old.turn;
        self.hazards = old.hazards;
        self.open = old.open;
        self.minutes = old.minutes;
        self.log = old.log;
        self.undoable = old.undoable;
    }

    fn mark(&mut self, logged: &Logged) {
        let counts = !is_safety(&logged.event)
            && !is_aside(&logged.event)
            && !matches!(logged.event, Event::Heard(_) | Event::Asked(_));
        if counts && logged.turn > 0 && self.undoable.last() != Some(&logged.turn) {
            self.undoable.push(logged.turn);
        }
    }

    fn take(&mut self, event: &Event) {
        match event {
            Event::Opened(terms) => self.open_under(terms),
            // What is said about a conversation changes nothing in it.
            Event::Heard(_)
            | Event::Undone(_)
            | Event::ForgetAsked
            | Event::Nudged
            | Event::Rested
            | Event::ConsentAsked
            | Event::Consented(_)
            | Event::Corrected(_)
            | Event::Confirmed(_) => {}
            Event::Found(found) => self.see(found),
            Event::LeadsRead(shown) => self.leads = Some(shown.clone()),
            Event::MeterTold(told) => self.meter = Some(told.clone()),
            Event::PowerTold(watts) => self.power = Some(*watts),
            Event::SpecTold(spec) => self.specs.push(spec.clone()),
            Event::SystemTold(system) => self.system = Some(system.clone()),
            Event::KitTold { kit, has } => {
                self.kit.insert(kit.clone(), *has);
            }
            Event::Settled(topic) => {
                self.settled.insert(*topic);
            }
            Event::HazardRaised(hazard) => {
                self.hazards.push(hazard.clone());
                self.forget_gates();
            }
            Event::HazardCleared(hazard) => self.hazards.retain(|open| open != hazard),
            Event::GateAnswered { gate, holds } => {
                let answer = if *holds {
                    GateAnswer::Holds
                } else {
                    GateAnswer::Denied
                };
                self.gates.insert(gate.clone(), answer);
            }
            Event::GateReopened(gate) => {
                self.gates.insert(gate.clone(), GateAnswer::Reopened);
            }
            Event::Asked(step) => {
                self.table = Some(step.clone());
                self.query = None;
                self.pressed = None;
            }
            Event::Queried(query) => {
                if let Query::Repeat(observation) = query {
                    self.repeated.insert(observation.clone());
                }
                self.pressed = self.query.take().filter(|before| before == query);
                self.query = Some(query.clone());
            }
            Event::Declined { target, reason } => {
                self.declined.insert(target.clone(), *reason);
                self.query = None;
            }
            Event::Reconsidered => {
                self.reconsidered = true;
                self.declined
                    .retain(|_, reason| !matches!(reason, Declined::Skipped | Declined::Gated));
            }
            Event::AccessOpened(opening) => {
                self.open.insert(opening.clone());
            }
            Event::Repaired(fault) => self.repair(fault),
            Event::Proved { gone, .. } => {
                self.unproven = None;
                self.gone = *gone;
            }
            Event::Stopping => self.stopping = true,
            Event::Refitted => self.open.clear(),
            Event::Spent(minutes) => self.minutes += minutes,
            Event::HandedOver(reason) => self.end = Some(End::HandedOver(reason.clone())),
            Event::Closed(ending) => self.end = Some(End::Closed(ending.clone())),
            Event::StartedOver => self.restart(),
        }
    }

    fn open_under(&mut self, terms: &Terms) {
        self.system.clone_from(&terms.system);
        self.kit = told_kit(terms);
        if terms.kit.is_some() {
            self.settled.insert(Topic::Kit);
        }
        self.terms = terms.clone();
    }

    /// A repeat replaces its earlier result unless a repair stands between.
    fn see(&mut self, found: &Found) {
        let last_repair = self
            .entries
            .iter()
            .rposition(|entry| matches!(entry, Entry::Repaired(_)));
        let since = last_repair.map_or(0, |at| at + 1);
        let mut position = 0;
        self.entries.retain(|entry| {
            let same = matches!(entry, Entry::Seen(old) if old.observation == found.observation);
            position += 1;
            position <= since || !same
        });
        self.entries.push(Entry::Seen(found.clone()));
        if self.query.as_ref().is_none_or(|query| {
            query
                .about()
                .is_none_or(|about| *about == found.observation)
        }) {
            self.query = None;
        }
    }

    fn repair(&mut self, fault: &FaultId) {
        self.entries.push(Entry::Repaired(fault.clone()));
        self.repaired.push(fault.clone());
        self.unproven = Some(fault.clone());
        self.gone = false;
    }

    /// What was confirmed no longer stands once a danger came between.
    fn forget_gates(&mut self) {
        for answer in self.gates.values_mut() {
            *answer = GateAnswer::Reopened;
        }
    }
}

/// What the rider typed or picked in a turn.
#[must_use]
pub fn heard_in(state: &State, turn: Turn) -> Option<String> {
    state.log.iter().find_map(|logged| match &logged.event {
        Event::Heard(Incoming::Text(text) | Incoming::Choose(text)) if logged.turn == turn => {
            Some(text.clone())
        }
        _ => None,
    })
}

fn told_kit(terms: &Terms) -> BTreeMap<KitId, bool> {
    terms
        .kit
        .iter()
        .flatten()
        .map(|kit| (kit.clone(), true))
        .collect()
}

fn undone_turn(logged: &Logged) -> Option<Turn> {
    match logged.event {
        Event::Undone(turn) => Some(turn),
        _ => None,
    }
}

/// What is said about a conversation rather than in it.
fn is_aside(event: &Event) -> bool {
    matches!(
        event,
        Event::ForgetAsked
            | Event::Nudged
            | Event::Rested
            | Event::ConsentAsked
            | Event::Consented(_)
            | Event::Corrected(_)
            | Event::Confirmed(_)
    )
}

/// Taking a turn back must never lift a stop or forget that something lies open.
fn is_safety(event: &Event) -> bool {
    matches!(
        event,
        Event::Opened(_)
            | Event::HazardRaised(_)
            | Event::HazardCleared(_)
            | Event::AccessOpened(_)
            | Event::Refitted
            | Event::GateReopened(_)
            | Event::Undone(_)
    )
}
