//! Invented models drawn at random: small ones without a plan behind them, large ones shaped like
//! fuel systems. A seed names a model for good.

use floatbowl::knowledge::model::{
    Cause, Fault, FaultIx, Model, Observation, ObservationKind, Opening, OpeningIx, Outcome, Repair,
};
use proptest::prelude::Rng;
use proptest::test_runner::{RngAlgorithm, TestRng};

/// A source of chance that gives the same draws for the same seed.
pub struct Dice(TestRng);

impl Dice {
    pub fn of(seed: u64) -> Self {
        let mut bytes = [0; 32];
        bytes[..8].copy_from_slice(&seed.to_le_bytes());
        Self(TestRng::from_seed(RngAlgorithm::ChaCha, &bytes))
    }

    /// Uniform in `low..high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        let unit = f64::from(self.0.next_u32()) / 4_294_967_296.0;
        low + unit * (high - low)
    }

    /// Uniform in logarithm.
    pub fn between_logs(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// A whole number in `0..count`.
    pub fn below(&mut self, count: usize) -> usize {
        let count = u32::try_from(count).expect("small");
        usize::try_from(self.0.next_u32() % count).expect("fits")
    }

    pub fn chance(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }

    /// A position drawn with these weights.
    pub fn pick(&mut self, weights: &[f64]) -> usize {
        let mut left = self.between(0.0, weights.iter().sum());
        let found = weights.iter().position(|weight| {
            left -= weight;
            left < 0.0
        });
        found.unwrap_or(weights.len() - 1)
    }

    /// Most of the weight on one outcome, the rest spread, nothing below 0.001.
    fn distribution(&mut self, outcomes: usize, peak: usize) -> Vec<f64> {
        let mut weights: Vec<f64> = (0..outcomes).map(|_| self.between(0.002, 0.15)).collect();
        weights[peak] = self.between(0.5, 3.0);
        let total: f64 = weights.iter().sum();
        weights.iter().map(|weight| weight / total).collect()
    }

    fn shuffled(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for at in (1..count).rev() {
            order.swap(at, self.below(at + 1));
        }
        order
    }

    fn openings(&mut self, count: usize) -> Vec<OpeningIx> {
        if count == 0 || self.chance(0.4) {
            Vec::new()
        } else {
            vec![OpeningIx::from(self.below(count))]
        }
    }
}

/// A model of 2 to 8 faults and 1 to 8 observations, all repairs sure to succeed.
pub fn small(seed: u64) -> Model {
    let dice = &mut Dice::of(seed);
    let (faults, looks, openings) = (2 + dice.below(7), 1 + dice.below(8), dice.below(5));
    let mut model = Model {
        system: "invented".into(),
        faults: (0..faults)
            .map(|at| fault(dice, at, openings, (0.01, 0.3)))
            .collect(),
        openings: (0..openings).map(|at| opening(dice, at)).collect(),
        observations: (0..looks)
            .map(|at| observation(dice, at, faults, openings))
            .collect(),
        handover_minutes: dice.between(60.0, 240.0),
        minutes_per_cost_unit: 10.0,
        healthy_factor: dice.between_logs(0.001, 0.05),
    };
    if faults > 2 && dice.chance(0.5) {
        exclude(&mut model, 0, 1);
    }
    model
}

/// As [`small`], with every other repair a failure up to three times in ten.
pub fn small_and_unsure(seed: u64) -> Model {
    let mut model = small(seed);
    let dice = &mut Dice::of(seed + 500);
    for fault in model.faults.iter_mut().step_by(2) {
        fault.repair.success = dice.between(0.7, 1.0);
    }
    model
}

/// A model like a fuel system's: faults along three paths that share a part, observations along
/// the paths that see every fault upstream, and a complaint that every fault may bring about.
pub fn system(seed: u64, faults: usize, looks: usize) -> Model {
    let dice = &mut Dice::of(seed);
    let openings = 12;
    let each = 1.0 / f64::from(u32::try_from(faults).expect("small"));
    let mut model = Model {
        system: "invented".into(),
        faults: (0..faults)
            .map(|at| fault(dice, at, openings, (0.2 * each, 2.0 * each)))
            .collect(),
        openings: (0..openings).map(|at| opening(dice, at)).collect(),
        observations: vec![complaint(dice, faults)],
        handover_minutes: 240.0,
        minutes_per_cost_unit: 10.0,
        healthy_factor: 0.05,
    };
    for at in 1..looks {
        let checked = along_path(dice, at, faults, openings);
        model.observations.push(checked);
    }
    for pair in 0..faults / 8 {
        exclude(&mut model, 8 * pair, 8 * pair + 3);
    }
    model
}

fn exclude(model: &mut Model, a: usize, b: usize) {
    model.faults[a].excludes.push(b.into());
    model.faults[b].excludes.push(a.into());
}

fn fault(dice: &mut Dice, at: usize, openings: usize, (low, high): (f64, f64)) -> Fault {
    Fault {
        id: format!("fault-{at}").as_str().into(),
        part: format!("part-{}", at / 2).as_str().into(),
        prior: dice.between_logs(low, high),
        excludes: Vec::new(),
        repair: Repair {
            minutes: dice.between_logs(2.0, 40.0),
            parts_cost: if dice.chance(0.5) {
                dice.between(0.0, 3.0)
            } else {
                0.0
            },
            openings: dice.openings(openings),
            success: 1.0,
            shop_only: false,
        },
    }
}

fn opening(dice: &mut Dice, at: usize) -> Opening {
    Opening {
        id: format!("opening-{at}").as_str().into(),
        parent: if at > 0 && dice.chance(0.5) {
            Some(OpeningIx::from(dice.below(at)))
        } else {
            None
        },
        open_minutes: dice.between(1.0, 15.0),
        close_minutes: dice.between(1.0, 15.0),
    }
}

fn outcomes(at: usize, count: usize) -> Vec<Outcome> {
    let outcome = |nth| Outcome {
        id: format!("seen-{at}-{nth}").as_str().into(),
        words: format!("result {nth}"),
        low: None,
        high: None,
    };
    (0..count).map(outcome).collect()
}

fn checked(dice: &mut Dice, at: usize, count: usize, openings: usize) -> Observation {
    Observation {
        id: format!("seen-{at}").as_str().into(),
        kind: ObservationKind::Choice,
        quantity: None,
        minutes: dice.between_logs(0.5, 15.0),
        openings: dice.openings(openings),
        kit: Vec::new(),
        gates: Vec::new(),
        questions: 0,
        outcomes: outcomes(at, count),
        normal: dice.distribution(count, 0),
        causes: Vec::new(),
    }
}

fn observation(dice: &mut Dice, at: usize, faults: usize, openings: usize) -> Observation {
    let count = 2 + dice.below(2);
    let mut observation = checked(dice, at, count, openings);
    let listed = 1 + dice.below(faults);
    for fault in dice.shuffled(faults).into_iter().take(listed) {
        let peak = 1 + dice.below(count - 1);
        let outcomes = dice.distribution(count, peak);
        observation.causes.push(Cause {
            fault: FaultIx::from(fault),
            outcomes,
        });
    }
    observation
}

fn complaint(dice: &mut Dice, faults: usize) -> Observation {
    let mut observation = checked(dice, 0, 2, 0);
    observation.kind = ObservationKind::Symptom;
    observation.normal = vec![0.98, 0.02];
    for fault in 0..faults {
        let yes = dice.between(0.5, 0.98);
        observation.causes.push(Cause {
            fault: FaultIx::from(fault),
            outcomes: vec![1.0 - yes, yes],
        });
    }
    observation
}

/// Every other observation looks at one fault, each at another. The rest lie on one of three paths,
/// each with every third fault: those up to a random place are seen, the even ones blocking, the odd
/// ones starving.
fn along_path(dice: &mut Dice, at: usize, faults: usize, openings: usize) -> Observation {
    let mut observation = checked(dice, at, 3, openings);
    observation.normal = dice.distribution(3, 0);
    let (blocked, starved) = (dice.distribution(3, 2), dice.distribution(3, 1));
    let seen: Vec<usize> = if at.is_multiple_of(2) {
        vec![at / 2 * 7 % faults]
    } else {
        let path: Vec<usize> = (at % 3..faults).step_by(3).collect();
        path[..=dice.below(path.len())].to_vec()
    };
    for blocks in [true, false] {
        for fault in seen
            .iter()
            .filter(|fault| fault.is_multiple_of(2) == blocks)
        {
            let outcomes = if blocks {
                blocked.clone()
            } else {
                starved.clone()
            };
            observation.causes.push(Cause {
                fault: FaultIx::from(*fault),
                outcomes,
            });
        }
    }
    observation
}
