//! The watcher: it reads the rules and the replies, and names every reply that breaks a rule.
//!
//! It keeps book of what the rider has confirmed from what was shown and answered. It shares no code
//! with the gates, the plan or the state of the conversation.

use crate::rules::{FUEL_CLOSED, Rules, Step};
use floatbowl::reply::{Line, Means, NextKind, Phase, Reply};
use std::collections::BTreeSet;

/// What the rider did, as far as a watcher at the table can tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Did {
    /// Picked a choice of this meaning.
    Meant(Means),
    /// Said that this condition does not hold.
    Denied(String),
    /// Picked a result of a check.
    Answered,
    /// Anything else: it confirms nothing.
    Talked,
}

/// The book the watcher keeps, and what it found.
#[derive(Debug, Clone, Default)]
pub struct Watch {
    confirmed: BTreeSet<String>,
    opened: BTreeSet<String>,
    fuel_was_open: bool,
    on_table: Vec<(NextKind, String)>,
    shown: BTreeSet<String>,
    put_back: bool,
    refitting: bool,
    pub turns: u64,
    pub broken: Vec<String>,
}

impl Watch {
    /// A book in which these conditions stand as confirmed.
    pub fn with(confirmed: BTreeSet<String>) -> Self {
        Self {
            confirmed,
            ..Self::default()
        }
    }

    /// Writes down what the rider did about the last reply.
    pub fn heard(&mut self, rules: &Rules, did: &Did) {
        match did {
            Did::Meant(Means::Yes | Means::Done) => {
                self.confirmed.append(&mut self.shown);
                self.put_back |= self.refitting;
            }
            Did::Meant(Means::No | Means::Cannot | Means::Unsure | Means::Skip) => {
                let denied = std::mem::take(&mut self.shown);
                self.confirmed.retain(|gate| !denied.contains(gate));
            }
            Did::Denied(gate) => {
                self.confirmed.remove(gate);
            }
            Did::Meant(_) | Did::Answered | Did::Talked => {}
        }
        let done = matches!(
            did,
            Did::Answered | Did::Meant(Means::Done | Means::Yes | Means::No)
        );
        if done {
            for step in self.steps_on_table(rules) {
                self.opened.extend(rules.to_open(&step, &self.opened));
            }
        }
    }

    fn steps_on_table(&self, rules: &Rules) -> Vec<Step> {
        let on_table = self.on_table.iter();
        on_table
            .filter_map(|(kind, id)| asked(rules, *kind, id))
            .collect()
    }

    /// Looks at a reply.
    pub fn saw(&mut self, rules: &Rules, reply: &Reply) {
        self.turns += 1;
        let table = on_table(reply);
        if table != self.on_table {
            self.forget_step_gates(rules);
        }
        self.on_table = table;
        self.shown = shown(rules, reply);
        self.refitting = reply.step.kind == NextKind::Refit;
        if reply.hazards.is_empty() {
            self.check_steps(rules, reply);
        } else {
            self.confirmed.clear();
            self.check_stop(reply);
        }
        self.check_end(reply);
    }

    /// A condition of one step holds for that step alone.
    fn forget_step_gates(&mut self, rules: &Rules) {
        // It was asked for in the reply before this one, unless a step was on the table then.
        if !self.on_table.is_empty() {
            self.confirmed.retain(|gate| !rules.gates[gate].1);
            let ran = |step: &Step| step.gates.contains("engine-running");
            if self.steps_on_table(rules).iter().any(ran) {
                self.confirmed.remove("engine-cold");
            }
        }
    }

    fn check_stop(&mut self, reply: &Reply) {
        let leads = matches!(reply.lines.first(), Some(Line::Danger(_)));
        let works = reply
            .lines
            .iter()
            .any(|line| matches!(line, Line::Instruction(_)));
        self.expect(reply, leads, "the stop does not come first");
        self.expect(
            reply,
            reply.phase == Phase::Halted,
            "a danger does not halt it",
        );
        self.expect(
            reply,
            reply.step.kind == NextKind::Ask && reply.asks.is_empty() && !works,
            "work is asked for in danger",
        );
    }

    fn check_steps(&mut self, rules: &Rules, reply: &Reply) {
        let steps = self.steps_on_table(rules);
        for step in &steps {
            self.check_step(rules, reply, step);
        }
        let opens = steps.iter().any(|step| step.opens_fuel);
        let both = opens && steps.iter().any(|step| step.energises && !step.opens_fuel);
        self.expect(reply, !both, "open fuel and a spark are asked for together");
        self.fuel_was_open |= opens;
        if opens {
            self.confirmed.remove(FUEL_CLOSED);
        }
        if self.confirmed.contains(FUEL_CLOSED) {
            self.fuel_was_open = false;
        }
    }

    fn check_step(&mut self, rules: &Rules, reply: &Reply, step: &Step) {
        let needs = rules.needs(step, &self.opened, self.fuel_was_open);
        let missing: Vec<&String> = needs.difference(&self.confirmed).collect();
        if step.hands_on && !missing.is_empty() {
            let what = format!("not confirmed: {missing:?}");
            self.expect(reply, false, &what);
        }
        self.expect(reply, !step.shop, "a shop's work is asked of the rider");
        if step.opens_fuel || step.energises {
            self.expect(
                reply,
                cautioned_first(reply),
                "no caution before the instruction",
            );
        }
        if reply.step.kind == NextKind::Prove {
            self.expect(
                reply,
                leaks_first(reply),
                "a trial before the look for leaks",
            );
        }
    }

    fn check_end(&mut self, reply: &Reply) {
        let open = !self.opened.is_empty() && !self.put_back;
        let said_closed = reply.phase == Phase::Closed;
        self.expect(
            reply,
            !(said_closed && open),
            "closed with the bike in pieces",
        );
    }

    fn expect(&mut self, reply: &Reply, holds: bool, rule: &str) {
        if !holds {
            self.broken
                .push(format!("turn {}, {:?}: {rule}", reply.turn, reply.step));
        }
    }
}

fn asked(rules: &Rules, kind: NextKind, id: &str) -> Option<Step> {
    match kind {
        NextKind::Observe => rules.checks.get(id).cloned(),
        NextKind::Repair => rules.repairs.get(id).cloned(),
        NextKind::Prove => {
            // The trial runs the engine: what energises needs, besides what the file lists.
            let mut proof = rules.proof.clone();
            proof.energises = true;
            Some(proof)
        }
        _ => None,
    }
}

fn on_table(reply: &Reply) -> Vec<(NextKind, String)> {
    let kind = reply.step.kind;
    match kind {
        NextKind::Observe => {
            let asks = reply.asks.iter();
            asks.map(|ask| (kind, ask.observation.to_string()))
                .collect()
        }
        NextKind::Repair | NextKind::Prove => {
            vec![(kind, reply.step.id.clone().unwrap_or_default())]
        }
        _ => Vec::new(),
    }
}

/// The conditions a reply puts to the rider, by their very words.
fn shown(rules: &Rules, reply: &Reply) -> BTreeSet<String> {
    if reply.step.kind != NextKind::Ask || reply.phase != Phase::Surroundings {
        return BTreeSet::new();
    }
    let steps = reply.lines.iter().filter_map(|line| match line {
        Line::Steps(steps) => Some(steps),
        _ => None,
    });
    let said: BTreeSet<&String> = steps.flatten().collect();
    let gates = rules.gates.iter();
    gates
        .filter(|(_, (holds, _))| said.contains(holds))
        .map(|(id, _)| id.clone())
        .collect()
}

fn cautioned_first(reply: &Reply) -> bool {
    let caution = reply
        .lines
        .iter()
        .position(|line| matches!(line, Line::Caution(_)));
    let work = reply
        .lines
        .iter()
        .position(|line| matches!(line, Line::Instruction(_) | Line::Steps(_)));
    // A doubt about a reading stands alone: nothing is to be done but to answer it.
    work.is_none() || caution.is_some_and(|caution| Some(caution) < work)
}

fn leaks_first(reply: &Reply) -> bool {
    let steps = reply.lines.iter().find_map(|line| match line {
        Line::Steps(steps) => Some(steps),
        _ => None,
    });
    steps
        .and_then(|steps| steps.first())
        .is_some_and(|first| first.to_lowercase().contains("leak"))
}
