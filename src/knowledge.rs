//! What is known: loaded from data files, checked, compiled once, immutable from then on.

pub mod check;
pub mod classifier;
pub mod compile;
pub mod export;
pub mod id;
mod learned;
pub mod library;
pub mod load;
pub mod model;
pub mod network;
pub mod phrase;
pub mod problem;
pub mod recurrent;
pub mod schema;
mod tables;

use check::Verdict;
use id::{
    CautionId, FaultId, GateId, HazardId, KitId, ObservationId, OpeningId, OutcomeId, PartId,
    SystemId,
};
use library::{Library, Placed, Source};
use model::Model;
use phrase::{OutcomePhrases, PhraseFile, Phrases};
use problem::Problem;
use schema::YesNo;
use std::collections::BTreeMap;

pub use tables::Tables;

/// Everything a turn may need to know, by id, with one dense model per system.
#[derive(Debug, Clone)]
pub struct Knowledge {
    /// Changes whenever a file changes.
    pub revision: String,
    /// The compiled systems, in file order.
    pub models: Vec<Model>,
    /// What the systems are called and how to tell them.
    pub systems: BTreeMap<SystemId, schema::System>,
    /// Parts.
    pub parts: BTreeMap<PartId, schema::Part>,
    /// Openings.
    pub openings: BTreeMap<OpeningId, schema::Opening>,
    /// Gates, in the order of the checklist.
    pub gates: Vec<schema::Gate>,
    /// Cautions.
    pub cautions: BTreeMap<CautionId, schema::Caution>,
    /// Hazards.
    pub hazards: BTreeMap<HazardId, schema::Hazard>,
    /// Kit, in the order asked for.
    pub kit: Vec<schema::Kit>,
    /// How a repair is proven.
    pub proof: schema::Proof,
    /// Complaints.
    pub symptoms: BTreeMap<ObservationId, schema::Symptom>,
    /// Facts of history.
    pub history: BTreeMap<ObservationId, schema::History>,
    /// Faults.
    pub faults: BTreeMap<FaultId, schema::Fault>,
    /// Checks and measurements.
    pub observations: BTreeMap<ObservationId, schema::Observation>,
    /// Generic specs.
    pub specs: BTreeMap<ObservationId, schema::Spec>,
    /// Sheets of groups, in the order of their files.
    pub sheets: Vec<crate::quantity::spec::Sheet>,
    /// Demo bikes.
    pub bikes: BTreeMap<String, schema::Bike>,
    /// How riders say all this.
    pub phrases: Phrases,
    /// What the knowledge must and must not bring up.
    pub examples: Vec<schema::Example>,
}

impl Knowledge {
    /// Checks and compiles the files.
    ///
    /// # Errors
    /// Everything that is wrong, at once; where files do not read, only that.
    pub fn compile(sources: Vec<Source>) -> Result<Self, Verdict> {
        let draft = Draft::read(sources)?;
        let (written, learned) = (draft.written(), draft.learned());
        let revision = draft.revision();
        draft.finish(written, learned, revision)
    }

    /// The knowledge built into the program.
    ///
    /// # Panics
    /// Never in a released program: a test compiles the same files.
    #[must_use]
    pub fn embedded() -> Self {
        Self::compile(load::embedded()).unwrap_or_else(|verdict| panic!("{verdict}"))
    }

    /// The model of a system.
    #[must_use]
    pub fn model(&self, system: &SystemId) -> Option<&Model> {
        self.models.iter().find(|model| model.system == *system)
    }

    /// The gate of that name.
    #[must_use]
    pub fn gate(&self, id: &GateId) -> Option<&schema::Gate> {
        self.gates.iter().find(|gate| gate.id == *id)
    }

    /// The kit of that name.
    #[must_use]
    pub fn kit(&self, id: &KitId) -> Option<&schema::Kit> {
        self.kit.iter().find(|kit| kit.id == *id)
    }

    /// The observation an outcome belongs to, and the outcome in words.
    #[must_use]
    pub fn outcome(&self, id: &OutcomeId) -> Option<(ObservationId, String)> {
        let check = self.observations.values().find_map(|check| {
            let outcome = check.outcome.iter().find(|outcome| outcome.id == *id)?;
            Some((
                check.id.clone(),
                format!("{}: {}", check.name, outcome.words),
            ))
        });
        check.or_else(|| self.yes_no_outcome(id.as_str()))
    }

    /// An outcome of a symptom or of a fact of history.
    fn yes_no_outcome(&self, id: &str) -> Option<(ObservationId, String)> {
        let (id, yes) = match (id.strip_suffix("-yes"), id.strip_suffix("-no")) {
            (Some(id), _) => (ObservationId::from(id), true),
            (None, Some(id)) => (ObservationId::from(id), false),
            (None, None) => return None,
        };
        let symptom = self.symptoms.get(&id);
        let history = || self.history.get(&id).map(|history| &history.words);
        let words = symptom.map(|symptom| &symptom.words).or_else(history)?;
        let words = match symptom.and_then(|symptom| symptom.absent.as_ref()) {
            _ if yes => words.clone(),
            Some(absent) => absent.clone(),
            None => format!("not so: {words}"),
        };
        Some((id, words))
    }

    fn new(library: Library, written: Written, revision: String) -> Self {
        Self {
            revision,
            models: written.models,
            systems: by(library.systems, |item| item.id.clone()),
            parts: by(library.parts, |item| item.id.clone()),
            openings: by(library.openings, |item| item.id.clone()),
            gates: items(library.gates),
            cautions: by(library.cautions, |item| item.id.clone()),
            hazards: by(library.hazards, |item| item.id.clone()),
            kit: items(library.kit),
            proof: items(library.proof).into_iter().next().unwrap_or_default(),
            symptoms: by(library.symptoms, |item| item.id.clone()),
            history: by(library.history, |item| item.id.clone()),
            faults: by(library.faults, |item| item.id.clone()),
            observations: by(library.observations, |item| item.id.clone()),
            specs: by(library.specs, |item| item.observation.clone()),
            sheets: items(library.sheets),
            bikes: by(library.bikes, |item| item.id.clone()),
            phrases: written.phrases,
            examples: items(library.examples),
        }
    }
}

/// Files that read, and are not compiled yet: in two halves that do not need each other, for who is in a hurry.
pub struct Draft {
    library: Library,
}

/// What people wrote: models and phrases, checked.
pub struct Written {
    models: Vec<Model>,
    phrases: Phrases,
}

impl Draft {
    /// Reads the files.
    ///
    /// # Errors
    /// Those that do not read; what refers to them would be reported a thousand times over.
    pub fn read(sources: Vec<Source>) -> Result<Self, Verdict> {
        let (library, problems) = Library::read(sources);
        if problems.is_empty() {
            return Ok(Self { library });
        }
        Err(Verdict {
            sources: library.sources,
            problems,
        })
    }

    /// Checks and compiles what people wrote.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn written(&self) -> Result<Written, Vec<Problem>> {
        let library = &self.library;
        let mut problems = check::library(library);
        let systems = library.systems.iter();
        let models: Vec<Model> = systems
            .map(|system| compile::compile(library, system))
            .collect();
        if problems.is_empty() {
            problems.extend(check::models(library, &models));
        }
        match phrases(library) {
            Ok(phrases) if problems.is_empty() => Ok(Written { models, phrases }),
            Ok(_) => Err(problems),
            Err(found) => Err(problems.into_iter().chain(found).collect()),
        }
    }

    /// Reads what was learned from messages.
    ///
    /// # Errors
    /// The first of these files that is not as it should be.
    pub fn learned(&self) -> Result<Tables, Problem> {
        Tables::read(&self.library)
    }

    /// A short fingerprint of the files, which takes a while to work out.
    #[must_use]
    pub fn revision(&self) -> String {
        revision(&self.library.sources)
    }

    /// Puts both halves together, under the [`Draft::revision`].
    ///
    /// # Errors
    /// What was wrong with either.
    pub fn finish(
        self,
        written: Result<Written, Vec<Problem>>,
        learned: Result<Tables, Problem>,
        revision: String,
    ) -> Result<Knowledge, Verdict> {
        match (written, learned) {
            (Ok(mut written), Ok(learned)) => {
                learned.put_into(&mut written.phrases);
                Ok(Knowledge::new(self.library, written, revision))
            }
            (written, learned) => {
                let problems = written.err().into_iter().flatten().chain(learned.err());
                Err(Verdict {
                    problems: problems.collect(),
                    sources: self.library.sources,
                })
            }
        }
    }
}

/// The phrase files of one language, compiled together with the ways outcomes are said.
fn phrases(library: &Library) -> Result<Phrases, Vec<Problem>> {
    let files: Vec<PhraseFile> = library
        .phrase_files()
        .map(|source| PhraseFile {
            path: source.path.clone(),
            text: source.text.clone(),
        })
        .collect();
    let outcomes: Vec<OutcomePhrases> = library
        .observations
        .iter()
        .flat_map(|check| {
            check.outcome.iter().map(|outcome| OutcomePhrases {
                path: library.sources[check.file].path.clone(),
                observation: check.id.clone(),
                outcome: outcome.id.clone(),
                answer: outcome.answer,
                said: outcome.said.clone(),
                short: outcome.short.clone(),
                words: outcome.words.clone(),
            })
        })
        .collect();
    let mut phrases = Phrases::compile(&files, &outcomes).map_err(|found| {
        found
            .into_iter()
            .map(|it| library.pinned(it))
            .collect::<Vec<_>>()
    })?;
    phrases.answers.extend(plain_answers(library));
    let unknown = check::phrase_ids(library, &phrases.ids());
    if unknown.is_empty() {
        Ok(phrases)
    } else {
        Err(unknown)
    }
}

/// "Does it backfire?" is answered with a plain yes or no, and so is what happened before.
fn plain_answers(library: &Library) -> impl Iterator<Item = (String, YesNo)> {
    let complaints = library.symptoms.iter().map(|it| it.id.clone());
    let asked = complaints.chain(library.history.iter().map(|it| it.id.clone()));
    asked.flat_map(|id| {
        [
            (format!("{id}-yes"), YesNo::Yes),
            (format!("{id}-no"), YesNo::No),
        ]
    })
}

fn items<T>(placed: Vec<Placed<T>>) -> Vec<T> {
    placed.into_iter().map(|placed| placed.item).collect()
}

fn by<T, K: Ord>(placed: Vec<Placed<T>>, key: impl Fn(&T) -> K) -> BTreeMap<K, T> {
    items(placed)
        .into_iter()
        .map(|item| (key(&item), item))
        .collect()
}

/// A short fingerprint of the files: the first 12 hexadecimal digits of their SHA-256.
fn revision(sources: &[Source]) -> String {
    use sha2::{Digest, Sha256};
    let mut hash = Sha256::new();
    for source in sources {
        hash.update(source.path.as_bytes());
        hash.update([0]);
        hash.update(source.text.as_bytes());
        hash.update([0]);
    }
    hash.finalize()
        .iter()
        .take(6)
        .fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
}
