//! The belief worked out the slow way, over every subset of faults, straight from the definitions.

use floatbowl::diagnosis::Finding;
use floatbowl::knowledge::model::{FaultIx, Model, Observation};

/// What enumeration finds.
pub struct Exact {
    /// By fault: probability of having been present at the start.
    pub at_start: Vec<f64>,
    /// Natural logarithm of the probability of the findings.
    pub log_evidence: f64,
    /// Probability, given the findings, of more faults than `most`.
    pub beyond: f64,
}

/// Enumerates all subsets of at most `most` faults; `counted` says which of the sets up to that
/// size `beyond` leaves out.
pub fn enumerate(model: &Model, findings: &[Finding], most: u32, counted: u32) -> Exact {
    let faults = model.faults.len();
    let (mut prior_sum, mut joint_sum, mut beyond) = (0.0, 0.0, 0.0);
    let mut at_start = vec![0.0; faults];
    for set in (0_u32..1 << faults).filter(|set| set.count_ones() <= most) {
        let prior = prior(model, set);
        let joint = prior * likelihood(model, findings, set);
        prior_sum += prior;
        joint_sum += joint;
        if set.count_ones() > counted {
            beyond += joint;
        }
        for (fault, sum) in at_start.iter_mut().enumerate() {
            *sum += if has(set, fault) { joint } else { 0.0 };
        }
    }
    for sum in &mut at_start {
        *sum /= joint_sum;
    }
    Exact {
        at_start,
        log_evidence: (joint_sum / prior_sum).ln(),
        beyond: beyond / joint_sum,
    }
}

fn has(set: u32, fault: usize) -> bool {
    set >> fault & 1 == 1
}

fn prior(model: &Model, set: u32) -> f64 {
    let mut product = if set == 0 { model.healthy_factor } else { 1.0 };
    for (at, fault) in model.faults.iter().enumerate() {
        product *= if has(set, at) {
            fault.prior
        } else {
            1.0 - fault.prior
        };
        if has(set, at) && fault.excludes.iter().any(|other| has(set, other.at())) {
            return 0.0;
        }
    }
    product
}

/// The product over the results in force: one replaced later, with no repair between, is skipped.
fn likelihood(model: &Model, findings: &[Finding], start: u32) -> f64 {
    let mut present = start;
    let mut product = 1.0;
    for (at, finding) in findings.iter().enumerate() {
        match finding {
            Finding::Repaired(FaultIx(fault)) => present &= !(1 << fault),
            Finding::Seen {
                observation,
                weights,
                strength,
            } => {
                let later = findings[at + 1..]
                    .iter()
                    .take_while(|f| matches!(f, Finding::Seen { .. }));
                let replaced = later
                    .into_iter()
                    .any(|f| matches!(f, Finding::Seen { observation: o, .. } if o == observation));
                if !replaced {
                    let observation = &model.observations[observation.at()];
                    let model_says = dot(distribution(observation, present), weights);
                    product *= strength * model_says
                        + (1.0 - strength) * dot(&observation.normal, weights);
                }
            }
        }
    }
    product
}

fn distribution(observation: &Observation, present: u32) -> &[f64] {
    let decides = observation
        .causes
        .iter()
        .find(|cause| has(present, cause.fault.at()));
    decides.map_or(&observation.normal, |cause| &cause.outcomes)
}

fn dot(x: &[f64], y: &[f64]) -> f64 {
    x.iter().zip(y).map(|(x, y)| x * y).sum()
}
