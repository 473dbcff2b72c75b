//! Checks that whatever number a rider reports, one outcome holds it.

use crate::knowledge::library::{Library, Spot};
use crate::knowledge::problem::Problem;
use crate::knowledge::schema::{Manner, Observation, Outcome};

/// A measurement has a quantity, and its intervals cover every number without overlap.
pub(super) fn measurements_cover_every_number(library: &Library) -> Vec<Problem> {
    let mut found = Vec::new();
    for check in &library.observations {
        if let Some(what) = gap(check) {
            found.push(library.problem(
                Spot { file: check.file, item: check.id.as_str(), needle: "" },
                format!("\"{}\": {what}", check.id),
                "Give the outcomes in rising order, the first without `low`, the last without `high`, each starting where the one before ends.",
            ));
        }
    }
    found
}

fn gap(check: &Observation) -> Option<&'static str> {
    if check.outcome.len() < 2 {
        return Some("an observation needs at least two outcomes.");
    }
    let bounded: Vec<&Outcome> = check
        .outcome
        .iter()
        .filter(|outcome| !outcome.overload)
        .collect();
    match (check.kind, check.quantity) {
        (Manner::Measurement, None) => Some("a measurement needs a quantity."),
        (Manner::Choice, Some(_)) => Some("a choice has no quantity."),
        (Manner::Choice, None) => bounded
            .iter()
            .any(|outcome| outcome.low.is_some() || outcome.high.is_some())
            .then_some("the outcomes of a choice have no bounds."),
        (Manner::Measurement, Some(_)) => uncovered(&bounded),
    }
}

fn uncovered(outcomes: &[&Outcome]) -> Option<&'static str> {
    let first = outcomes.first()?;
    let last = outcomes.last()?;
    if first.low.is_some() || last.high.is_some() {
        return Some("the outcomes do not reach to both ends of the scale.");
    }
    let broken = outcomes
        .windows(2)
        .any(|pair| pair[0].high.is_none() || pair[0].high != pair[1].low);
    broken.then_some("there is a gap or an overlap between two outcomes.")
}
