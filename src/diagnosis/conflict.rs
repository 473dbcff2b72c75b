//! Which one result fits the others so badly that it is worth asking for again.
//!
//! The measure is leave-one-out: a result misfits by as many bits as it is less probable, given all
//! the others, than the outcome they made most probable, log2 P(most probable) / P(e). On invented
//! riders with one wrong answer in ten it puts the wrong one first in 69 of 100; measured against
//! the result's own probability before anything was known, it does so in 35. Weak all the same: a
//! conflict is never announced. The result is asked for again, and only if it matters.

use super::belief::Belief;
use super::likelihood::Likelihood;
use super::plan::{Choice, Situation, likely_choice};
use super::timeline::Sighting;
use crate::knowledge::model::{FaultIx, Model, ObservationIx};

/// Misfits below this many bits are not worth a question. Of riders of the shipped systems, one in
/// four who answered right throughout is asked once more; of those who misread one check, that check
/// is asked again for four in five. At 4 bits these are one in six and seven in ten, at 5 one in
/// twelve and 45 of 100, and more riders end with the fault not found.
pub const WORTH_ASKING_BITS: f64 = 3.0;

/// A result that fits the others badly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conflict {
    /// What to ask for again.
    pub observation: ObservationIx,
    /// How badly it fits.
    pub bits: f64,
    /// Whether the next step would be another without it.
    pub changes_answer: bool,
}

/// How badly each result in force fits the others, in bits, oldest first; without end for one that
/// they leave no chance.
#[must_use]
pub fn misfits(model: &Model, belief: &Belief) -> Vec<(ObservationIx, f64)> {
    let observation = |at: usize| belief.seen()[at].0.observation;
    (0..belief.seen().len())
        .map(|at| (observation(at), misfit(model, belief, at)))
        .collect()
}

/// How badly one result fits.
fn misfit(model: &Model, belief: &Belief, at: usize) -> f64 {
    let (sighting, likelihood) = &belief.seen()[at];
    let deciders = deciders_by_others(belief, at);
    let probability = |likelihood: &Likelihood| -> f64 {
        deciders
            .iter()
            .enumerate()
            .map(|(fault, chance)| chance * likelihood.alone(fault))
            .sum()
    };
    let strongest = sighting.weights.iter().copied().fold(0.0, f64::max);
    let plainly = |outcome: usize| {
        let mut weights = vec![0.0; sighting.weights.len()];
        weights[outcome] = strongest;
        probability(&Likelihood::of(
            model,
            &Sighting {
                weights,
                ..sighting.clone()
            },
        ))
    };
    let most = (0..sighting.weights.len()).map(plainly).fold(0.0, f64::max);
    let bits = (most / probability(likelihood)).log2();
    if bits.is_nan() { f64::INFINITY } else { bits }
}

/// By fault, and for "no cause": the probability, given all other results, that it decides this one.
///
/// Dividing the result's likelihood out again saves folding the others anew, unless it is zero
/// somewhere.
fn deciders_by_others(belief: &Belief, at: usize) -> Vec<f64> {
    let likelihood = &belief.seen()[at].1;
    let deciders = if likelihood.is_never_zero() {
        let mut deciders = likelihood.deciders(belief.sets(), belief.parts());
        for (fault, chance) in deciders.iter_mut().enumerate() {
            *chance /= likelihood.alone(fault);
        }
        deciders
    } else {
        let others = belief.without(at);
        likelihood.deciders(others.sets(), others.parts())
    };
    let total: f64 = deciders.iter().sum();
    deciders.iter().map(|chance| chance / total).collect()
}

/// The result that fits worst among those that `may_repeat` lets be asked for again, if it does so
/// by [`WORTH_ASKING_BITS`], and whether the next step would be other than `choice` without it.
#[must_use]
pub fn conflict_in(
    situation: &Situation,
    choice: &Choice,
    may_repeat: impl Fn(ObservationIx) -> bool,
) -> Option<Conflict> {
    let (model, belief) = (situation.model, situation.belief);
    let mut worst: Option<(usize, ObservationIx, f64)> = None;
    for (at, (sighting, _)) in belief.seen().iter().enumerate() {
        let least = worst.map_or(WORTH_ASKING_BITS, |(.., most)| most);
        if may_repeat(sighting.observation) && most_misfit(belief, at) >= least {
            let bits = misfit(model, belief, at);
            if bits >= least {
                worst = Some((at, sighting.observation, bits));
            }
        }
    }
    let (at, observation, bits) = worst?;
    let without = situation.belief.without(at);
    let otherwise = likely_choice(&Situation {
        belief: &without,
        ..*situation
    });
    Some(Conflict {
        observation,
        bits,
        changes_answer: otherwise != *choice,
    })
}

/// An upper bound on a result's misfit, from the faults' probabilities alone, since most results
/// fit well: P(e given the others) is 1 over the mean of 1 / L over the sets believed now, and a
/// fault decides at most where it is present.
fn most_misfit(belief: &Belief, at: usize) -> f64 {
    let (sighting, likelihood) = &belief.seen()[at];
    let causes = |fault: &FaultIx| likelihood.is_cause(fault.at());
    let likeliest = belief
        .faults()
        .filter(causes)
        .map(|fault| belief.present_at_start(fault))
        .fold(0.0, f64::max);
    let by_causes: f64 = belief
        .faults()
        .filter(causes)
        .map(|fault| belief.present_at_start(fault) / likelihood.alone(fault.at()))
        .sum();
    let strongest = sighting.weights.iter().copied().fold(0.0, f64::max);
    let bits = (strongest * (by_causes + (1.0 - likeliest) / likelihood.normal())).log2();
    if bits.is_nan() { f64::INFINITY } else { bits }
}
