//! The shape of the knowledge files: what may stand in them, strictly.
//!
//! Every file under `knowledge/` is a [`File`]: any mix of the tables below, so that a fault may
//! stand beside the observation that finds it. Unknown keys are refused.

mod fault;
mod observation;
mod safety;

pub use fault::{Chance, Disturbance, Effect, Fault, History, Repair, Symptom};
pub use observation::{Cause, Manner, Observation, Outcome, Place, YesNo};
pub use safety::{Act, Caution, Gate, GateScope, Hazard, HazardEnd, Kit, Proof};

use super::id::{
    CautionId, FaultId, GateId, ObservationId, OpeningId, OutcomeId, PartId, PathId, SystemId,
};
pub use crate::quantity::spec::Sheet;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// One knowledge file.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct File {
    /// The grades that priors and chances are written in; in one file only.
    pub grades: Option<Grades>,
    /// Fuel systems.
    pub system: Vec<System>,
    /// Physical things on the bike.
    pub part: Vec<Part>,
    /// Access work.
    pub opening: Vec<Opening>,
    /// Conditions that must hold before a step.
    pub gate: Vec<Gate>,
    /// Words that go with a risky step.
    pub caution: Vec<Caution>,
    /// Dangers a rider may report.
    pub hazard: Vec<Hazard>,
    /// Things a rider may have.
    pub kit: Vec<Kit>,
    /// How a repair is proven; in one file only.
    pub proof: Option<Proof>,
    /// Complaints.
    pub symptom: Vec<Symptom>,
    /// Facts of what happened before.
    pub history: Vec<History>,
    /// Ways a part can fail.
    pub fault: Vec<Fault>,
    /// Checks and measurements.
    pub observation: Vec<Observation>,
    /// Permitted ranges for want of the rider's own manual.
    pub spec: Vec<Spec>,
    /// Sheets of specs that a group stands for.
    pub sheet: Vec<Sheet>,
    /// Invented bikes for the demo.
    pub bike: Vec<Bike>,
    /// What this file's knowledge must and must not bring up.
    pub example: Vec<Example>,
}

/// The words priors and chances are written in.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Grades {
    /// Probability of a fault before anything is known, by word.
    pub prior: BTreeMap<String, f64>,
    /// Probability of an outcome, by word.
    pub chance: BTreeMap<String, f64>,
    /// Where the scheme comes from.
    pub source: String,
}

/// A fuel-system kind: its parts and the order fuel and current pass through them.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct System {
    /// Name.
    pub id: SystemId,
    /// As a rider would say it.
    pub name: String,
    /// How a rider can tell that theirs is of this kind.
    pub tell: String,
    /// Ordered chains of parts, source first.
    pub path: Vec<Path>,
    /// Parts that are on no path.
    #[serde(default)]
    pub parts: Vec<PartId>,
    /// What handing over costs the rider, in minutes' worth.
    pub handover_minutes: f64,
    /// What one unit of parts cost is worth, in minutes.
    pub minutes_per_cost_unit: f64,
    /// Multiplies the prior of "nothing is wrong".
    pub healthy_factor: f64,
    /// Prior of `outside-model`: that the cause is none of the faults known here.
    pub outside_prior: f64,
    /// Share of `outside-model`'s distributions that is flat; the rest is what riders of this
    /// system see on average.
    pub outside_flatness: f64,
    /// The same for complaints and history. Words are odd far more often than bikes are: a rider who
    /// tells of what no fault brings about has mostly been misunderstood, or has told of another day.
    pub outside_flatness_of_words: f64,
    /// Chance that the complaint is seen again although every fault is gone.
    pub false_relapse: f64,
    /// Chance that the complaint stays away on trial although a fault is there.
    pub false_recovery: f64,
    /// Where these figures come from.
    pub source: String,
}

/// An ordered chain of parts, source first.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Path {
    /// Name; the same path has the same name in every system.
    pub id: PathId,
    /// As shown to the rider.
    pub name: String,
    /// The parts in order.
    pub parts: Vec<PartId>,
}

/// A physical thing on the bike.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Name.
    pub id: PartId,
    /// As a rider would say it.
    pub name: String,
    /// What else riders call it, in plain words: who asks where that is, is told.
    #[serde(default)]
    pub called: Vec<String>,
    /// Where it usually sits and what it looks like.
    #[serde(rename = "where")]
    pub place: String,
}

/// Access work.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Name.
    pub id: OpeningId,
    /// The opened state, as a rider would say it: "seat off".
    pub name: String,
    /// What must be open first.
    #[serde(default)]
    pub parent: Option<OpeningId>,
    /// Minutes to open it, its parent being open.
    pub open_minutes: f64,
    /// Minutes to close it again.
    pub close_minutes: f64,
    /// How to open it.
    pub how: String,
    /// How to close it, as a line of the refit list.
    pub refit: String,
    /// Whether it must be closed again before the engine is run.
    #[serde(default)]
    pub before_running: bool,
    /// What must hold before it is opened.
    #[serde(default)]
    pub gates: Vec<GateId>,
    /// Words that go with it.
    #[serde(default)]
    pub cautions: Vec<CautionId>,
    /// Where the minutes come from.
    pub source: String,
}

/// A permitted range for want of the rider's own manual; it moves the bounds of the outcomes that
/// have a side.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spec {
    /// The observation it belongs to.
    pub observation: ObservationId,
    /// Lower limit in the base unit.
    #[serde(default)]
    pub low: Option<f64>,
    /// Upper limit in the base unit.
    #[serde(default)]
    pub high: Option<f64>,
    /// Temperature it holds at, in degrees Celsius, where one is given.
    #[serde(default)]
    pub at_celsius: Option<f64>,
    /// Under which conditions it holds.
    pub conditions: String,
    /// Where it comes from.
    pub source: String,
}

/// An invented bike for the demo.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bike {
    /// Name.
    pub id: String,
    /// As shown, saying that it is invented.
    pub name: String,
    /// Must be true: no real bike's data may stand in these files.
    pub invented: bool,
    /// Its fuel system.
    pub system: SystemId,
    /// Its sheet, as if read out of its manual.
    #[serde(default)]
    pub spec: Vec<Spec>,
}

/// What the knowledge must and must not bring up.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Example {
    /// What it shows, in a few words; names the test.
    pub name: String,
    /// In which system.
    pub system: SystemId,
    /// Outcomes seen, in order. Symptoms and history as `ID-yes`.
    pub evidence: Vec<OutcomeId>,
    /// Faults that must be among the first three suspects.
    #[serde(default)]
    pub suspects: Vec<FaultId>,
    /// Faults that must be below one in fifty.
    #[serde(default)]
    pub cleared: Vec<FaultId>,
}
