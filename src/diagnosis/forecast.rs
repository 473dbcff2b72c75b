//! What an observation may show, and how probable each fault is after each outcome: one pass.

use super::frame::Frame;
use super::sets::Members;
use crate::knowledge::model::Observation;

/// The outcomes of one observation under one distribution over sets of faults.
#[derive(Debug, Clone)]
pub struct Forecast {
    /// By fault, and for "no fault": rank among the causes in the high half, position in `chances`
    /// in the low half. The smallest among a set's members decides.
    keys: Vec<u32>,
    /// Distributions over the outcomes: `normal` first, then the distinct ones of the causes.
    chances: Vec<Vec<f64>>,
    /// By outcome: its probability.
    pub probabilities: Vec<f64>,
    /// By outcome, then by fault: the probability of both together.
    pub joint: Vec<Vec<f64>>,
}

const RANK_BITS: u32 = 16;
const DISTRIBUTION: u32 = (1 << RANK_BITS) - 1;
/// No cause: comes after every rank, and stands for the distribution `normal`.
const NO_CAUSE: u32 = DISTRIBUTION << RANK_BITS;

impl Forecast {
    /// Looks through all sets once.
    pub fn of(observation: &Observation, frame: &Frame) -> Self {
        let (keys, chances) = deciders(observation, frame.faults());
        let (totals, tables) = tabulate(frame, &keys, chances.len());
        let outcomes = observation.outcomes.len();
        let mut probabilities = vec![0.0; outcomes];
        let mut joint = vec![vec![0.0; frame.faults()]; outcomes];
        for ((chances, total), table) in chances.iter().zip(&totals).zip(&tables) {
            for ((chance, probability), joint) in
                chances.iter().zip(&mut probabilities).zip(&mut joint)
            {
                *probability += chance * total;
                for (sum, mass) in joint.iter_mut().zip(table) {
                    *sum += chance * mass;
                }
            }
        }
        Self {
            keys,
            chances,
            probabilities,
            joint,
        }
    }

    /// The probability of an outcome under a set.
    pub fn chance(&self, [a, b, c]: Members, outcome: usize) -> f64 {
        let decides = self.keys[a].min(self.keys[b]).min(self.keys[c]) & DISTRIBUTION;
        self.chances[decides as usize][outcome]
    }
}

/// By fault: what it makes of the observation; and the distinct distributions.
fn deciders(observation: &Observation, faults: usize) -> (Vec<u32>, Vec<Vec<f64>>) {
    let mut keys = vec![NO_CAUSE; faults + 1];
    let mut chances = vec![observation.normal.clone()];
    for (rank, cause) in (0_u32..).zip(&observation.causes) {
        let key = &mut keys[cause.fault.at()];
        if *key == NO_CAUSE {
            let known = chances.iter().position(|known| *known == cause.outcomes);
            let at = known.unwrap_or_else(|| {
                chances.push(cause.outcomes.clone());
                chances.len() - 1
            });
            *key = rank << RANK_BITS | u32::try_from(at).expect("fewer distributions than causes");
        }
    }
    (keys, chances)
}

/// By deciding distribution: the probability that it decides, alone and together with each fault.
///
/// Sets come in runs that share their first two members, so that what those two decide is settled
/// once for the run. What `normal` decides is what is left over: its sets need no visit.
fn tabulate(frame: &Frame, keys: &[u32], distributions: usize) -> (Vec<f64>, Vec<Vec<f64>>) {
    let later = smallest_from(keys);
    let mut totals = vec![0.0; distributions];
    let mut tables = vec![vec![0.0; keys.len()]; distributions];
    for run in frame.runs() {
        let [a, b] = run.shared;
        let shared_key = keys[a].min(keys[b]);
        let mut decided_by_shared = run.total;
        if later[b] < shared_key {
            for (third, weight) in run
                .sets
                .iter()
                .filter(|(third, _)| keys[usize::from(*third)] < shared_key)
            {
                let c = usize::from(*third);
                let by_third = (keys[c] & DISTRIBUTION) as usize;
                for fault in [a, b, c] {
                    tables[by_third][fault] += weight;
                }
                totals[by_third] += weight;
                decided_by_shared -= weight;
            }
        }
        if shared_key == NO_CAUSE {
            continue;
        }
        let shared = (shared_key & DISTRIBUTION) as usize;
        let table = &mut tables[shared][..];
        if later[b] < shared_key {
            let kept = run
                .sets
                .iter()
                .filter(|(third, _)| keys[usize::from(*third)] >= shared_key);
            kept.for_each(|(third, weight)| table[usize::from(*third)] += weight);
        } else {
            run.sets
                .iter()
                .for_each(|(third, weight)| table[usize::from(*third)] += weight);
        }
        table[a] += decided_by_shared;
        table[b] += decided_by_shared;
        totals[shared] += decided_by_shared;
    }
    leave_rest_to_normal(frame, &mut totals, &mut tables);
    (totals, tables)
}

/// By fault: the smallest key from it on, which no later fault can be below.
fn smallest_from(keys: &[u32]) -> Vec<u32> {
    let mut smallest = keys.to_vec();
    for at in (1..keys.len()).rev() {
        smallest[at - 1] = smallest[at - 1].min(smallest[at]);
    }
    smallest
}

/// Gives the first distribution, `normal`, what no other decides.
fn leave_rest_to_normal(frame: &Frame, totals: &mut [f64], tables: &mut [Vec<f64>]) {
    let (normal, others) = tables.split_at_mut(1);
    totals[0] = (1.0 - totals[1..].iter().sum::<f64>()).max(0.0);
    for (fault, marginal) in frame.marginals.iter().enumerate() {
        let decided: f64 = others.iter().map(|table| table[fault]).sum();
        normal[0][fault] = (marginal - decided).max(0.0);
    }
}
