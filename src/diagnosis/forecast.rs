//! What an observation may show, and how probable each fault is after each outcome: one pass.

use super::frame::{Frame, Run};
use super::sets::Members;
use crate::knowledge::model::Observation;

/// Which fault of a set decides what an observation shows, compiled for one observation.
#[derive(Debug, Clone, Default)]
pub struct Deciders {
    /// By fault, and for "no fault": rank among the causes in the high half, position in `chances`
    /// in the low half. The smallest among a set's members decides.
    keys: Vec<u32>,
    /// By fault: the smallest key from it on, which no later fault can be below.
    later: Vec<u32>,
    /// The faults that are causes, in the order of their ranks.
    causes: Vec<usize>,
    /// Distributions over the outcomes: `normal` first, then the distinct ones of the causes.
    chances: Vec<Vec<f64>>,
}

/// The outcomes of one observation under one distribution over sets of faults.
#[derive(Debug, Clone)]
pub struct Forecast<'a> {
    deciders: &'a Deciders,
    /// By outcome: its probability.
    pub probabilities: Vec<f64>,
    /// By outcome, then by fault: the probability of both together.
    joint: Vec<f64>,
}

const RANK_BITS: u32 = 16;
const DISTRIBUTION: u32 = (1 << RANK_BITS) - 1;
/// No cause: comes after every rank, and stands for the distribution `normal`.
const NO_CAUSE: u32 = DISTRIBUTION << RANK_BITS;

impl Deciders {
    /// Of one observation, in a model of so many faults.
    pub fn of(observation: &Observation, faults: usize) -> Self {
        let mut keys = vec![NO_CAUSE; faults + 1];
        let mut chances = vec![observation.normal.clone()];
        let mut causes = Vec::with_capacity(observation.causes.len());
        for (rank, cause) in (0_u32..).zip(&observation.causes) {
            let key = &mut keys[cause.fault.at()];
            if *key == NO_CAUSE {
                causes.push(cause.fault.at());
                let known = chances.iter().position(|known| *known == cause.outcomes);
                let at = known.unwrap_or_else(|| {
                    chances.push(cause.outcomes.clone());
                    chances.len() - 1
                });
                *key =
                    rank << RANK_BITS | u32::try_from(at).expect("fewer distributions than causes");
            }
        }
        let mut later = keys.clone();
        for at in (1..keys.len()).rev() {
            later[at - 1] = later[at - 1].min(later[at]);
        }
        Self {
            keys,
            later,
            causes,
            chances,
        }
    }

    /// The probability of an outcome under a set.
    pub fn chance(&self, [a, b, c]: Members, outcome: usize) -> f64 {
        let decides = self.keys[a].min(self.keys[b]).min(self.keys[c]) & DISTRIBUTION;
        self.chances[decides as usize][outcome]
    }

    fn outcomes(&self) -> usize {
        self.chances[0].len()
    }
}

impl<'a> Forecast<'a> {
    /// Looks through all sets once.
    pub fn of(deciders: &'a Deciders, frame: &Frame) -> Self {
        let faults = frame.faults();
        let tables = Tables::of(deciders, frame);
        let mut probabilities = vec![0.0; deciders.outcomes()];
        let mut joint = vec![0.0; faults * deciders.outcomes()];
        for (at, chances) in deciders.chances.iter().enumerate() {
            if tables.totals[at] <= 0.0 {
                continue;
            }
            let table = &tables.by_fault[at * tables.stride..][..faults];
            for (outcome, chance) in chances.iter().enumerate().filter(|(_, p)| **p > 0.0) {
                probabilities[outcome] += chance * tables.totals[at];
                let joint = &mut joint[outcome * faults..][..faults];
                for (sum, mass) in joint.iter_mut().zip(table) {
                    *sum += chance * mass;
                }
            }
        }
        Self {
            deciders,
            probabilities,
            joint,
        }
    }

    /// The probability of an outcome under a set.
    pub fn chance(&self, members: Members, outcome: usize) -> f64 {
        self.deciders.chance(members, outcome)
    }

    /// By fault: the probability that it is present and the outcome shows.
    pub fn joint(&self, outcome: usize) -> &[f64] {
        let faults = self.joint.len() / self.probabilities.len();
        &self.joint[outcome * faults..][..faults]
    }
}

/// By deciding distribution: the probability that it decides, alone and together with each fault.
struct Tables {
    totals: Vec<f64>,
    /// By distribution, then by fault and "no fault".
    by_fault: Vec<f64>,
    stride: usize,
}

impl Tables {
    /// Sets come in runs that share their first two members, so that what those two decide is settled
    /// once for the run. What `normal` decides is what is left over: its sets need no visit.
    fn of(deciders: &Deciders, frame: &Frame) -> Self {
        let stride = deciders.keys.len();
        let mut tables = Self {
            totals: vec![0.0; deciders.chances.len()],
            by_fault: vec![0.0; deciders.chances.len() * stride],
            stride,
        };
        for cause in &deciders.causes {
            for run in frame.runs_with(*cause) {
                tables.add_run(deciders, &run, *cause);
            }
            let key = deciders.keys[*cause];
            for ([a, b], weight) in frame.with_third(*cause) {
                if deciders.keys[a].min(deciders.keys[b]) == NO_CAUSE {
                    tables.add(key, [a, b, *cause], weight);
                }
            }
        }
        tables.leave_rest_to_normal(frame);
        tables
    }

    /// A run of which this cause is a shared member: nothing where the other one comes before it.
    fn add_run(&mut self, deciders: &Deciders, run: &Run, cause: usize) {
        let (keys, later) = (&deciders.keys[..], &deciders.later[..]);
        let [a, b] = run.shared;
        let shared_key = keys[a].min(keys[b]);
        if shared_key != keys[cause] {
            return;
        }
        let mut decided_by_shared = run.total;
        let third_may_decide = later[b] < shared_key;
        if third_may_decide {
            for (third, weight) in run.sets {
                let c = usize::from(*third);
                if keys[c] < shared_key {
                    self.add(keys[c], [a, b, c], *weight);
                    decided_by_shared -= weight;
                }
            }
        }
        let at = (shared_key & DISTRIBUTION) as usize;
        let table = &mut self.by_fault[at * self.stride..][..self.stride];
        for (third, weight) in run.sets {
            let c = usize::from(*third);
            if !third_may_decide || keys[c] >= shared_key {
                table[c] += weight;
            }
        }
        table[a] += decided_by_shared;
        table[b] += decided_by_shared;
        self.totals[at] += decided_by_shared;
    }

    fn add(&mut self, key: u32, members: Members, weight: f64) {
        let at = (key & DISTRIBUTION) as usize;
        self.totals[at] += weight;
        for fault in members {
            self.by_fault[at * self.stride + fault] += weight;
        }
    }

    /// Gives the first distribution, `normal`, what no other decides.
    fn leave_rest_to_normal(&mut self, frame: &Frame) {
        self.totals[0] = (1.0 - self.totals[1..].iter().sum::<f64>()).max(0.0);
        let (normal, others) = self.by_fault.split_at_mut(self.stride);
        normal[..frame.faults()].copy_from_slice(&frame.marginals);
        for table in others.chunks_exact(self.stride) {
            for (left, decided) in normal.iter_mut().zip(table) {
                *left -= decided;
            }
        }
        for left in normal {
            *left = left.max(0.0);
        }
    }
}
