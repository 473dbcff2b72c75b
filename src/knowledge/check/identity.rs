//! Checks that every name means one thing.

use crate::knowledge::compile::{COMPLAINT, COMPLAINT_GONE, COMPLAINT_THERE, OUTSIDE};
use crate::knowledge::library::{Library, Placed};
use crate::knowledge::problem::Problem;
use std::collections::BTreeMap;

/// Ids that choices use; an outcome of that name could not be picked.
const RESERVED: [&str; 11] = [
    "yes", "no", "done", "cannot", "unsure", "skip", "why", "undo", "stop", "other", "person",
];

/// Every id of a sort stands once; outcome ids are unique over all observations.
pub(super) fn ids_are_unique(library: &Library) -> Vec<Problem> {
    let mut found = Vec::new();
    let mut sort = |name: &str, ids: Vec<(usize, String)>| {
        found.extend(repeated(library, name, &ids));
    };
    sort("system", ids(&library.systems, |item| item.id.as_str()));
    sort("part", ids(&library.parts, |item| item.id.as_str()));
    sort("opening", ids(&library.openings, |item| item.id.as_str()));
    sort("gate", ids(&library.gates, |item| item.id.as_str()));
    sort("caution", ids(&library.cautions, |item| item.id.as_str()));
    sort("hazard", ids(&library.hazards, |item| item.id.as_str()));
    sort("kit", ids(&library.kit, |item| item.id.as_str()));
    sort("bike", ids(&library.bikes, |item| item.id.as_str()));
    let mut faults = ids(&library.faults, |item| item.id.as_str());
    faults.push((usize::MAX, OUTSIDE.to_owned()));
    sort("fault", faults);
    let mut observations = ids(&library.observations, |item| item.id.as_str());
    observations.extend(ids(&library.symptoms, |item| item.id.as_str()));
    observations.extend(ids(&library.history, |item| item.id.as_str()));
    observations.push((usize::MAX, COMPLAINT.to_owned()));
    sort("observation, symptom or history", observations);
    sort("outcome", outcomes(library));
    found
}

/// There is exactly one table of grades, and one of proof.
pub(super) fn single_tables_stand_once(library: &Library) -> Vec<Problem> {
    let files = |placed: Vec<usize>| -> Vec<&str> {
        placed
            .into_iter()
            .map(|file| library.sources[file].path.as_str())
            .collect()
    };
    let grades = files(library.grades.iter().map(|placed| placed.file).collect());
    let proof = files(library.proof.iter().map(|placed| placed.file).collect());
    [once("grades", &grades), once("proof", &proof)]
        .into_iter()
        .flatten()
        .collect()
}

fn once(table: &str, files: &[&str]) -> Option<Problem> {
    let home = format!("{table}.toml");
    let (file, what) = match files {
        [_] => return None,
        [] => (home.as_str(), format!("There is no [{table}] table.")),
        [_, second, ..] => (*second, format!("There is a second [{table}] table.")),
    };
    Some(Problem::of_file(
        file,
        what,
        &format!("Keep one [{table}] table, in {home}."),
    ))
}

fn ids<T>(items: &[Placed<T>], id: impl Fn(&T) -> &str) -> Vec<(usize, String)> {
    items
        .iter()
        .map(|placed| (placed.file, id(&placed.item).to_owned()))
        .collect()
}

fn outcomes(library: &Library) -> Vec<(usize, String)> {
    let own = [COMPLAINT_GONE, COMPLAINT_THERE].iter().chain(&RESERVED);
    let own = own.map(|id| (usize::MAX, (*id).to_owned()));
    let checks = library.observations.iter().flat_map(|check| {
        check
            .outcome
            .iter()
            .map(|outcome| (check.file, outcome.id.to_string()))
    });
    own.chain(checks).collect()
}

fn repeated(library: &Library, sort: &str, ids: &[(usize, String)]) -> Vec<Problem> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, id) in ids {
        *seen.entry(id).or_default() += 1;
    }
    let mut claims: BTreeMap<&(usize, String), usize> = BTreeMap::new();
    let mut found = Vec::new();
    for claim in ids {
        let (file, id) = claim;
        let nth = claims.entry(claim).or_default();
        if seen[id.as_str()] > 1 && *file != usize::MAX {
            found.push(library.claim(
                (*file, id, *nth),
                format!("The {sort} id \"{id}\" is claimed more than once, or is one the program uses itself."),
                "Give each its own id; ids of outcomes are unique over all observations.",
            ));
        }
        *nth += 1;
    }
    found
}
