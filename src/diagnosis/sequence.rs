//! What it is expected to cost to repair one fault after another until the complaint is gone.
//!
//! Repairs go in the order of probability over cost (the efficiency order: Kadane & Simon 1977;
//! Heckerman, Breese & Rommelse 1995), openings shared, each followed by a proof, and stop where
//! handing over is cheaper than going on.

use super::cost::{Openings, Prices};
use super::sets::Members;
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
#[derive(Debug, Clone, Copy)]
pub struct Reach<'a> {
    /// Repairs the rider may still do.
    pub repairs: &'a [usize],
    /// What is already open.
    pub open: Openings,
}

impl Options {
    /// The repairs, once these openings are open too.
    pub fn once_open(&self, needs: Openings) -> Reach<'_> {
        Reach {
            repairs: &self.repairs,
            open: self.open.and(needs),
        }
    }

    /// The repairs, with what is open now.
    pub fn reach(&self) -> Reach<'_> {
        self.once_open(Openings::default())
    }
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
    pub fn course(&self, prices: &Prices, reach: Reach, first: Option<usize>) -> Course {
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
        walk.done.truncate(best.1);
        Course {
            minutes: best.0,
            repairs: walk.done,
        }
    }

    fn walk(&self, prices: &Prices, reach: Reach, first: Option<usize>) -> Walk {
        let least = UNLIKELY * self.total;
        let likely = |fault: &&usize| self.marginals[**fault] > least || first == Some(**fault);
        let entry = |fault: &usize| Left {
            fault: *fault,
            probability: self.marginals[*fault],
            success: prices.model.faults[*fault].repair.success,
            minutes: prices.repairing(FaultIx::from(*fault), reach.open),
        };
        let mut left = Vec::with_capacity(reach.repairs.len());
        left.extend(reach.repairs.iter().filter(likely).map(entry));
        Walk {
            unsolved: self.total,
            faults: self.marginals.iter().sum(),
            open: reach.open,
            done: Vec::new(),
            left,
        }
    }

    /// Does the repair: sets all of whose faults are repaired are solved. That nothing was wrong at
    /// all shows at the first proof.
    fn repair(&self, prices: &Prices, walk: &mut Walk, at: usize) {
        let none = self.marginals.len();
        let Left {
            fault,
            success,
            probability,
            ..
        } = walk.left.remove(at);
        let other_success = |fault: usize| prices.model.faults[fault].repair.success;
        if walk.done.is_empty() {
            walk.unsolved -= (self.weight)([none; 3]);
        }
        let mut solved = (self.weight)([fault, none, none]);
        for (at, other) in walk.done.iter().enumerate() {
            let mut with_other = (self.weight)(ordered([fault, *other, none]));
            for third in &walk.done[..at] {
                let all_three = (self.weight)(ordered([fault, *other, *third]));
                with_other += other_success(*third) * all_three;
            }
            solved += other_success(*other) * with_other;
        }
        walk.unsolved = (walk.unsolved - success * solved).max(0.0);
        walk.faults = (walk.faults - success * probability).max(0.0);
        walk.done.push(fault);
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
    done: Vec<usize>,
    left: Vec<Left>,
}

/// A repair that may still come.
struct Left {
    fault: usize,
    /// Weight of the sets that hold the fault.
    probability: f64,
    success: f64,
    /// What it takes with what is open now.
    minutes: f64,
}

impl Walk {
    /// Which of the repairs left has most probability for its cost; none where none can help.
    fn most_efficient(&self, prices: &Prices) -> Option<usize> {
        let mut best = (0.0, None);
        for (at, left) in self.left.iter().enumerate() {
            let efficiency = left.probability * left.success / self.price(prices, left);
            if efficiency > best.0 {
                best = (efficiency, Some(at));
            }
        }
        best.1
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

fn ordered(mut members: Members) -> Members {
    members.sort_unstable();
    members
}
