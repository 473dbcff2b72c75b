//! Checks that what a rider can say means something the rest of the knowledge knows.

use crate::knowledge::library::{Library, PHRASES, Spot};
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

/// After the name of a thing: the moment in which it is measured.
const MOMENTS: [&str; 2] = [" cranking", " running"];

/// Every thing whose readings answer a check, or do not, is named by a phrase.
pub(super) fn things_are_named(library: &Library, ids: &Ids) -> Vec<Problem> {
    let thing = |name: &str| {
        let mut moments = MOMENTS.iter();
        let thing = moments.find_map(|moment| name.strip_suffix(moment));
        thing.unwrap_or(name).to_owned()
    };
    let checks = library.observations.iter();
    let named = checks.flat_map(|check| {
        let names = check.of.iter().chain(&check.not_of);
        names.map(move |name| (check, name))
    });
    let unknown = named.filter(|(_, name)| !ids.things.contains(&thing(name)));
    unknown
        .map(|(check, name)| {
            library.problem(
                Spot {
                    file: check.file,
                    item: check.id.as_str(),
                    needle: &format!("\"{name}\""),
                },
                format!("No phrase names the thing \"{name}\", so that no reading is ever of it."),
                "Add a `[[thing]]` with that id to a phrase file, or use the id of one that is there.",
            )
        })
        .collect()
}
