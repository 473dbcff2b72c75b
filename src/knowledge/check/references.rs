//! Checks that every id named somewhere is defined somewhere.

use crate::knowledge::compile::{COMPLAINT, COMPLAINT_GONE, COMPLAINT_THERE, OUTSIDE};
use crate::knowledge::library::{Library, Spot};
use crate::knowledge::problem::Problem;
use std::collections::BTreeSet;

/// Names of one sort.
struct Names<'a> {
    sort: &'static str,
    known: BTreeSet<&'a str>,
}

/// Every definition, by sort.
struct Index<'a> {
    library: &'a Library,
    systems: Names<'a>,
    parts: Names<'a>,
    paths: Names<'a>,
    openings: Names<'a>,
    gates: Names<'a>,
    cautions: Names<'a>,
    hazards: Names<'a>,
    kit: Names<'a>,
    faults: Names<'a>,
    symptoms: Names<'a>,
    history: Names<'a>,
    observations: Names<'a>,
}

/// Every id that is named is defined.
pub(super) fn ids_are_known(library: &Library) -> Vec<Problem> {
    let index = Index::new(library);
    let mut found = Vec::new();
    index.systems(&mut found);
    index.openings(&mut found);
    index.faults(&mut found);
    index.observations(&mut found);
    index.rest(&mut found);
    found
}

fn names<'a>(sort: &'static str, ids: impl Iterator<Item = &'a str>) -> Names<'a> {
    Names {
        sort,
        known: ids.collect(),
    }
}

impl<'a> Index<'a> {
    fn new(library: &'a Library) -> Self {
        let paths = library.systems.iter().flat_map(|system| &system.path);
        Self {
            library,
            systems: names(
                "system",
                library.systems.iter().map(|item| item.id.as_str()),
            ),
            parts: names("part", library.parts.iter().map(|item| item.id.as_str())),
            paths: names("path", paths.map(|path| path.id.as_str())),
            openings: names(
                "opening",
                library.openings.iter().map(|item| item.id.as_str()),
            ),
            gates: names("gate", library.gates.iter().map(|item| item.id.as_str())),
            cautions: names(
                "caution",
                library.cautions.iter().map(|item| item.id.as_str()),
            ),
            hazards: names(
                "hazard",
                library.hazards.iter().map(|item| item.id.as_str()),
            ),
            kit: names("kit", library.kit.iter().map(|item| item.id.as_str())),
            faults: names(
                "fault",
                library
                    .faults
                    .iter()
                    .map(|item| item.id.as_str())
                    .chain([OUTSIDE]),
            ),
            symptoms: names(
                "symptom",
                library.symptoms.iter().map(|item| item.id.as_str()),
            ),
            history: names(
                "history",
                library.history.iter().map(|item| item.id.as_str()),
            ),
            observations: names(
                "observation",
                library
                    .observations
                    .iter()
                    .map(|item| item.id.as_str())
                    .chain([COMPLAINT]),
            ),
        }
    }

    /// Reports each of `ids` that `names` does not hold.
    fn want<'b>(
        &self,
        (file, item): (usize, &str),
        names: &Names<'_>,
        ids: impl IntoIterator<Item = &'b (impl AsRef<str> + ?Sized + 'b)>,
        found: &mut Vec<Problem>,
    ) {
        for id in ids.into_iter().map(AsRef::as_ref) {
            if !names.known.contains(id) {
                let needle = format!("\"{id}\"");
                found.push(self.library.problem(
                    Spot {
                        file,
                        item,
                        needle: &needle,
                    },
                    format!("There is no {} called \"{id}\".", names.sort),
                    &remedy(names, id),
                ));
            }
        }
    }

    fn systems(&self, found: &mut Vec<Problem>) {
        for system in &self.library.systems {
            let at = (system.file, system.id.as_str());
            let parts = system
                .path
                .iter()
                .flat_map(|path| &path.parts)
                .chain(&system.parts);
            self.want(at, &self.parts, parts, found);
        }
    }

    fn openings(&self, found: &mut Vec<Problem>) {
        for opening in &self.library.openings {
            let at = (opening.file, opening.id.as_str());
            self.want(at, &self.openings, opening.parent.iter(), found);
            self.want(at, &self.gates, opening.gates.iter(), found);
            self.want(at, &self.cautions, opening.cautions.iter(), found);
        }
    }

    fn faults(&self, found: &mut Vec<Problem>) {
        for fault in &self.library.faults {
            let at = (fault.file, fault.id.as_str());
            let repair = &fault.repair;
            self.want(at, &self.parts, [&fault.part], found);
            self.want(at, &self.systems, fault.systems.iter().flatten(), found);
            self.want(at, &self.faults, fault.excludes.iter(), found);
            self.want(
                at,
                &self.paths,
                fault.effect.iter().map(|effect| &effect.path),
                found,
            );
            self.want(at, &self.symptoms, fault.shows.keys(), found);
            self.want(at, &self.history, fault.after.keys(), found);
            self.want(at, &self.openings, repair.openings.iter(), found);
            self.want(at, &self.gates, repair.gates.iter(), found);
            self.want(at, &self.cautions, repair.cautions.iter(), found);
            self.want(at, &self.kit, repair.kit.iter(), found);
        }
    }

    fn observations(&self, found: &mut Vec<Problem>) {
        for check in &self.library.observations {
            let at = (check.file, check.id.as_str());
            let own = names(
                "outcome of this observation",
                check.outcome.iter().map(|outcome| outcome.id.as_str()),
            );
            let spread = check.cause.iter().flat_map(|cause| cause.outcomes.keys());
            let placed = check
                .on
                .iter()
                .flat_map(|place| place.blocked.keys().chain(place.starved.keys()));
            let outside = check.outside.keys();
            self.want(at, &own, spread.chain(placed).chain(outside), found);
            self.want(at, &self.systems, check.systems.iter().flatten(), found);
            self.want(at, &self.openings, check.openings.iter(), found);
            self.want(at, &self.gates, check.gates.iter(), found);
            self.want(at, &self.cautions, check.cautions.iter(), found);
            self.want(at, &self.kit, check.kit.iter(), found);
            let hazards = check
                .outcome
                .iter()
                .filter_map(|outcome| outcome.hazard.as_ref());
            self.want(at, &self.hazards, hazards, found);
            let faults = check.cause.iter().flat_map(|cause| &cause.faults);
            self.want(at, &self.faults, faults, found);
            if let Some(place) = &check.on {
                self.want(at, &self.paths, [&place.path], found);
                let ends = place.from.iter().chain([&place.at]);
                self.want(at, &self.parts, ends, found);
            }
        }
    }

    fn rest(&self, found: &mut Vec<Problem>) {
        for gate in &self.library.gates {
            let at = (gate.file, gate.id.as_str());
            self.want(at, &self.cautions, &gate.with_one_of, found);
            self.want(at, &self.gates, &gate.ended_by, found);
            self.want(at, &self.symptoms, &gate.ended_by_complaint, found);
        }
        for symptom in &self.library.symptoms {
            let at = (symptom.file, symptom.id.as_str());
            self.want(at, &self.systems, symptom.systems.iter().flatten(), found);
        }
        let outcomes = names("outcome", outcome_ids(self.library));
        let suffixed: Vec<String> = yes_no_ids(self.library);
        for proof in &self.library.proof {
            let at = (proof.file, "proof");
            self.want(at, &self.gates, proof.gates.iter(), found);
            self.want(at, &self.cautions, proof.cautions.iter(), found);
            self.want(at, &self.hazards, [&proof.leak], found);
        }
        for spec in &self.library.specs {
            let at = (spec.file, spec.observation.as_str());
            self.want(at, &self.observations, [&spec.observation], found);
        }
        for sheet in &self.library.sheets {
            let at = (sheet.file, sheet.citation.as_str());
            self.want(at, &self.systems, sheet.system.as_deref(), found);
            let specs = sheet.spec.iter().map(|row| row.observation.as_str());
            self.want(at, &self.observations, specs, found);
        }
        for bike in &self.library.bikes {
            let at = (bike.file, bike.id.as_str());
            self.want(at, &self.systems, [&bike.system], found);
            let specs = bike.spec.iter().map(|spec| &spec.observation);
            self.want(at, &self.observations, specs, found);
        }
        for example in &self.library.examples {
            let at = (example.file, example.name.as_str());
            self.want(at, &self.systems, [&example.system], found);
            let evidence = example.evidence.iter();
            let unknown = evidence.filter(|id| !suffixed.iter().any(|known| known == id.as_str()));
            self.want(at, &outcomes, unknown, found);
            let faults = example.suspects.iter().chain(&example.cleared);
            self.want(at, &self.faults, faults, found);
        }
    }
}

fn outcome_ids(library: &Library) -> impl Iterator<Item = &str> {
    let checks = library.observations.iter().flat_map(|check| &check.outcome);
    checks
        .map(|outcome| outcome.id.as_str())
        .chain([COMPLAINT_GONE, COMPLAINT_THERE])
}

fn yes_no_ids(library: &Library) -> Vec<String> {
    let symptoms = library.symptoms.iter().map(|item| &item.id);
    let history = library.history.iter().map(|item| &item.id);
    symptoms
        .chain(history)
        .flat_map(|id| [format!("{id}-yes"), format!("{id}-no")])
        .collect()
}

/// Names the nearest known id, since most unknown ids are slips of the keyboard.
fn remedy(names: &Names<'_>, id: &str) -> String {
    let nearest = names
        .known
        .iter()
        .map(|known| (strsim::damerau_levenshtein(known, id), *known))
        .min()
        .filter(|(distance, _)| *distance <= 1 + id.len() / 4);
    match nearest {
        Some((_, known)) => format!("Did you mean \"{known}\"?"),
        None => format!("Define the {} or take the name out.", names.sort),
    }
}
