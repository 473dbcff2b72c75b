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
        ids: impl IntoIterator<Item = &'b str>,
        found: &mut Vec<Problem>,
    ) {
        for id in ids {
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
            self.want(
                at,
                &self.parts,
                parts.map(super::super::id::PartId::as_str),
                found,
            );
        }
    }

    fn openings(&self, found: &mut Vec<Problem>) {
        for opening in &self.library.openings {
            let at = (opening.file, opening.id.as_str());
            self.want(
                at,
                &self.openings,
                opening
                    .parent
                    .iter()
                    .map(super::super::id::OpeningId::as_str),
                found,
            );
            self.want(
                at,
                &self.gates,
                opening.gates.iter().map(super::super::id::GateId::as_str),
                found,
            );
            self.want(
                at,
                &self.cautions,
                opening
                    .cautions
                    .iter()
                    .map(super::super::id::CautionId::as_str),
                found,
            );
        }
    }

    fn faults(&self, found: &mut Vec<Problem>) {
        for fault in &self.library.faults {
            let at = (fault.file, fault.id.as_str());
            let repair = &fault.repair;
            self.want(at, &self.parts, [fault.part.as_str()], found);
            self.want(
                at,
                &self.systems,
                fault
                    .systems
                    .iter()
                    .flatten()
                    .map(super::super::id::SystemId::as_str),
                found,
            );
            self.want(
                at,
                &self.faults,
                fault.excludes.iter().map(super::super::id::FaultId::as_str),
                found,
            );
            self.want(
                at,
                &self.paths,
                fault.effect.iter().map(|effect| effect.path.as_str()),
                found,
            );
            self.want(
                at,
                &self.symptoms,
                fault
                    .shows
                    .keys()
                    .map(super::super::id::ObservationId::as_str),
                found,
            );
            self.want(
                at,
                &self.history,
                fault
                    .after
                    .keys()
                    .map(super::super::id::ObservationId::as_str),
                found,
            );
            self.want(
                at,
                &self.openings,
                repair
                    .openings
                    .iter()
                    .map(super::super::id::OpeningId::as_str),
                found,
            );
            self.want(
                at,
                &self.gates,
                repair.gates.iter().map(super::super::id::GateId::as_str),
                found,
            );
            self.want(
                at,
                &self.cautions,
                repair
                    .cautions
                    .iter()
                    .map(super::super::id::CautionId::as_str),
                found,
            );
            self.want(
                at,
                &self.kit,
                repair.kit.iter().map(super::super::id::KitId::as_str),
                found,
            );
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
            self.want(
                at,
                &own,
                spread
                    .chain(placed)
                    .map(super::super::id::OutcomeId::as_str),
                found,
            );
            self.want(
                at,
                &self.systems,
                check
                    .systems
                    .iter()
                    .flatten()
                    .map(super::super::id::SystemId::as_str),
                found,
            );
            self.want(
                at,
                &self.openings,
                check
                    .openings
                    .iter()
                    .map(super::super::id::OpeningId::as_str),
                found,
            );
            self.want(
                at,
                &self.gates,
                check.gates.iter().map(super::super::id::GateId::as_str),
                found,
            );
            self.want(
                at,
                &self.cautions,
                check
                    .cautions
                    .iter()
                    .map(super::super::id::CautionId::as_str),
                found,
            );
            self.want(
                at,
                &self.kit,
                check.kit.iter().map(super::super::id::KitId::as_str),
                found,
            );
            let hazards = check
                .outcome
                .iter()
                .filter_map(|outcome| outcome.hazard.as_ref());
            self.want(
                at,
                &self.hazards,
                hazards.map(super::super::id::HazardId::as_str),
                found,
            );
            let faults = check.cause.iter().flat_map(|cause| &cause.faults);
            self.want(
                at,
                &self.faults,
                faults.map(super::super::id::FaultId::as_str),
                found,
            );
            if let Some(place) = &check.on {
                self.want(at, &self.paths, [place.path.as_str()], found);
                let ends = place.from.iter().chain([&place.at]);
                self.want(
                    at,
                    &self.parts,
                    ends.map(super::super::id::PartId::as_str),
                    found,
                );
            }
        }
    }

    fn rest(&self, found: &mut Vec<Problem>) {
        let outcomes = names("outcome", outcome_ids(self.library));
        let suffixed: Vec<String> = yes_no_ids(self.library);
        for proof in &self.library.proof {
            let at = (proof.file, "proof");
            self.want(
                at,
                &self.gates,
                proof.gates.iter().map(super::super::id::GateId::as_str),
                found,
            );
            self.want(
                at,
                &self.cautions,
                proof
                    .cautions
                    .iter()
                    .map(super::super::id::CautionId::as_str),
                found,
            );
            self.want(at, &self.hazards, [proof.leak.as_str()], found);
        }
        for spec in &self.library.specs {
            let at = (spec.file, spec.observation.as_str());
            self.want(at, &self.observations, [spec.observation.as_str()], found);
        }
        for sheet in &self.library.sheets {
            let at = (sheet.file, sheet.citation.as_str());
            self.want(at, &self.systems, sheet.system.as_deref(), found);
            let specs = sheet.spec.iter().map(|row| row.observation.as_str());
            self.want(at, &self.observations, specs, found);
        }
        for bike in &self.library.bikes {
            let at = (bike.file, bike.id.as_str());
            self.want(at, &self.systems, [bike.system.as_str()], found);
            let specs = bike.spec.iter().map(|spec| spec.observation.as_str());
            self.want(at, &self.observations, specs, found);
        }
        for example in &self.library.examples {
            let at = (example.file, example.name.as_str());
            self.want(at, &self.systems, [example.system.as_str()], found);
            let evidence = example
                .evidence
                .iter()
                .map(super::super::id::OutcomeId::as_str);
            let unknown = evidence.filter(|id| !suffixed.iter().any(|known| known == id));
            self.want(at, &outcomes, unknown, found);
            let faults = example.suspects.iter().chain(&example.cleared);
            self.want(
                at,
                &self.faults,
                faults.map(super::super::id::FaultId::as_str),
                found,
            );
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
