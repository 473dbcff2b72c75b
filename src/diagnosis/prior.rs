//! The probability of every set of faults before anything is known.

use super::sets::{LARGEST, Sets};
use crate::knowledge::model::Model;

/// The prior over all sets of at most three faults, as log weights.
///
/// It depends on the model alone, so it may be made once and kept beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    pub(super) sets: Sets,
    /// By fault: p / (1 - p).
    pub(super) odds: Vec<f64>,
    /// By pair of faults, row by row: whether they exclude each other.
    pub(super) excluded: Vec<bool>,
    /// By set: natural logarithm of its prior over that of "no fault" with `healthy_factor` 1.
    pub(super) log_weights: Vec<f64>,
    /// Natural logarithm of the sum of all weights.
    pub(super) log_total: f64,
}

impl Prior {
    /// The prior of a model: independent faults, sets with an excluded pair left out, the empty set
    /// times `healthy_factor`, at most three faults at once.
    #[must_use]
    pub fn of(model: &Model) -> Self {
        let faults = model.faults.len();
        let odds: Vec<f64> = model
            .faults
            .iter()
            .map(|fault| fault.prior / (1.0 - fault.prior))
            .collect();
        let mut excluded = vec![false; faults * faults];
        for (at, fault) in model.faults.iter().enumerate() {
            for other in &fault.excludes {
                excluded[at * faults + other.at()] = true;
                excluded[other.at() * faults + at] = true;
            }
        }
        let sets = Sets::of(faults);
        let (log_weights, total) = weigh(&sets, &odds, &excluded, model.healthy_factor);
        Self {
            sets,
            odds,
            excluded,
            log_weights,
            log_total: total.ln(),
        }
    }

    /// Whether two faults cannot be present together.
    pub(super) fn excludes(&self, a: usize, b: usize) -> bool {
        self.excluded[a * self.odds.len() + b]
    }
}

/// Log weights of all sets, and the sum of the weights themselves. Row by row, since this is made
/// anew for every turn.
fn weigh(sets: &Sets, odds: &[f64], excluded: &[bool], healthy: f64) -> (Vec<f64>, f64) {
    const { assert!(LARGEST == 3) };
    let none = odds.len();
    let logs: Vec<f64> = odds.iter().map(|odds| odds.ln()).collect();
    let mut log_weights = vec![f64::NEG_INFINITY; sets.count()];
    log_weights[0] = healthy.ln();
    log_weights[1..=none].copy_from_slice(&logs);
    let mut total = healthy + odds.iter().sum::<f64>();
    for a in 0..none {
        let with_a = &excluded[a * none..(a + 1) * none];
        for b in (a + 1..none).filter(|b| !with_a[*b]) {
            let with_b = &excluded[b * none..(b + 1) * none];
            let pair = odds[a] * odds[b];
            let log_pair = logs[a] + logs[b];
            log_weights[sets.pair_row(a) + b] = log_pair;
            let mut thirds = 1.0;
            let row = sets.triple_row(a, b);
            for c in (b + 1..none).filter(|c| !(with_a[*c] || with_b[*c])) {
                log_weights[row + c] = log_pair + logs[c];
                thirds += odds[c];
            }
            total += pair * thirds;
        }
    }
    (log_weights, total)
}
