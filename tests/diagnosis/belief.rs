//! The belief against hand arithmetic and against enumeration of every subset.

use crate::brute_force::enumerate;
use crate::random::{Dice, small};
use floatbowl::diagnosis::{Belief, Finding};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx};
use proptest::prelude::*;

/// Soft, weak and hard results, repeats and repairs, in random order.
fn findings(model: &Model, seed: u64) -> Vec<Finding> {
    let dice = &mut Dice::of(seed ^ 0x5eed);
    let mut findings = Vec::new();
    for _ in 0..dice.below(10) {
        if dice.chance(0.15) {
            findings.push(Finding::Repaired(FaultIx::from(
                dice.below(model.faults.len()),
            )));
            continue;
        }
        let observation = ObservationIx::from(dice.below(model.observations.len()));
        let outcomes = model.observations[observation.at()].outcomes.len();
        let mut weights = vec![0.0; outcomes];
        weights[dice.below(outcomes)] = 1.0;
        if dice.chance(0.4) {
            weights = (0..outcomes).map(|_| dice.between(0.0, 1.0)).collect();
        }
        let strength = if dice.chance(0.3) {
            dice.between(0.0, 1.0)
        } else {
            1.0
        };
        findings.push(Finding::Seen {
            observation,
            weights,
            strength,
        });
    }
    findings
}

fn at_start(model: &Model, belief: &Belief) -> Vec<f64> {
    (0..model.faults.len())
        .map(|fault| belief.present_at_start(FaultIx::from(fault)))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Over sets of at most three, the belief is the enumeration.
    #[test]
    fn equals_enumeration(seed in 0_u64..1_000_000) {
        let model = small(seed);
        let findings = findings(&model, seed);
        let belief = Belief::given(&model, &findings);
        let exact = enumerate(&model, &findings, 3, 3);
        prop_assert!((belief.log_evidence() - exact.log_evidence).abs() < 1e-9);
        for (mine, theirs) in at_start(&model, &belief).iter().zip(&exact.at_start) {
            prop_assert!((mine - theirs).abs() < 1e-9, "{} {}", mine, theirs);
        }
    }

    /// Against all subsets, it is off by no more than its own bound, which covers what it left out.
    #[test]
    fn is_off_by_no_more_than_its_bound(seed in 0_u64..1_000_000) {
        let model = small(seed);
        let findings = findings(&model, seed);
        let belief = Belief::given(&model, &findings);
        let all = enumerate(&model, &findings, 32, 3);
        let bound = belief.dropped_mass_bound();
        prop_assert!(all.beyond <= bound * (1.0 + 1e-9), "{} left out, bound {bound}", all.beyond);
        for (mine, theirs) in at_start(&model, &belief).iter().zip(&all.at_start) {
            prop_assert!((mine - theirs).abs() <= bound + 1e-12, "{} {} {}", mine, theirs, bound);
        }
    }

    /// Adding results one at a time comes to the same as giving them all at once.
    #[test]
    fn may_be_updated_one_result_at_a_time(seed in 0_u64..1_000_000) {
        let model = small(seed);
        let mut findings = findings(&model, seed);
        let last_repair = findings.iter().rposition(|f| matches!(f, Finding::Repaired(_)));
        let later = findings.split_off(last_repair.map_or(0, |at| at + 1));
        let mut belief = Belief::given(&model, &findings);
        for finding in &later {
            let Finding::Seen { observation, weights, strength } = finding else { unreachable!() };
            belief = belief.after(&model, *observation, weights, *strength);
        }
        findings.extend(later);
        let whole = Belief::given(&model, &findings);
        prop_assert!((belief.log_evidence() - whole.log_evidence()).abs() < 1e-9);
        for (one_by_one, at_once) in at_start(&model, &belief).iter().zip(at_start(&model, &whole)) {
            prop_assert!((one_by_one - at_once).abs() < 1e-9);
        }
    }
}
