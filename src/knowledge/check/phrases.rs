//! Checks that what a rider can say means something the rest of the knowledge knows.

use crate::knowledge::library::{Library, PHRASES};
use crate::knowledge::phrase::Ids;
use crate::knowledge::problem::Problem;
use std::collections::BTreeSet;

/// Every symptom, fact of history, hazard, system and gate that phrases name is defined.
pub(super) fn ids_are_known(library: &Library, ids: &Ids) -> Vec<Problem> {
    let symptoms = library
        .symptoms
        .iter()
        .map(|item| item.id.as_str())
        .collect();
    let history = library
        .history
        .iter()
        .map(|item| item.id.as_str())
        .collect();
    let hazards = library
        .hazards
        .iter()
        .map(|item| item.id.as_str())
        .collect();
    let gates = library.gates.iter().map(|item| item.id.as_str()).collect();
    let systems = library
        .systems
        .iter()
        .map(|item| item.id.as_str())
        .collect();
    [
        missing("symptom", &ids.symptoms, &symptoms),
        missing("fact of history", &ids.history, &history),
        missing("hazard", &ids.hazards, &hazards),
        missing("system", &ids.systems, &systems),
        missing("gate", &ids.gates, &gates),
    ]
    .concat()
}

fn missing(sort: &str, said: &BTreeSet<String>, known: &BTreeSet<&str>) -> Vec<Problem> {
    let unknown = said.iter().filter(|id| !known.contains(id.as_str()));
    unknown
        .map(|id| {
            Problem::of_file(
                PHRASES,
                format!("A phrase means the {sort} \"{id}\", which nothing defines."),
                "Define it, or correct the id in the phrase file.",
            )
        })
        .collect()
}
