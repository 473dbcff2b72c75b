//! Repairs that may not have held: where the complaint is still there, so may be the fault.
//!
//! A repair succeeds with a probability. Taking every one for done would leave the planner looking
//! for a second fault where the first was never cured. So the fault is split in two that exclude
//! each other: one that the repair has removed, with that share of the odds, and one that it has
//! not, with the rest. Both bring about the same results; only the first is repaired.

use super::finding::Finding;
use crate::knowledge::model::{FaultIx, Model};
use std::borrow::Cow;

/// The model and the findings with every repair open to doubt.
///
/// A fault keeps its position, where it now stands for itself after all repairs: not removed. The
/// removed ones stand after all others and count as repaired.
#[must_use]
pub fn doubting_repairs<'a>(
    model: &'a Model,
    findings: &[Finding],
) -> (Cow<'a, Model>, Vec<Finding>) {
    let mut model = Cow::Borrowed(model);
    let doubted = |finding: &Finding| match finding {
        Finding::Repaired(fault) if model.faults[fault.at()].repair.success < 1.0 => {
            Finding::Repaired(split(model.to_mut(), *fault))
        }
        other => other.clone(),
    };
    let findings = findings.iter().map(doubted).collect();
    (model, findings)
}

/// Splits a fault and returns the removed one.
fn split(model: &mut Model, fault: FaultIx) -> FaultIx {
    let removed = FaultIx::from(model.faults.len());
    let kept = &mut model.faults[fault.at()];
    let odds = kept.prior / (1.0 - kept.prior);
    let share = |share: f64| odds * share / (1.0 + odds * share);
    let mut gone = kept.clone();
    gone.prior = share(kept.repair.success);
    kept.prior = share(1.0 - kept.repair.success);
    gone.excludes.push(fault);
    kept.excludes.push(removed);
    for other in gone.excludes.clone() {
        if other != fault {
            model.faults[other.at()].excludes.push(removed);
        }
    }
    model.faults.push(gone);
    for observation in &mut model.observations {
        let cause = observation.causes.iter().position(|c| c.fault == fault);
        if let Some(at) = cause {
            let mut same = observation.causes[at].clone();
            same.fault = removed;
            observation.causes.insert(at + 1, same);
        }
    }
    removed
}
