//! Observations with two outcomes, and the floor under every chance.

use crate::knowledge::id::{ObservationId, OutcomeId};
use crate::knowledge::model::{Cause, FaultIx, Observation, ObservationKind, Outcome};

/// No chance is ever taken to be smaller: a rider can always slip.
const FLOOR: f64 = 0.001;

pub(super) fn yes_no(
    id: &ObservationId,
    kind: ObservationKind,
    normal: f64,
    causes: Vec<(FaultIx, f64)>,
) -> Observation {
    let outcome = |suffix: &str| Outcome {
        id: OutcomeId::from(format!("{id}-{suffix}").as_str()),
        words: suffix.to_owned(),
        low: None,
        high: None,
    };
    Observation {
        id: id.clone(),
        kind,
        quantity: None,
        minutes: 0.5,
        openings: Vec::new(),
        kit: Vec::new(),
        gates: Vec::new(),
        questions: 0,
        outcomes: vec![outcome("yes"), outcome("no")],
        normal: vec![normal, 1.0 - normal],
        causes: causes
            .into_iter()
            .map(|(fault, yes)| Cause {
                fault,
                outcomes: vec![yes, 1.0 - yes],
            })
            .collect(),
    }
}

/// Raises every chance to the floor and shares the difference out so that the sum stays 1.
pub(super) fn floor(distribution: &mut [f64]) {
    let total: f64 = distribution.iter().map(|chance| chance.max(FLOOR)).sum();
    for chance in distribution.iter_mut() {
        *chance = chance.max(FLOOR) / total;
    }
}
