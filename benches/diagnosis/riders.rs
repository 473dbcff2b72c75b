//! Invented riders half way through, for the benches.

#[expect(dead_code, reason = "the tests draw small models too")]
#[path = "../../tests/diagnosis/random.rs"]
mod random;

use floatbowl::diagnosis::{Belief, Depth, Finding, Prior, Situation, Terms, plan};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx};
use std::sync::Arc;

/// A rider half way through: a model, its prior, and what is known so far.
pub struct Rider {
    model: Model,
    prior: Arc<Prior>,
    findings: Vec<Finding>,
}

impl Rider {
    /// The rider's fault is drawn from the prior, and each answer from the fault's distribution.
    fn of(seed: u64, faults: usize, observations: usize, answers: usize) -> Self {
        let model = random::system(seed, faults, observations);
        let prior = Arc::new(Prior::of(&model));
        let dice = &mut random::Dice::of(seed + 1000);
        let odds: Vec<f64> = model.faults.iter().map(|fault| fault.prior).collect();
        let fault = FaultIx::from(dice.pick(&odds));
        let answer = |at: usize| {
            let observation = &model.observations[at];
            let cause = observation.causes.iter().find(|cause| cause.fault == fault);
            let shown = dice.pick(cause.map_or(&observation.normal, |cause| &cause.outcomes));
            let mut weights = vec![0.0; observation.outcomes.len()];
            weights[shown] = 1.0;
            Finding::Seen {
                observation: ObservationIx::from(at),
                weights,
                strength: 1.0,
            }
        };
        let findings = (0..answers).map(answer).collect();
        Self {
            model,
            prior,
            findings,
        }
    }

    /// What to believe of the findings so far.
    pub fn belief(&self) -> Belief {
        Belief::from_prior(&self.prior, &self.model, &self.findings)
    }

    /// Believes and plans, with the prior made beforehand.
    pub fn turn(&self, depth: Depth) -> f64 {
        let belief = self.belief();
        let observations: Vec<ObservationIx> = (self.findings.len()..self.model.observations.len())
            .map(ObservationIx::from)
            .collect();
        let repairs: Vec<FaultIx> = belief.faults().collect();
        plan(&Situation {
            model: &self.model,
            belief: &belief,
            open: &[],
            observations: &observations,
            repairs: &repairs,
            terms: Terms::default(),
            depth,
        })
        .expected_left_minutes
    }
}

/// Twelve riders, from those who have said nothing but their complaint to those with eleven answers.
pub fn riders(faults: usize, observations: usize) -> Vec<Rider> {
    (0..12_u8)
        .map(|nth| Rider::of(nth.into(), faults, observations, 1 + usize::from(nth)))
        .collect()
}
