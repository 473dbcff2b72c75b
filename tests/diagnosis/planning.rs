//! The planner against the optimum found by dynamic programming.

use crate::policy::{Trial, with_proof};
use crate::random::small;
use floatbowl::diagnosis::optimum::optimum;
use floatbowl::diagnosis::{Belief, Depth, Situation, Terms, plan};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx};

/// Expected minutes of the best policy, from the beginning.
fn best(model: &Model, proof: ObservationIx, terms: Terms) -> f64 {
    let belief = Belief::given(model, &[]);
    let observations: Vec<ObservationIx> = (0..proof.at()).map(ObservationIx::from).collect();
    let repairs: Vec<FaultIx> = belief.faults().collect();
    let situation = Situation {
        model,
        belief: &belief,
        open: &[],
        observations: &observations,
        repairs: &repairs,
        terms,
        depth: Depth::TwoSteps,
    };
    optimum(&situation).expect("the model is small")
}

/// Expected minutes over the optimum's for each model, with the seed of the model, in rising order.
#[derive(Default)]
struct Ratios(Vec<(f64, u64)>);

impl Ratios {
    fn add(&mut self, seed: u64, ratio: f64) {
        self.0.push((ratio, seed));
        self.0.sort_by(|x, y| x.0.total_cmp(&y.0));
    }

    fn mean(&self) -> f64 {
        self.0.iter().map(|(ratio, _)| ratio).sum::<f64>()
            / f64::from(u32::try_from(self.0.len()).expect("few"))
    }

    fn worst(&self) -> f64 {
        self.0[self.0.len() - 1].0
    }
}

/// 200 random models of at most 8 faults and 8 observations, with a wrong repair at its bare cost
/// and on the usual terms: the mean within 3 % of the optimum, the worst within 15 %.
#[test]
fn comes_within_a_few_per_cent_of_the_optimum() {
    for (name, terms) in [("bare", Terms::bare()), ("usual", Terms::default())] {
        let (mut one_step, mut two_steps) = (Ratios::default(), Ratios::default());
        for seed in 0..200 {
            let (model, proof) = with_proof(small(seed));
            let best = best(&model, proof, terms);
            let one = |s: &Situation| {
                plan(&Situation {
                    depth: Depth::OneStep,
                    ..*s
                })
                .choice
            };
            one_step.add(
                seed,
                Trial {
                    model: &model,
                    proof,
                    terms,
                    policy: one,
                }
                .minutes()
                    / best,
            );
            let two = |s: &Situation| plan(s).choice;
            two_steps.add(
                seed,
                Trial {
                    model: &model,
                    proof,
                    terms,
                    policy: two,
                }
                .minutes()
                    / best,
            );
        }
        for (depth, ratios) in [("one step", &one_step), ("two steps", &two_steps)] {
            println!(
                "{name} terms, {depth}: mean {:.4}, worst (ratio, seed) {:.4?}",
                ratios.mean(),
                &ratios.0[195..]
            );
            assert!(
                ratios.0[0].0 >= 1.0 - 1e-3,
                "{:?} is better than the optimum",
                ratios.0[0]
            );
        }
        assert!(two_steps.mean() <= 1.03);
        assert!(two_steps.worst() <= 1.15);
    }
}
