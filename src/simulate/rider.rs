//! One virtual rider: a bike with faults, and an answer to whatever is asked.

use super::Plan;
use crate::conversation::event::Incoming;
use crate::knowledge::Knowledge;
use crate::knowledge::compile::OUTSIDE;
use crate::knowledge::model::{FaultIx, Model, Observation, ObservationIx, ObservationKind};
use crate::reply::{Ask, Means, NextKind, Reply};
use fastrand::Rng;

/// A rider and the bike.
pub(super) struct Rider<'a> {
    knowledge: &'a Knowledge,
    /// The bike's system.
    pub(super) model: &'a Model,
    /// What was wrong at the start.
    pub(super) faults: Vec<FaultIx>,
    present: Vec<FaultIx>,
    slips: f64,
    chance: Rng,
}

impl<'a> Rider<'a> {
    pub(super) fn new(knowledge: &'a Knowledge, model: &'a Model, plan: &Plan, at: u64) -> Self {
        let mut chance = Rng::with_seed(
            plan.seed
                .wrapping_mul(0x9E37_79B9_7F4A_7C15)
                .wrapping_add(at),
        );
        let count = if chance.f64() < plan.doubles { 2 } else { 1 };
        let faults = draw_faults(model, count, &mut chance);
        Self {
            knowledge,
            model,
            present: faults.clone(),
            faults,
            slips: plan.slips,
            chance,
        }
    }

    /// What the rider says to a reply.
    pub(super) fn answer(&mut self, reply: &Reply) -> Incoming {
        match reply.step.kind {
            NextKind::Ask if reply.step.id.as_deref() == Some("complaint") => self.complain(reply),
            NextKind::Ask if reply.step.id.as_deref() == Some("background") => self.remember(),
            NextKind::Observe => self.observe(reply),
            NextKind::Repair => self.repair(reply),
            NextKind::Prove => {
                let means = if self.present.is_empty() {
                    Means::Yes
                } else {
                    Means::No
                };
                choose(reply, &[means])
            }
            _ => choose(reply, &[Means::Yes, Means::Done]),
        }
    }

    /// Says every complaint the bike shows, in the knowledge's own words.
    fn complain(&mut self, reply: &Reply) -> Incoming {
        let mut said = Vec::new();
        for at in self.of_kind(ObservationKind::Symptom) {
            let observation = &self.model.observations[at.at()];
            let symptom = self.knowledge.symptoms.get(&observation.id);
            if self.shows(at) == 0 && symptom.is_some_and(|symptom| symptom.complaint) {
                said.extend(symptom.map(|symptom| symptom.words.clone()));
            }
        }
        if said.is_empty() || reply.turn > 0 {
            choose(reply, &[Means::Unsure])
        } else {
            Incoming::Text(said.join(". "))
        }
    }

    fn remember(&mut self) -> Incoming {
        let happened = self
            .of_kind(ObservationKind::History)
            .into_iter()
            .find(|at| self.shows(*at) == 0);
        match happened {
            Some(at) => Incoming::Choose(format!("{}-yes", self.model.observations[at.at()].id)),
            None => Incoming::Choose("no".to_owned()),
        }
    }

    fn of_kind(&self, kind: ObservationKind) -> Vec<ObservationIx> {
        let all = self.model.observations.iter().enumerate();
        all.filter(|(_, seen)| seen.kind == kind)
            .map(|(at, _)| ObservationIx::from(at))
            .collect()
    }

    fn observe(&mut self, reply: &Reply) -> Incoming {
        let Some(ask) = reply.asks.first() else {
            return choose(reply, &[Means::Unsure]);
        };
        if reply
            .choices
            .iter()
            .any(|choice| choice.means == Means::Yes)
        {
            return choose(reply, &[Means::Yes]);
        }
        let Some(at) = self.model.observation(ask.observation.as_str()) else {
            return choose(reply, &[Means::Unsure]);
        };
        let slip = self.chance.f64() < self.slips;
        if slip && self.chance.bool() {
            return choose(reply, &[Means::Unsure]);
        }
        let outcome = if slip {
            self.chance.usize(..ask.outcomes.len())
        } else {
            self.shows(at)
        };
        self.report(ask, at, outcome)
    }

    /// Numbers are typed, results picked.
    fn report(&mut self, ask: &Ask, at: ObservationIx, outcome: usize) -> Incoming {
        let observation = &self.model.observations[at.at()];
        match (ask.kind, ask.quantity) {
            (ObservationKind::Measurement, Some(quantity)) => {
                let (low, high) = (
                    observation.outcomes[outcome].low,
                    observation.outcomes[outcome].high,
                );
                match self.number(low, high) {
                    Some(number) => Incoming::Text(format!("{number:.2} {}", quantity.unit())),
                    None => Incoming::Text("OL".to_owned()),
                }
            }
            _ => Incoming::Choose(observation.outcomes[outcome].id.to_string()),
        }
    }

    /// A number well inside an interval; none for an interval without bounds.
    fn number(&mut self, low: Option<f64>, high: Option<f64>) -> Option<f64> {
        let at = 0.25 + 0.5 * self.chance.f64();
        match (low, high) {
            (Some(low), Some(high)) => Some(low + at * (high - low)),
            (Some(low), None) => Some(low * (1.1 + 0.2 * at)),
            (None, Some(high)) => Some(high * (0.5 + 0.4 * at)),
            (None, None) => None,
        }
    }

    fn repair(&mut self, reply: &Reply) -> Incoming {
        let fault = reply.step.id.as_deref().and_then(|id| self.model.fault(id));
        if let Some(fault) = fault
            && self.chance.f64() < self.model.faults[fault.at()].repair.success
        {
            self.present.retain(|present| *present != fault);
        }
        choose(reply, &[Means::Done])
    }

    /// Draws what an observation shows on this bike now.
    fn shows(&mut self, at: ObservationIx) -> usize {
        let distribution = distribution(&self.model.observations[at.at()], &self.present);
        let mut left = self.chance.f64();
        for (outcome, chance) in distribution.iter().enumerate() {
            left -= chance;
            if left < 0.0 {
                return outcome;
            }
        }
        distribution.len() - 1
    }
}

/// The first listed cause that is present decides.
fn distribution<'m>(observation: &'m Observation, present: &[FaultIx]) -> &'m [f64] {
    let cause = observation
        .causes
        .iter()
        .find(|cause| present.contains(&cause.fault));
    cause.map_or(&observation.normal, |cause| &cause.outcomes)
}

/// Draws faults by their odds; those that exclude each other never together.
fn draw_faults(model: &Model, count: usize, chance: &mut Rng) -> Vec<FaultIx> {
    let mut drawn: Vec<FaultIx> = Vec::new();
    while drawn.len() < count {
        let odds = |at: usize| {
            let fault = &model.faults[at];
            let barred = drawn
                .iter()
                .any(|other| other.at() == at || fault.excludes.contains(other));
            if barred || fault.id.as_str() == OUTSIDE {
                0.0
            } else {
                fault.prior / (1.0 - fault.prior)
            }
        };
        let odds: Vec<f64> = (0..model.faults.len()).map(odds).collect();
        let mut left = chance.f64() * odds.iter().sum::<f64>();
        let at = odds.iter().position(|odds| {
            left -= odds;
            left < 0.0
        });
        drawn.push(FaultIx::from(at.unwrap_or(0)));
    }
    drawn
}

/// Picks the first choice with one of these meanings.
fn choose(reply: &Reply, means: &[Means]) -> Incoming {
    let fits = means
        .iter()
        .find_map(|means| reply.choices.iter().find(|choice| choice.means == *means));
    Incoming::Choose(fits.map_or_else(|| "stop".to_owned(), |choice| choice.id.clone()))
}
