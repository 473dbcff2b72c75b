//! How probable one result is under each set of faults: the first present cause decides.

use super::sets::Sets;
use super::timeline::Sighting;
use crate::knowledge::model::Model;

/// The likelihood of one result for every set of faults, held as one value and one rank per fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Likelihood {
    /// By fault: its place in the list of causes; infinity for a fault that is none, or is repaired.
    /// One more at the end, for "no fault". Floats, since every machine compares several at once.
    ranks: Vec<f64>,
    /// By fault: likelihood where this fault decides; that of `normal` for one that is no cause.
    values: Vec<f64>,
}

impl Likelihood {
    /// The likelihood of a sighting: with strength m, m x the model's + (1 - m) x that of `normal`.
    pub fn of(model: &Model, sighting: &Sighting) -> Self {
        let observation = &model.observations[sighting.observation.at()];
        let weigh = |chances: &[f64]| -> f64 {
            chances
                .iter()
                .zip(&sighting.weights)
                .map(|(p, w)| p * w)
                .sum()
        };
        let normal = weigh(&observation.normal);
        let faults = model.faults.len();
        let mut ranks = vec![f64::INFINITY; faults + 1];
        let mut values = vec![normal; faults + 1];
        for (rank, cause) in (0_u32..).zip(&observation.causes) {
            let fault = cause.fault.at();
            if ranks[fault].is_infinite() && !sighting.repaired[fault] {
                ranks[fault] = f64::from(rank);
                values[fault] =
                    sighting.strength * weigh(&cause.outcomes) + (1.0 - sighting.strength) * normal;
            }
        }
        Self { ranks, values }
    }

    /// The likelihood where nothing that matters to it is present.
    pub fn normal(&self) -> f64 {
        self.values[self.values.len() - 1]
    }

    /// The likelihood where this fault alone is present.
    pub fn alone(&self, fault: usize) -> f64 {
        self.values[fault]
    }

    /// Whether the fault has a say in the result.
    pub fn is_cause(&self, fault: usize) -> bool {
        self.ranks[fault].is_finite()
    }

    /// Whether the result is possible under every set.
    pub fn is_never_zero(&self) -> bool {
        self.values.iter().all(|value| *value > 0.0)
    }

    /// By fault, and at the end for "no cause": the summed weights of the sets in which it decides.
    pub fn deciders(&self, sets: &Sets, weights: &[f64]) -> Vec<f64> {
        let mut sums = vec![0.0; self.values.len()];
        let none = sets.faults();
        let ranks = &self.ranks;
        let first = |x: usize, y: usize| if ranks[y] < ranks[x] { y } else { x };
        sums[none] += weights[0];
        for a in 0..none {
            sums[first(none, a)] += weights[1 + a];
            for b in a + 1..none {
                let first_two = first(first(none, a), b);
                let mut decided = weights[sets.pair_row(a) + b];
                let row = &weights[sets.triples(a, b)];
                for ((sum, rank), weight) in sums[b + 1..].iter_mut().zip(&ranks[b + 1..]).zip(row)
                {
                    if *rank < ranks[first_two] {
                        *sum += weight;
                    } else {
                        decided += weight;
                    }
                }
                sums[first_two] += decided;
            }
        }
        sums
    }

    /// Adds the natural logarithm of the likelihood to the log weight of every set.
    pub fn add_to(&self, sets: &Sets, log_weights: &mut [f64]) {
        let logs: Vec<f64> = self.values.iter().map(|value| value.ln()).collect();
        self.add_logs(&logs, sets, log_weights);
    }

    /// Takes it off again. It must be zero nowhere.
    pub fn take_off(&self, sets: &Sets, log_weights: &mut [f64]) {
        let logs: Vec<f64> = self.values.iter().map(|value| -value.ln()).collect();
        self.add_logs(&logs, sets, log_weights);
    }

    fn add_logs(&self, logs: &[f64], sets: &Sets, log_weights: &mut [f64]) {
        let none = sets.faults();
        let ranks = &self.ranks;
        for a in 0..none {
            log_weights[1 + a] += logs[a];
            let pairs = sets.pair_row(a);
            for b in a + 1..none {
                let (rank, log) = if ranks[b] < ranks[a] {
                    (ranks[b], logs[b])
                } else {
                    (ranks[a], logs[a])
                };
                log_weights[pairs + b] += log;
                let row = sets.triple_row(a, b) + b + 1;
                let weights = &mut log_weights[row..row + none - b - 1];
                for ((weight, &c_rank), &c_log) in
                    weights.iter_mut().zip(&ranks[b + 1..]).zip(&logs[b + 1..])
                {
                    *weight += if c_rank < rank { c_log } else { log };
                }
            }
        }
        log_weights[0] += logs[none];
    }
}
