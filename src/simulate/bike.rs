//! One bike with its faults: what an observation shows on it, and what a repair does to it.

use crate::knowledge::compile::OUTSIDE;
use crate::knowledge::model::{FaultIx, Model, Observation, ObservationIx};
use fastrand::Rng;

/// A bike, with chance of its own.
#[derive(Debug, Clone)]
pub(super) struct Bike<'a> {
    /// Its system.
    pub(super) model: &'a Model,
    /// What is wrong now.
    pub(super) present: Vec<FaultIx>,
    chance: Rng,
}

impl<'a> Bike<'a> {
    /// A bike with so many faults, drawn by their odds.
    pub(super) fn drawn(model: &'a Model, faults: usize, mut chance: Rng) -> Self {
        Self {
            model,
            present: draw_faults(model, faults, &mut chance),
            chance,
        }
    }

    /// What an observation shows now: the first listed cause that is present decides.
    pub(super) fn shows(&mut self, at: ObservationIx) -> usize {
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

    /// A repair removes its fault as often as the knowledge says it does.
    pub(super) fn repair(&mut self, fault: FaultIx) {
        if self.chance.f64() < self.model.faults[fault.at()].repair.success {
            self.present.retain(|present| *present != fault);
        }
    }
}

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
