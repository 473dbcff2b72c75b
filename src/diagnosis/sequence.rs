//! What it is expected to cost to repair one fault after another until the complaint is gone.
//!
//! Repairs go in the order of probability over cost (the efficiency order: Kadane & Simon 1977;
//! Heckerman, Breese & Rommelse 1995), openings shared, each followed by a proof, and stop where
//! handing over is cheaper than going on.

use super::cost::{Openings, Prices};
use crate::knowledge::model::FaultIx;

/// A fault less probable than this has no place in the order: it is left to handing over.
const UNLIKELY: f64 = 1e-4;

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

/// What counts while nothing further is observed.
#[derive(Debug, Clone)]
pub struct Reach<'a> {
    /// Repairs the rider may still do.
    repairs: &'a [usize],
    /// What is already open.
    open: Openings,
    /// By repair: what it takes with that open.
    minutes: Vec<f64>,
}

impl Options {
    /// The repairs, once these openings are open too.
    pub fn once_open(&self, prices: &Prices, needs: Openings) -> Reach<'_> {
        let open = self.open.and(needs);
        let minutes = |fault: &usize| prices.repairing(FaultIx::from(*fault), open);
        Reach {
            repairs: &self.repairs,
            open,
            minutes: self.repairs.iter().map(minutes).collect(),
        }
    }

    /// The repairs, with what is open now.
    pub fn reach(&self, prices: &Prices) -> Reach<'_> {
        self.once_open(prices, Openings::default())
    }
}

/// A distribution over sets of faults, not necessarily normalised.
pub struct Case<'a, C: Fn(usize, &[Done]) -> f64> {
    /// Sum of all weights.
    pub total: f64,
    /// By fault: sum of the weights of the sets that hold it.
    pub marginals: &'a [f64],
    /// The weight of the empty set.
    pub healthy: f64,
    /// The summed weights of the sets that hold a fault and otherwise only faults already repaired,
    /// each times the chance that those are cured.
    pub left_with: C,
}

/// A fault already repaired, and the chance that the repair was a success.
pub type Done = (usize, f64);

/// Repairs in order, then handing over.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Expected minutes, times the sum of the weights.
    pub minutes: f64,
    /// What to repair before handing over.
    pub repairs: Vec<usize>,
}

impl<C: Fn(usize, &[Done]) -> f64> Case<'_, C> {
    /// The best course, beginning with `first` if given.
    ///
    /// Handing over is weighed after every repair. Going on ends where what has been spent alone is
    /// more than the best course found, since no longer one can then win.
    pub fn course(&self, prices: &Prices, reach: &Reach, first: Option<usize>) -> Course {
        let mut walk = self.walk(prices, reach, first);
        let mut spent = 0.0;
        let mut best = (prices.handing_over(self.total, walk.faults), 0);
        if first.is_some() {
            best.0 = f64::INFINITY;
        }
        let mut next = first.and_then(|fault| walk.left.iter().position(|l| l.fault == fault));
        while let Some(at) = next.or_else(|| walk.most_efficient(prices)) {
            spent += walk.price(prices, &walk.left[at]);
            if spent >= best.0 {
                break;
            }
            self.repair(prices, &mut walk, at);
            let minutes = spent + prices.handing_over(walk.unsolved, walk.faults);
            if minutes < best.0 {
                best = (minutes, walk.done.len());
            }
            next = None;
        }
        let repairs = walk.done[..best.1].iter().map(|done| done.0);
        Course {
            minutes: best.0,
            repairs: repairs.collect(),
        }
    }

    fn walk(&self, prices: &Prices, reach: &Reach, first: Option<usize>) -> Walk {
        let least = UNLIKELY * self.total;
        let mut left = Vec::with_capacity(reach.repairs.len());
        for (&fault, &minutes) in reach.repairs.iter().zip(&reach.minutes) {
            let probability = self.marginals[fault];
            if probability > least || first == Some(fault) {
                left.push(Left {
                    fault,
                    probability,
                    cures: probability * prices.success(fault),
                    minutes,
                });
            }
        }
        Walk {
            unsolved: self.total,
            faults: self.marginals.iter().sum(),
            open: reach.open,
            done: Vec::with_capacity(left.len()),
            left,
        }
    }

    /// Does the repair: sets all of whose faults are cured are solved. That nothing was wrong at all
    /// shows at the first proof.
    fn repair(&self, prices: &Prices, walk: &mut Walk, at: usize) {
        let Left { fault, cures, .. } = walk.left.remove(at);
        if walk.done.is_empty() {
            walk.unsolved -= self.healthy;
        }
        let success = prices.success(fault);
        let solved = success * (self.left_with)(fault, &walk.done);
        walk.unsolved = (walk.unsolved - solved).max(0.0);
        walk.faults = (walk.faults - cures).max(0.0);
        walk.done.push((fault, success));
        walk.open_up(prices, prices.repair_needs(FaultIx::from(fault)));
    }
}

/// How far a course has got.
struct Walk {
    /// Weight of the sets not solved yet.
    unsolved: f64,
    /// Faults expected to be left, times the sum of the weights.
    faults: f64,
    open: Openings,
    done: Vec<Done>,
    left: Vec<Left>,
}

/// A repair that may still come.
struct Left {
    fault: usize,
    /// Weight of the sets that hold the fault.
    probability: f64,
    /// The same times the chance that the repair succeeds.
    cures: f64,
    /// What it takes with what is open now.
    minutes: f64,
}

impl Walk {
    /// Which of the repairs left has most probability for its cost; none where none can help.
    fn most_efficient(&self, prices: &Prices) -> Option<usize> {
        let mut best = None;
        let (mut best_cures, mut best_price) = (0.0, 1.0);
        for (at, left) in self.left.iter().enumerate() {
            let price = self.price(prices, left);
            // The quotients compared without dividing, which would be most of the work.
            if left.cures * best_price > best_cures * price {
                (best_cures, best_price, best) = (left.cures, price, Some(at));
            }
        }
        best
    }

    /// What the repair adds to the expected minutes when it is next.
    fn price(&self, prices: &Prices, left: &Left) -> f64 {
        let needless = (self.unsolved - left.probability).max(0.0);
        self.unsolved * left.minutes + needless * prices.terms.wrong_repair_minutes
    }

    fn open_up(&mut self, prices: &Prices, needs: Openings) {
        if needs.but_not(self.open) == Openings::default() {
            return;
        }
        self.open = self.open.and(needs);
        for left in &mut self.left {
            left.minutes = prices.repairing(FaultIx::from(left.fault), self.open);
        }
    }
}
