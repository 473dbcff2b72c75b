//! What one turn's belief and plan take, and how that grows with faults and observations.
//!
//! Models are invented and shaped like fuel systems; evidence is what a rider with one of the faults
//! would report. `turn` is the update with one more answer and the one-step plan, `look_ahead` the
//! same with two steps.

#[path = "../tests/diagnosis/random.rs"]
mod random;

use divan::{Bencher, black_box};
use floatbowl::diagnosis::{Belief, Depth, Finding, Prior, Situation, Terms, plan};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx};
use std::sync::Arc;

fn main() {
    divan::main();
}

/// A rider half way through: a model, its prior, and what is known so far.
struct Rider {
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
            Finding::Seen { observation: ObservationIx::from(at), weights, strength: 1.0 }
        };
        let findings = (0..answers).map(answer).collect();
        Self { model, prior, findings }
    }

    fn turn(&self, depth: Depth) -> f64 {
        let belief = Belief::from_prior(&self.prior, &self.model, &self.findings);
        let observations: Vec<ObservationIx> =
            (self.findings.len()..self.model.observations.len()).map(ObservationIx::from).collect();
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
fn riders(faults: usize, observations: usize) -> Vec<Rider> {
    (0..12_u8).map(|nth| Rider::of(nth.into(), faults, observations, 1 + usize::from(nth))).collect()
}

fn in_turn(bencher: Bencher, riders: &[Rider], act: impl Fn(&Rider) -> f64 + Sync) {
    let next = std::sync::atomic::AtomicUsize::new(0);
    bencher.bench(|| {
        let at = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        black_box(act(&riders[at % riders.len()]))
    });
}

#[divan::bench(args = [40, 55, 60, 80], sample_count = 600, sample_size = 1)]
fn turn(bencher: Bencher, faults: usize) {
    in_turn(bencher, &riders(faults, 45), |rider| rider.turn(Depth::OneStep));
}

#[divan::bench(args = [40, 55, 60, 80], sample_count = 120, sample_size = 1)]
fn look_ahead(bencher: Bencher, faults: usize) {
    in_turn(bencher, &riders(faults, 45), |rider| rider.turn(Depth::TwoSteps));
}

#[divan::bench(args = [15, 30, 45, 60], sample_count = 300, sample_size = 1)]
fn turn_by_observations(bencher: Bencher, observations: usize) {
    in_turn(bencher, &riders(55, observations), |rider| rider.turn(Depth::OneStep));
}

#[divan::bench(args = [20, 40, 60, 80], sample_count = 300, sample_size = 1)]
fn belief_alone(bencher: Bencher, faults: usize) {
    in_turn(bencher, &riders(faults, 45), |rider| {
        Belief::from_prior(&rider.prior, &rider.model, &rider.findings).log_evidence()
    });
}
