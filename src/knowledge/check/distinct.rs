//! Checks on the compiled systems: everything can happen, and every fault can be told from the others.

use crate::knowledge::library::{Library, Spot};
use crate::knowledge::model::{FaultIx, Model, Observation};
use crate::knowledge::problem::Problem;

/// A chance above the floor that every outcome has anyway.
const POSSIBLE: f64 = 0.0015;
/// Two distributions further apart than this, in total variation, tell two faults apart.
const TELLS: f64 = 0.25;

/// Every outcome of a check has a chance under some cause or when all is well.
pub(super) fn every_outcome_can_happen(library: &Library, model: &Model) -> Vec<Problem> {
    let mut found = Vec::new();
    for check in &library.observations {
        let Some(at) = model.observation(check.id.as_str()) else {
            continue;
        };
        let observation = &model.observations[at.at()];
        // The last cause is `outside-model`, which shows everything unless the check says what.
        let told = usize::from(check.outside.is_empty());
        let known = &observation.causes[..observation.causes.len() - told];
        for (outcome, chance) in observation.outcomes.iter().zip(0..) {
            let chances = known.iter().map(|cause| cause.outcomes[chance]);
            if chances
                .chain([observation.normal[chance]])
                .all(|chance| chance < POSSIBLE)
            {
                found.push(library.problem(
                    Spot {
                        file: check.file,
                        item: check.id.as_str(),
                        needle: outcome.id.as_str(),
                    },
                    format!(
                        "In \"{}\" nothing can bring about the outcome \"{}\".",
                        model.system, outcome.id
                    ),
                    "Give it a chance under `normal` or a cause, or take it out.",
                ));
            }
        }
    }
    found
}

/// Every two faults differ in what some observation shows.
pub(super) fn every_fault_can_be_told(library: &Library, model: &Model) -> Vec<Problem> {
    let mut found = Vec::new();
    // `outside-model`, the last, is told from the others by fitting badly.
    let known = model.faults.len() - 1;
    for one in 0..known {
        for other in one + 1..known {
            let pair = (FaultIx::from(one), FaultIx::from(other));
            if !model
                .observations
                .iter()
                .any(|seen| distance(seen, pair) > TELLS)
            {
                found.extend(confused(library, model, pair));
            }
        }
    }
    found
}

/// Total variation between what two faults show.
fn distance(observation: &Observation, pair: (FaultIx, FaultIx)) -> f64 {
    let (one, other) = (shown(observation, pair.0), shown(observation, pair.1));
    0.5 * one
        .iter()
        .zip(other)
        .map(|(a, b)| (a - b).abs())
        .sum::<f64>()
}

fn shown(observation: &Observation, fault: FaultIx) -> &[f64] {
    let cause = observation.causes.iter().find(|cause| cause.fault == fault);
    cause.map_or(&observation.normal, |cause| &cause.outcomes)
}

fn confused(library: &Library, model: &Model, pair: (FaultIx, FaultIx)) -> Option<Problem> {
    let (one, other) = (&model.faults[pair.0.at()].id, &model.faults[pair.1.at()].id);
    let fault = library.faults.iter().find(|fault| fault.id == *one)?;
    Some(library.problem(
        Spot {
            file: fault.file,
            item: one.as_str(),
            needle: "",
        },
        format!(
            "In \"{}\" no observation tells \"{one}\" from \"{other}\".",
            model.system
        ),
        "Add an observation whose chances differ between the two, or make them one fault.",
    ))
}
