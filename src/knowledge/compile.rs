//! From the files to one dense model per system: parts put in order, paths expanded into causes.
//!
//! Compilation assumes checked knowledge; what a check should have refused is skipped here.

mod outside;
mod path;
mod yes_no;

use path::{applies, parts_in_order, stretch};
use yes_no::{floor, yes_no};

use super::id::{FaultId, ObservationId, OpeningId, OutcomeId, PartId, PathId};
use super::library::{Library, Placed};
use super::model::{
    Cause, Fault, FaultIx, Model, Observation, ObservationKind, Opening, OpeningIx, Outcome, Repair,
};
use super::schema::{self, Disturbance};
use crate::quantity::Band;
use crate::quantity::spec::with_limits;
use std::collections::BTreeMap;

/// The fault that stands for everything the knowledge does not cover.
pub const OUTSIDE: &str = "outside-model";

/// The observation that asks, after a repair, whether the complaint is still there.
pub const COMPLAINT: &str = "complaint";
/// Its outcome when all is well.
pub const COMPLAINT_GONE: &str = "complaint-gone";
/// Its outcome when it is not.
pub const COMPLAINT_THERE: &str = "complaint-there";

/// No chance is ever taken to be smaller: a rider can always slip.
const FLOOR: f64 = 0.001;

/// Compiles one system.
#[must_use]
pub fn compile(library: &Library, system: &schema::System) -> Model {
    let draft = Draft::new(library, system);
    let mut model = Model {
        system: system.id.clone(),
        faults: draft.faults(),
        openings: openings(library),
        observations: Vec::new(),
        handover_minutes: system.handover_minutes,
        minutes_per_cost_unit: system.minutes_per_cost_unit,
        healthy_factor: system.healthy_factor,
    };
    model.observations = draft.observations();
    let outside = model.faults.len() - 1;
    for observation in &mut model.observations {
        let causes = draft.outside(observation, outside);
        observation.causes.push(causes);
        floor(&mut observation.normal);
        observation
            .causes
            .iter_mut()
            .for_each(|cause| floor(&mut cause.outcomes));
    }
    model
}

/// The number behind a grade, or the number itself; none for an unknown grade.
#[must_use]
pub fn grade(grades: &BTreeMap<String, f64>, chance: &schema::Chance) -> Option<f64> {
    match chance {
        schema::Chance::Grade(word) => grades.get(word).copied(),
        schema::Chance::Number(number) => Some(*number),
    }
}

/// The faults of a system in path order, with what is needed to look them up.
struct Draft<'a> {
    library: &'a Library,
    system: &'a schema::System,
    faults: Vec<&'a schema::Fault>,
    index: BTreeMap<&'a FaultId, FaultIx>,
}

impl<'a> Draft<'a> {
    fn new(library: &'a Library, system: &'a schema::System) -> Self {
        let faults: Vec<&schema::Fault> = parts_in_order(system)
            .into_iter()
            .flat_map(|part| {
                let belongs = move |fault: &&schema::Fault| {
                    fault.part == *part && applies(fault.systems.as_deref(), system)
                };
                library
                    .faults
                    .iter()
                    .map(|placed| &placed.item)
                    .filter(belongs)
            })
            .collect();
        let index = faults
            .iter()
            .enumerate()
            .map(|(at, fault)| (&fault.id, FaultIx::from(at)))
            .collect();
        Self {
            library,
            system,
            faults,
            index,
        }
    }

    fn chance(&self, chance: &schema::Chance) -> f64 {
        let grades = self.library.grades.first();
        grades
            .and_then(|grades| grade(&grades.chance, chance))
            .unwrap_or(0.5)
    }

    fn prior(&self, chance: &schema::Chance) -> f64 {
        let grades = self.library.grades.first();
        grades
            .and_then(|grades| grade(&grades.prior, chance))
            .unwrap_or(FLOOR)
    }

    /// All faults, and `outside-model` last, which excludes all others.
    fn faults(&self) -> Vec<Fault> {
        let outside = FaultIx::from(self.faults.len());
        let mut faults: Vec<Fault> = self
            .faults
            .iter()
            .map(|fault| Fault {
                id: fault.id.clone(),
                part: fault.part.clone(),
                prior: self.prior(&fault.prior),
                excludes: self.excluded_by(fault).chain([outside]).collect(),
                repair: self.repair(&fault.repair),
            })
            .collect();
        faults.push(Fault {
            id: FaultId::from(OUTSIDE),
            part: PartId::from(OUTSIDE),
            prior: self.system.outside_prior,
            excludes: (0..self.faults.len()).map(FaultIx::from).collect(),
            repair: Repair {
                minutes: self.system.handover_minutes,
                parts_cost: 0.0,
                openings: Vec::new(),
                success: 1.0,
                shop_only: true,
            },
        });
        faults
    }

    fn excluded_by(&self, fault: &schema::Fault) -> impl Iterator<Item = FaultIx> {
        let (id, excludes) = (fault.id.clone(), fault.excludes.clone());
        self.faults
            .iter()
            .enumerate()
            .filter_map(move |(at, other)| {
                let apart = excludes.contains(&other.id) || other.excludes.contains(&id);
                (apart && other.id != id).then(|| FaultIx::from(at))
            })
    }

    fn repair(&self, repair: &schema::Repair) -> Repair {
        Repair {
            minutes: repair.minutes,
            parts_cost: repair.parts_cost,
            openings: self.opening_indices(&repair.openings),
            success: repair.success,
            shop_only: repair.shop,
        }
    }

    fn opening_indices(&self, ids: &[OpeningId]) -> Vec<OpeningIx> {
        ids.iter()
            .filter_map(|id| {
                self.library
                    .openings
                    .iter()
                    .position(|opening| opening.id == *id)
            })
            .map(OpeningIx::from)
            .collect()
    }

    fn observations(&self) -> Vec<Observation> {
        let library = self.library;
        let here =
            |symptom: &&Placed<schema::Symptom>| applies(symptom.systems.as_deref(), self.system);
        let symptoms = library.symptoms.iter().filter(here).map(|symptom| {
            let causes = self.graded_causes(|fault| fault.shows.get(&symptom.id));
            yes_no(
                &symptom.id,
                ObservationKind::Symptom,
                self.chance(&symptom.normal),
                causes,
            )
        });
        let history = library.history.iter().map(|history| {
            let causes = self.graded_causes(|fault| fault.after.get(&history.id));
            yes_no(
                &history.id,
                ObservationKind::History,
                self.chance(&history.normal),
                causes,
            )
        });
        let checks = library
            .observations
            .iter()
            .filter(|check| applies(check.systems.as_deref(), self.system))
            .map(|check| self.check(check))
            .filter(|check| !check.causes.is_empty());
        symptoms
            .chain(history)
            .chain(checks)
            .chain([self.proof()])
            .collect()
    }

    /// Faults with their chance of showing as "yes", strongest first: the first present decides.
    fn graded_causes(
        &self,
        chance: impl Fn(&schema::Fault) -> Option<&schema::Chance>,
    ) -> Vec<(FaultIx, f64)> {
        let mut causes: Vec<(FaultIx, f64)> = self
            .faults
            .iter()
            .enumerate()
            .filter_map(|(at, fault)| Some((FaultIx::from(at), self.chance(chance(fault)?))))
            .collect();
        causes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        causes
    }

    fn proof(&self) -> Observation {
        let there = 1.0 - self.system.false_recovery;
        let causes = (0..self.faults.len())
            .map(|at| (FaultIx::from(at), there))
            .collect();
        let mut proof = yes_no(
            &ObservationId::from(COMPLAINT),
            ObservationKind::Proof,
            self.system.false_relapse,
            causes,
        );
        proof.outcomes[0].id = OutcomeId::from(COMPLAINT_THERE);
        proof.outcomes[1].id = OutcomeId::from(COMPLAINT_GONE);
        proof
    }

    fn check(&self, check: &schema::Observation) -> Observation {
        Observation {
            id: check.id.clone(),
            kind: match check.kind {
                schema::Manner::Choice => ObservationKind::Choice,
                schema::Manner::Measurement => ObservationKind::Measurement,
            },
            quantity: check.quantity,
            minutes: check.minutes,
            openings: self.opening_indices(&check.openings),
            kit: check.kit.clone(),
            gates: check.gates.clone(),
            questions: self.questions(check),
            outcomes: self.outcomes(check),
            normal: check.outcome.iter().map(|outcome| outcome.normal).collect(),
            causes: self.causes(check),
        }
    }

    /// One message for the conditions that are asked before each such step, and one afterwards for
    /// fuel that was opened.
    fn questions(&self, check: &schema::Observation) -> u32 {
        let each_time = |gate: &schema::Gate| gate.scope == schema::GateScope::Step;
        let gates = self.library.gates.iter().map(|placed| &placed.item);
        let asked = gates
            .filter(|gate| each_time(gate))
            .any(|gate| check.gates.contains(&gate.id));
        u32::from(asked) + u32::from(check.opens_fuel)
    }

    fn outcomes(&self, check: &schema::Observation) -> Vec<Outcome> {
        let spec = self
            .library
            .specs
            .iter()
            .find(|spec| spec.observation == check.id);
        let bands = bands(check, spec.map(|spec| (spec.low, spec.high)));
        let outcome = |(outcome, band): (&schema::Outcome, Band)| Outcome {
            id: outcome.id.clone(),
            words: outcome.words.clone(),
            low: band.low,
            high: band.high,
        };
        check.outcome.iter().zip(bands).map(outcome).collect()
    }

    /// Named causes first, then blocking faults upstream, then starving ones, each in path order.
    fn causes(&self, check: &schema::Observation) -> Vec<Cause> {
        let spread = |outcomes: &BTreeMap<OutcomeId, f64>| -> Vec<f64> {
            let share =
                |outcome: &schema::Outcome| outcomes.get(&outcome.id).copied().unwrap_or(0.0);
            check.outcome.iter().map(share).collect()
        };
        let named = check.cause.iter().flat_map(|cause| {
            let present = cause.faults.iter().filter_map(|id| self.index.get(id));
            present
                .map(|fault| (*fault, &cause.outcomes))
                .collect::<Vec<_>>()
        });
        let placed = check.on.iter().flat_map(|place| {
            let blocking = self.upstream(place, Disturbance::Blocks);
            let starving = self.upstream(place, Disturbance::Starves);
            blocking
                .into_iter()
                .map(|fault| (fault, &place.blocked))
                .chain(starving.into_iter().map(|fault| (fault, &place.starved)))
        });
        let mut causes: Vec<Cause> = Vec::new();
        for (fault, outcomes) in named.chain(placed) {
            if causes.iter().all(|cause| cause.fault != fault) {
                causes.push(Cause {
                    fault,
                    outcomes: spread(outcomes),
                });
            }
        }
        causes
    }

    fn upstream(&self, place: &schema::Place, how: Disturbance) -> Vec<FaultIx> {
        let Some(stretch) = stretch(self.system, place) else {
            return Vec::new();
        };
        let disturbs = |fault: &schema::Fault, path: &PathId| {
            fault
                .effect
                .iter()
                .any(|effect| effect.path == *path && effect.how == how)
        };
        stretch
            .iter()
            .flat_map(|part| {
                self.faults
                    .iter()
                    .enumerate()
                    .filter(move |(_, fault)| fault.part == *part && disturbs(fault, &place.path))
                    .map(|(at, _)| FaultIx::from(at))
            })
            .collect()
    }
}

/// The intervals of a measurement's outcomes, in their order, with the limits of a spec put in.
#[must_use]
pub fn bands(check: &schema::Observation, limits: Option<(Option<f64>, Option<f64>)>) -> Vec<Band> {
    let own = |outcome: &schema::Outcome| Band {
        low: outcome.low,
        high: outcome.high,
        overload: outcome.overload,
        side: outcome.side,
    };
    let bands: Vec<Band> = check.outcome.iter().map(own).collect();
    match limits {
        None => bands,
        Some((low, high)) => with_limits(&bands, low, high),
    }
}

/// Openings keep their position over all systems; those a system never needs cost nothing.
fn openings(library: &Library) -> Vec<Opening> {
    let position = |id: &OpeningId| {
        library
            .openings
            .iter()
            .position(|opening| opening.id == *id)
    };
    library
        .openings
        .iter()
        .map(|opening| Opening {
            id: opening.id.clone(),
            parent: opening
                .parent
                .as_ref()
                .and_then(position)
                .map(OpeningIx::from),
            open_minutes: opening.open_minutes,
            close_minutes: opening.close_minutes,
        })
        .collect()
}
