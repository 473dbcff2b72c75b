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
fn tabulate(frame: &Frame, keys: &[u32], distributions: usize) -> (Vec<f64>, Vec<Vec<f64>>) {
    let width = keys.len();
    let mut totals = vec![0.0; distributions];
    let mut flat = vec![0.0; distributions * width];
    for entry in &frame.entries {
        let [a, b, c] = entry.members();
        let decides = (keys[a].min(keys[b]).min(keys[c]) & DISTRIBUTION) as usize;
        totals[decides] += entry.weight;
        let row = &mut flat[decides * width..(decides + 1) * width];
        row[a] += entry.weight;
        row[b] += entry.weight;
        row[c] += entry.weight;
    }
    (totals, flat.chunks(width).map(<[f64]>::to_vec).collect())
}
