//! What it is expected to cost to repair one fault after another until the complaint is gone.
//!
//! Repairs go in the order of probability over cost (the efficiency order: Kadane & Simon 1977;
//! Heckerman, Breese & Rommelse 1995), openings shared, each followed by a proof, and stop where
//! handing over is cheaper than going on.

use super::cost::{Openings, Prices};
use super::sets::Members;
use crate::knowledge::model::FaultIx;

/// What may be done from here on.
#[derive(Debug, Clone)]
pub struct Options {
    /// Observations that may still be asked for.
    pub observations: Vec<usize>,
    /// Repairs the rider may still do.
    pub repairs: Vec<usize>,
    /// What is already open.
    pub open: Openings,
}

/// A distribution over sets of faults, not necessarily normalised.
pub struct Case<'a, M: Fn(Members) -> f64> {
    /// Sum of all weights.
    pub total: f64,
    /// By fault: sum of the weights of the sets that hold it.
    pub marginals: &'a [f64],
    /// The weight of a set.
    pub weight: M,
}

/// Repairs in order, then handing over.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Expected minutes, times the sum of the weights.
    pub minutes: f64,
    /// What to repair before handing over.
    pub repairs: Vec<usize>,
}

impl<M: Fn(Members) -> f64> Case<'_, M> {
    /// The best course, beginning with `first` if given.
    ///
    /// Handing over is weighed after every repair. Going on ends where what has been spent alone is
    /// more than the best course found, since no longer one can then win.
    pub fn course(&self, prices: &Prices, options: &Options, first: Option<usize>) -> Course {
        let handover = prices.model.handover_minutes;
        let mut walk = Walk {
            unsolved: self.total,
            open: options.open,
            done: Vec::new(),
        };
        let mut left = options.repairs.clone();
        let mut spent = 0.0;
        let mut best = (
            if first.is_some() {
                f64::INFINITY
            } else {
                handover * self.total
            },
            0,
        );
        let mut next = first.and_then(|fault| left.iter().position(|f| *f == fault));
        while let Some(at) = next.or_else(|| self.most_efficient(prices, &walk, &left)) {
            let fault = left.remove(at);
            spent += self.price(prices, &walk, fault);
            if spent >= best.0 {
                break;
            }
            self.repair(prices, &mut walk, fault);
            let minutes = spent + handover * walk.unsolved;
            if minutes < best.0 {
                best = (minutes, walk.done.len());
            }
            next = None;
        }
        walk.done.truncate(best.1);
        Course {
            minutes: best.0,
            repairs: walk.done,
        }
    }

    /// Which of the repairs left has most probability for its cost; none where none can help.
    fn most_efficient(&self, prices: &Prices, walk: &Walk, left: &[usize]) -> Option<usize> {
        /// A fault this improbable is not worth a place in the order.
        const NEGLIGIBLE: f64 = 1e-6;
        let mut best = (
            NEGLIGIBLE * self.total / prices.model.handover_minutes,
            None,
        );
        for (at, fault) in left.iter().enumerate() {
            let success = prices.model.faults[*fault].repair.success;
            let efficiency = self.marginals[*fault] * success / self.price(prices, walk, *fault);
            if efficiency > best.0 {
                best = (efficiency, Some(at));
            }
        }
        best.1
    }

    /// What the repair adds to the expected minutes when it is next.
    fn price(&self, prices: &Prices, walk: &Walk, fault: usize) -> f64 {
        let minutes = prices.repairing(FaultIx::from(fault), walk.open);
        let needless = (walk.unsolved - self.marginals[fault]).max(0.0);
        walk.unsolved * minutes + needless * prices.terms.wrong_repair_minutes
    }

    /// Does the repair: sets all of whose faults are repaired are solved. That nothing was wrong at
    /// all shows at the first proof.
    fn repair(&self, prices: &Prices, walk: &mut Walk, fault: usize) {
        let none = self.marginals.len();
        let success = |fault: usize| prices.model.faults[fault].repair.success;
        if walk.done.is_empty() {
            walk.unsolved -= (self.weight)([none; 3]);
        }
        let mut solved = (self.weight)([fault, none, none]);
        for (at, other) in walk.done.iter().enumerate() {
            let mut with_other = (self.weight)(ordered([fault, *other, none]));
            for third in &walk.done[..at] {
                with_other += success(*third) * (self.weight)(ordered([fault, *other, *third]));
            }
            solved += success(*other) * with_other;
        }
        walk.unsolved = (walk.unsolved - success(fault) * solved).max(0.0);
        walk.open = walk.open.and(prices.repair_needs(FaultIx::from(fault)));
        walk.done.push(fault);
    }
}

/// How far a course has got.
struct Walk {
    /// Weight of the sets not solved yet.
    unsolved: f64,
    open: Openings,
    done: Vec<usize>,
}

fn ordered(mut members: Members) -> Members {
    members.sort_unstable();
    members
}
