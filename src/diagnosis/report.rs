//! Evidence and belief as other programs exchange them: one JSON object in, one out.

use super::belief::Belief;
use super::conflict::conflict_in;
use super::cost::Terms;
use super::finding::Finding;
use super::plan::{Candidate, Depth, Situation, Step, plan};
use crate::knowledge::model::{FaultIx, Model, Observation, ObservationIx, ObservationKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Evidence as given from outside.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// In the order it came.
    pub evidence: Vec<EvidenceItem>,
}

/// One piece of evidence: an observation with an outcome or with weights, or a repair.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct EvidenceItem {
    /// Id of what was observed.
    pub observation: Option<String>,
    /// Id of what it showed.
    pub outcome: Option<String>,
    /// Weight by outcome id; an outcome not named has none.
    pub weights: Option<BTreeMap<String, f64>>,
    /// Share of the likelihood that is the model's, 0 to 1; 1 if not given.
    pub strength: Option<f64>,
    /// Id of a fault that was put right.
    pub repaired: Option<String>,
}

/// Why evidence cannot be used, with what would be usable.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EvidenceError {
    /// Not JSON, or not of the shape.
    #[error(
        "not a line of evidence: {0}; write {{\"evidence\":[{{\"observation\":ID,\"outcome\":ID}}]}}"
    )]
    Shape(String),
    /// Neither an observation with a result nor a repair, or both.
    #[error(
        "evidence {0} is neither or both: give \"observation\" with \"outcome\" or \"weights\", or \"repaired\" alone"
    )]
    Form(usize),
    /// No such observation.
    #[error("evidence {at}: this system has no observation `{id}`{hint}")]
    Observation {
        /// Which item, from 1.
        at: usize,
        /// As given.
        id: String,
        /// The nearest one there is.
        hint: String,
    },
    /// No such outcome.
    #[error("evidence {at}: `{observation}` has no outcome `{id}`; it has {known}")]
    Outcome {
        /// Which item, from 1.
        at: usize,
        /// The observation.
        observation: String,
        /// As given.
        id: String,
        /// What it has.
        known: String,
    },
    /// No such fault.
    #[error("evidence {at}: this system has no fault `{id}`{hint}")]
    Fault {
        /// Which item, from 1.
        at: usize,
        /// As given.
        id: String,
        /// The nearest one there is.
        hint: String,
    },
    /// Weights that are negative, not finite, or all zero.
    #[error("evidence {0}: weights must be 0 or more, and one of them above 0")]
    Weights(usize),
    /// A strength outside 0..=1.
    #[error("evidence {0}: strength must lie between 0 and 1")]
    Strength(usize),
}

/// A belief as told to other programs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// By fault id: probability of having been present at the start.
    pub faults: serde_json::Map<String, serde_json::Value>,
    /// By fault id: probability of being present now.
    pub present: serde_json::Map<String, serde_json::Value>,
    /// Natural logarithm of the probability of the evidence; null where it is impossible.
    pub log_evidence: Option<f64>,
    /// Upper bound on the probability of more than three faults at the start.
    pub dropped_mass_bound: f64,
    /// The observation to repeat before going on.
    pub conflict: Option<String>,
    /// Steps, best first.
    pub next: Vec<Next>,
}

/// A step that may come next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Next {
    /// `observe`, `repair` or `handover`.
    pub step: &'static str,
    /// Id of the observation or fault.
    pub id: Option<String>,
    /// Expected minutes of acting at once, less those expected after the step.
    pub gain_minutes: f64,
    /// Minutes of the step itself.
    pub cost_minutes: f64,
}

impl Evidence {
    /// Reads one line.
    ///
    /// # Errors
    /// Where it is not JSON of this shape.
    pub fn parse(line: &str) -> Result<Self, EvidenceError> {
        serde_json::from_str(line).map_err(|error| EvidenceError::Shape(error.to_string()))
    }

    /// The findings it stands for.
    ///
    /// # Errors
    /// Where it names what the model does not have, or has weights or a strength out of range.
    pub fn findings(&self, model: &Model) -> Result<Vec<Finding>, EvidenceError> {
        self.evidence
            .iter()
            .zip(1..)
            .map(|(item, at)| item.finding(model, at))
            .collect()
    }
}

impl EvidenceItem {
    fn finding(&self, model: &Model, at: usize) -> Result<Finding, EvidenceError> {
        match self {
            Self {
                observation: Some(id),
                repaired: None,
                ..
            } => self.seen(model, id, at),
            Self {
                observation: None,
                outcome: None,
                weights: None,
                strength: None,
                repaired: Some(id),
            } => {
                let unknown = || EvidenceError::Fault {
                    at,
                    id: id.clone(),
                    hint: hint(id, model.faults.iter().map(|f| f.id.as_str())),
                };
                model.fault(id).map(Finding::Repaired).ok_or_else(unknown)
            }
            _ => Err(EvidenceError::Form(at)),
        }
    }

    fn seen(&self, model: &Model, id: &str, at: usize) -> Result<Finding, EvidenceError> {
        let observation = model
            .observation(id)
            .ok_or_else(|| EvidenceError::Observation {
                at,
                id: id.to_owned(),
                hint: hint(id, model.observations.iter().map(|o| o.id.as_str())),
            })?;
        let looked_at = &model.observations[observation.at()];
        let weights = match (&self.outcome, &self.weights) {
            (Some(outcome), None) => weights(looked_at, [(outcome, &1.0)], at)?,
            (None, Some(given)) => weights(looked_at, given, at)?,
            _ => return Err(EvidenceError::Form(at)),
        };
        let strength = self.strength.unwrap_or(1.0);
        if (0.0..=1.0).contains(&strength) {
            Ok(Finding::Seen {
                observation,
                weights,
                strength,
            })
        } else {
            Err(EvidenceError::Strength(at))
        }
    }
}

/// Weights by position from weights by id.
fn weights<'a>(
    observation: &Observation,
    given: impl IntoIterator<Item = (&'a String, &'a f64)>,
    at: usize,
) -> Result<Vec<f64>, EvidenceError> {
    let mut weights = vec![0.0; observation.outcomes.len()];
    for (id, weight) in given {
        let unknown = || EvidenceError::Outcome {
            at,
            observation: observation.id.to_string(),
            id: id.clone(),
            known: observation
                .outcomes
                .iter()
                .map(|o| o.id.as_str())
                .collect::<Vec<_>>()
                .join(", "),
        };
        weights[observation.outcome(id).ok_or_else(unknown)?.at()] = *weight;
    }
    let usable =
        weights.iter().all(|w| *w >= 0.0 && w.is_finite()) && weights.iter().any(|w| *w > 0.0);
    if usable {
        Ok(weights)
    } else {
        Err(EvidenceError::Weights(at))
    }
}

/// The most similar id, if there is one that may have been meant.
fn hint<'a>(id: &str, known: impl Iterator<Item = &'a str>) -> String {
    const ALIKE: f64 = 0.7;
    let alike = known.map(|known| (strsim::jaro_winkler(id, known), known));
    let best = alike
        .max_by(|x, y| x.0.total_cmp(&y.0))
        .filter(|(score, _)| *score >= ALIKE);
    best.map(|(_, known)| format!("; did you mean `{known}`?"))
        .unwrap_or_default()
}

impl Report {
    /// What these findings make of the faults, and what to do next with nothing open yet, every
    /// observation possible that has no result in force, and every repair open to the rider. Gains
    /// are those of one step, so that another program can work them out too.
    #[must_use]
    pub fn of(model: &Model, findings: &[Finding], terms: Terms) -> Self {
        let belief = Belief::given(model, findings);
        let faults: Vec<FaultIx> = (0..model.faults.len()).map(FaultIx::from).collect();
        let observations = unanswered(model, findings);
        let situation = Situation {
            model,
            belief: &belief,
            open: &[],
            observations: &observations,
            repairs: &faults,
            terms,
            depth: Depth::OneStep,
        };
        let plan = plan(&situation);
        let conflict = conflict_in(&situation, &plan.choice, |_| true)
            .filter(|conflict| conflict.changes_answer);
        let by_id = |chance: &dyn Fn(FaultIx) -> f64| {
            faults
                .iter()
                .map(|fault| {
                    (
                        model.faults[fault.at()].id.to_string(),
                        chance(*fault).into(),
                    )
                })
                .collect()
        };
        Self {
            faults: by_id(&|fault| belief.present_at_start(fault)),
            present: by_id(&|fault| belief.present_now(fault)),
            log_evidence: Some(belief.log_evidence()).filter(|log| log.is_finite()),
            dropped_mass_bound: belief.dropped_mass_bound(),
            conflict: conflict
                .map(|conflict| model.observations[conflict.observation.at()].id.to_string()),
            next: plan
                .candidates
                .iter()
                .map(|candidate| next(model, candidate))
                .collect(),
        }
    }
}

/// Observations without a result since the last repair; a proof is part of a repair.
fn unanswered(model: &Model, findings: &[Finding]) -> Vec<ObservationIx> {
    let since = findings
        .iter()
        .rposition(|f| matches!(f, Finding::Repaired(_)))
        .map_or(0, |at| at + 1);
    let answered = |at: ObservationIx| {
        findings[since..]
            .iter()
            .any(|f| matches!(f, Finding::Seen { observation, .. } if *observation == at))
    };
    let open = |at: &ObservationIx| {
        model.observations[at.at()].kind != ObservationKind::Proof && !answered(*at)
    };
    (0..model.observations.len())
        .map(ObservationIx::from)
        .filter(open)
        .collect()
}

fn next(model: &Model, candidate: &Candidate) -> Next {
    let (step, id) = match candidate.step {
        Step::Observe(observation) => (
            "observe",
            Some(model.observations[observation.at()].id.to_string()),
        ),
        Step::Repair(fault) => ("repair", Some(model.faults[fault.at()].id.to_string())),
        Step::HandOver => ("handover", None),
    };
    Next {
        step,
        id,
        gain_minutes: candidate.gain_minutes,
        cost_minutes: candidate.cost_minutes,
    }
}
