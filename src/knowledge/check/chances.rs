//! Checks on probabilities, minutes and costs.

use crate::knowledge::compile::grade;
use crate::knowledge::library::{Library, Spot};
use crate::knowledge::model::Model;
use crate::knowledge::problem::Problem;
use crate::knowledge::schema::{Chance, Observation};

/// How far a distribution written in decimals may be from 1.
const SLACK: f64 = 1e-6;

/// Every distribution sums to 1.
pub(super) fn distributions_sum_to_one(library: &Library) -> Vec<Problem> {
    let mut found = Vec::new();
    for check in &library.observations {
        for (needle, sum) in sums(check) {
            if (sum - 1.0).abs() > SLACK {
                found.push(library.problem(
                    Spot {
                        file: check.file,
                        item: check.id.as_str(),
                        needle: &needle,
                    },
                    format!(
                        "The chances of \"{}\" sum to {sum:.4} here, not to 1.",
                        check.id
                    ),
                    "Share the difference out; an outcome that is not named has no chance.",
                ));
            }
        }
    }
    found
}

/// The sum of every distribution of an observation, with text that marks its place.
fn sums(check: &Observation) -> Vec<(String, f64)> {
    let normal = check.outcome.iter().map(|outcome| outcome.normal).sum();
    let mut sums = vec![("normal".to_owned(), normal)];
    for cause in &check.cause {
        let needle = cause
            .faults
            .first()
            .map_or(String::new(), |id| format!("\"{id}\""));
        sums.push((needle, cause.outcomes.values().sum()));
    }
    if !check.outside.is_empty() {
        sums.push(("outside".to_owned(), check.outside.values().sum()));
    }
    if let Some(place) = &check.on {
        sums.push(("blocked".to_owned(), place.blocked.values().sum()));
        sums.push(("starved".to_owned(), place.starved.values().sum()));
    }
    sums
}

/// Chances are in 0..=1, priors in 0..1, minutes and costs not negative, grades known.
pub(super) fn figures_are_in_range(library: &Library) -> Vec<Problem> {
    let Some(grades) = library.grades.first() else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mut want = |at: (usize, &str), needle: &str, what: &str, good: bool| {
        if !good {
            found.push(library.problem(
                Spot { file: at.0, item: at.1, needle },
                format!("{what} is out of range or not a known grade."),
                "Probabilities lie between 0 and 1, minutes and costs are not negative, grades stand in grades.toml.",
            ));
        }
    };
    let chance =
        |chance: &Chance| grade(&grades.chance, chance).is_some_and(|p| (0.0..=1.0).contains(&p));
    for fault in &library.faults {
        let at = (fault.file, fault.id.as_str());
        let prior = grade(&grades.prior, &fault.prior);
        want(
            at,
            "prior",
            "The prior",
            prior.is_some_and(|p| p > 0.0 && p < 1.0),
        );
        for (id, shown) in fault.shows.iter().chain(&fault.after) {
            want(at, id.as_str(), "The chance", chance(shown));
        }
        let repair = &fault.repair;
        want(
            at,
            "minutes",
            "A figure of the repair",
            repair.minutes >= 0.0 && repair.parts_cost >= 0.0,
        );
        want(
            at,
            "success",
            "The success",
            repair.success > 0.0 && repair.success <= 1.0,
        );
    }
    for check in &library.observations {
        let at = (check.file, check.id.as_str());
        want(at, "minutes", "The time", check.minutes >= 0.0);
        let spread = check.cause.iter().flat_map(|cause| cause.outcomes.values());
        let spread = spread.chain(check.outside.values());
        let mut all = spread.chain(check.outcome.iter().map(|outcome| &outcome.normal));
        want(
            at,
            "outcome",
            "A chance",
            all.all(|p| (0.0..=1.0).contains(p)),
        );
    }
    for symptom in &library.symptoms {
        want(
            (symptom.file, symptom.id.as_str()),
            "normal",
            "The chance",
            chance(&symptom.normal),
        );
    }
    for history in &library.history {
        want(
            (history.file, history.id.as_str()),
            "normal",
            "The chance",
            chance(&history.normal),
        );
    }
    found
}

/// Sets of at most three faults are nearly exact only while the priors sum to at most 1.
pub(super) fn priors_leave_room(library: &Library, model: &Model) -> Vec<Problem> {
    let sum: f64 = model.faults.iter().map(|fault| fault.prior).sum();
    if sum <= 1.0 {
        return Vec::new();
    }
    let system = library
        .systems
        .iter()
        .find(|system| system.id == model.system);
    let problem = system.map(|system| {
        library.problem(
            Spot { file: system.file, item: system.id.as_str(), needle: "" },
            format!("The priors of \"{}\" sum to {sum:.2}; above 1, sets of three faults are no longer nearly exact.", model.system),
            "Lower the prior grades of its faults.",
        )
    });
    problem.into_iter().collect()
}
