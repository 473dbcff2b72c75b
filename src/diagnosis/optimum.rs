//! The fewest expected minutes any way of choosing steps can reach, for small models.
//!
//! Dynamic programming over everything that can become known, with branch and bound: the measure
//! by which the planner is judged, far too slow to plan with.

use super::cost::{Openings, Prices};
use super::plan::Situation;
use super::sequence::{Case, Done, Options};
use super::sets::{Members, Sets, without};
use crate::knowledge::model::{FaultIx, ObservationIx};
use std::collections::BTreeMap;

/// Most faults, and most observations, for which the optimum is worked out.
pub const LARGEST: usize = 8;

/// Ways whose best and least conceivable minutes differ by less than this share of handing over
/// are not followed, and counted with the least.
const NEGLIGIBLE: f64 = 2e-4;

/// Expected minutes of the best policy from this situation on, from below; none where the model
/// has more than [`LARGEST`] faults, where more observations are allowed, or where the evidence is
/// impossible.
///
/// Every observation is made at most once and every repair is tried at most once. After a repair
/// the proof shows for certain whether anything is still wrong.
#[must_use]
pub fn optimum(situation: &Situation) -> Option<f64> {
    let model = situation.model;
    if model.faults.len() > LARGEST
        || situation.observations.len() > LARGEST
        || !situation.belief.is_possible()
    {
        return None;
    }
    let sets = situation.belief.sets();
    let mut weights = vec![0.0; sets.count()];
    for set in situation.belief.likeliest_now(0.0) {
        weights[sets.position(set.members)] += set.weight;
    }
    let mut members = Vec::with_capacity(sets.count());
    sets.for_each(|_, set| members.push(set));
    let mine =
        |f: &&FaultIx| !model.faults[f.at()].repair.shop_only && !situation.belief.is_repaired(**f);
    let mut search = Search {
        prices: Prices::of(model, situation.terms),
        sets,
        members,
        observations: situation.observations,
        repairs: situation
            .repairs
            .iter()
            .filter(mine)
            .map(|f| f.at())
            .collect(),
        known: BTreeMap::new(),
    };
    let open = Openings::with_parents(model, situation.open);
    let start = State {
        history: History::default(),
        weights,
        open,
    };
    Some(search.value(&start, f64::INFINITY))
}

/// What has been seen and repaired; states with the same history are the same.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
struct History {
    /// By observation allowed: its outcome plus 1 with what was repaired by then, or 0.
    seen: [(u8, u16); LARGEST],
    /// Repaired faults, one bit each.
    repaired: u16,
}

#[derive(Debug, Clone)]
struct State {
    history: History,
    /// By set of faults present now: the probability of getting here with it.
    weights: Vec<f64>,
    open: Openings,
}

/// What is known of a state's value.
#[derive(Debug, Clone, Copy)]
enum Known {
    Exactly(f64),
    AtLeast(f64),
}

/// A way on: what it costs at once, and the states it may lead to with their least minutes.
struct Way {
    cost: f64,
    branches: Vec<(State, f64)>,
    least: f64,
}

struct Search<'a> {
    prices: Prices<'a>,
    sets: &'a Sets,
    members: Vec<Members>,
    observations: &'a [ObservationIx],
    repairs: Vec<usize>,
    known: BTreeMap<History, Known>,
}

impl Search<'_> {
    /// Expected minutes from here on, times the probability of getting here. A result of `limit` or
    /// more only says that the value is no less.
    fn value(&mut self, state: &State, limit: f64) -> f64 {
        let least = self.least(state);
        let acting = self.acting(state);
        let close = NEGLIGIBLE * self.prices.handing_over(1.0, 1.0);
        if least >= limit || acting - least < close {
            return least;
        }
        match self.known.get(&state.history) {
            Some(Known::Exactly(value)) => return *value,
            Some(Known::AtLeast(value)) if *value >= limit => return *value,
            _ => {}
        }
        let mut best = acting;
        let mut at_least = acting;
        for way in self.ways(state) {
            let cap = best.min(limit);
            let value = if way.least >= cap {
                way.least
            } else {
                self.follow(&way, cap)
            };
            at_least = at_least.min(value);
            if value < cap {
                best = value;
            }
        }
        let known = if best < limit {
            Known::Exactly(best)
        } else {
            Known::AtLeast(at_least)
        };
        self.known.insert(state.history.clone(), known);
        if best < limit { best } else { at_least }
    }

    /// The minutes of a way, or at least `cap` where it takes no less.
    fn follow(&mut self, way: &Way, cap: f64) -> f64 {
        let mut minutes = way.cost;
        let mut to_come = way.least - way.cost;
        for (branch, least) in &way.branches {
            to_come -= least;
            minutes += self.value(branch, cap - minutes - to_come);
            if minutes + to_come >= cap {
                return minutes + to_come;
            }
        }
        minutes
    }

    /// Every way on, the most promising first.
    fn ways(&self, state: &State) -> Vec<Way> {
        let repairs = self
            .repairs_left(state)
            .into_iter()
            .map(|fault| self.repair(state, fault));
        let unseen = (0..self.observations.len()).filter(|at| state.history.seen[*at].0 == 0);
        let mut ways: Vec<Way> = repairs
            .chain(unseen.map(|at| self.observe(state, at)))
            .collect();
        ways.sort_by(|x, y| x.least.total_cmp(&y.least));
        ways
    }

    fn repairs_left(&self, state: &State) -> Vec<usize> {
        self.repairs
            .iter()
            .copied()
            .filter(|fault| state.history.repaired >> fault & 1 == 0)
            .collect()
    }

    /// Repairing without another look: no more than that is ever needed.
    fn acting(&self, state: &State) -> f64 {
        let none = self.sets.faults();
        let mut marginals = vec![0.0; none + 1];
        for (members, weight) in self.members.iter().zip(&state.weights) {
            for fault in members {
                marginals[*fault] += weight;
            }
        }
        let options = Options {
            observations: Vec::new(),
            repairs: self.repairs_left(state),
            open: state.open,
        };
        let left_with = |fault: usize, done: &[Done]| {
            let mut cured = vec![0.0; none + 1];
            cured[none] = 1.0;
            for (fault, success) in done {
                cured[*fault] = *success;
            }
            let others = |set: &Members| -> f64 {
                let other = set.iter().filter(|f| **f != fault);
                other.map(|f| cured[*f]).product()
            };
            let weighed = self.members.iter().zip(&state.weights);
            let holding = weighed.filter(|(set, _)| set.contains(&fault));
            holding.map(|(set, weight)| weight * others(set)).sum()
        };
        let case = Case {
            total: state.weights.iter().sum(),
            marginals: &marginals[..none],
            healthy: state.weights[0],
            left_with,
        };
        let reach = options.reach(&self.prices);
        case.course(&self.prices, &reach, None).minutes
    }

    /// No policy takes less: each fault present must be repaired, or left to a shop.
    fn least(&self, state: &State) -> f64 {
        let none = self.sets.faults();
        let shop = self.prices.handing_over(1.0, 0.0);
        let left_to_shop = self.prices.handing_over(0.0, 1.0);
        let mut repair = vec![f64::INFINITY; none + 1];
        let mut access = vec![0.0; none + 1];
        let mut cheapest = shop;
        for fault in self.repairs_left(state) {
            repair[fault] = self.prices.repairing(FaultIx::from(fault), Openings::ALL);
            access[fault] = self
                .prices
                .access(self.prices.repair_needs(FaultIx::from(fault)), state.open);
            cheapest = cheapest.min(repair[fault] + access[fault]);
        }
        repair[none] = 0.0;
        let minutes = |members: Members| {
            let sum = |most: f64| members.map(|f| repair[f].min(most)).iter().sum::<f64>();
            let open = members.map(|f| access[f]).into_iter().fold(0.0, f64::max);
            let every_fault = sum(f64::INFINITY) + open;
            every_fault.min(shop + sum(left_to_shop)).max(cheapest)
        };
        self.members
            .iter()
            .zip(&state.weights)
            .map(|(members, weight)| weight * minutes(*members))
            .sum()
    }

    fn repair(&self, state: &State, fault: usize) -> Way {
        let none = self.sets.faults();
        let success = self.prices.model.faults[fault].repair.success;
        let minutes = self.prices.repairing(FaultIx::from(fault), state.open);
        let mut next = State {
            weights: vec![0.0; state.weights.len()],
            ..state.clone()
        };
        let mut cost = 0.0;
        for (members, weight) in self.members.iter().zip(&state.weights) {
            let rest = without(*members, fault, none);
            let present = rest != *members;
            cost += weight
                * (minutes
                    + if present {
                        0.0
                    } else {
                        self.prices.terms.wrong_repair_minutes
                    });
            let cured = if present { weight * success } else { 0.0 };
            next.weights[self.sets.position(rest)] += cured;
            next.weights[self.sets.position(*members)] += weight - cured;
        }
        next.weights[0] = 0.0;
        next.history.repaired |= 1 << fault;
        next.open = state
            .open
            .and(self.prices.repair_needs(FaultIx::from(fault)));
        self.way(cost, vec![next])
    }

    fn observe(&self, state: &State, at: usize) -> Way {
        let observation = self.observations[at];
        let total: f64 = state.weights.iter().sum();
        let cost = total * self.prices.observing(&[observation], state.open);
        let outcomes = self.prices.model.observations[observation.at()]
            .outcomes
            .len();
        self.way(
            cost,
            (0..outcomes)
                .map(|outcome| self.seen(state, at, outcome))
                .collect(),
        )
    }

    fn way(&self, cost: f64, branches: Vec<State>) -> Way {
        let branches: Vec<(State, f64)> = branches
            .into_iter()
            .map(|branch| {
                let least = self.least(&branch);
                (branch, least)
            })
            .collect();
        let least = cost + branches.iter().map(|(_, least)| least).sum::<f64>();
        Way {
            cost,
            branches,
            least,
        }
    }

    fn seen(&self, state: &State, at: usize, outcome: usize) -> State {
        let observation = self.observations[at];
        let looked_at = &self.prices.model.observations[observation.at()];
        let mut next = state.clone();
        for (members, weight) in self.members.iter().zip(&mut next.weights) {
            let decides = looked_at
                .causes
                .iter()
                .find(|cause| members.contains(&cause.fault.at()));
            *weight *= decides.map_or(&looked_at.normal, |cause| &cause.outcomes)[outcome];
        }
        let number = u8::try_from(outcome + 1).expect("an observation has few outcomes");
        next.history.seen[at] = (number, state.history.repaired);
        next.open = state.open.and(self.prices.observation_needs(observation));
        next
    }
}
