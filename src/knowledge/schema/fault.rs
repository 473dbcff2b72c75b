//! The tables of what can be wrong, how it shows, and what puts it right.

use crate::knowledge::id::{
    CautionId, FaultId, GateId, KitId, ObservationId, OpeningId, PartId, PathId, SystemId,
};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A complaint. It becomes an observation with the outcomes `ID-yes` and `ID-no`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Symptom {
    /// Name, which is also the observation's.
    pub id: ObservationId,
    /// As a rider would say it: "it cranks but will not start".
    pub words: String,
    /// The same of a bike that does not show it: "it starts"; where it is not given, "not so: " and the words.
    #[serde(default)]
    pub absent: Option<String>,
    /// The question that asks for it.
    pub ask: String,
    /// Chance that a bike without any of the faults that show it is reported to have it.
    pub normal: Chance,
    /// Systems whose riders can have it, if not all.
    #[serde(default)]
    pub systems: Option<Vec<SystemId>>,
    /// Whether a rider may be asked for it; false for what is only ever volunteered.
    #[serde(default = "yes")]
    pub askable: bool,
    /// Whether reporting it is enough to start looking for a cause.
    #[serde(default = "yes")]
    pub complaint: bool,
    /// Whether it is offered to a rider who does not know what to say.
    #[serde(default)]
    pub offer: bool,
}

/// A fact of what happened before. It becomes an observation with the outcomes `ID-yes` and `ID-no`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// Name, which is also the observation's.
    pub id: ObservationId,
    /// As a rider would say it: "it stood for months".
    pub words: String,
    /// The question that asks for it.
    pub ask: String,
    /// Chance that it holds for a bike whose fault has nothing to do with it.
    pub normal: Chance,
    /// Where that chance comes from.
    pub source: String,
}

/// A probability, by grade or as a number.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Chance {
    /// A word of [`super::Grades`].
    Grade(String),
    /// The probability itself.
    Number(f64),
}

/// How a fault disturbs what passes through its part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Disturbance {
    /// Nothing, or next to nothing, gets through.
    Blocks,
    /// Less gets through than should.
    Starves,
}

/// A disturbance of one path.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// Which path.
    pub path: PathId,
    /// How.
    pub how: Disturbance,
}

/// One way a part can fail.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// Name.
    pub id: FaultId,
    /// The part that fails.
    pub part: PartId,
    /// As told to the rider: "the main fuse has blown".
    pub name: String,
    /// Probability before anything is known, by grade or number.
    pub prior: Chance,
    /// Where the prior comes from, if it is not the grade's own source.
    #[serde(default)]
    pub source: Option<String>,
    /// Systems whose riders have it, if not all that have the part.
    #[serde(default)]
    pub systems: Option<Vec<SystemId>>,
    /// Faults that cannot be present together with this one. One direction is enough.
    #[serde(default)]
    pub excludes: Vec<FaultId>,
    /// What it does to what passes through the part.
    #[serde(default)]
    pub effect: Vec<Effect>,
    /// Complaints it shows as, with their chance.
    #[serde(default)]
    pub shows: BTreeMap<ObservationId, Chance>,
    /// What often went before, with the chance that it did where this fault is present.
    #[serde(default)]
    pub after: BTreeMap<ObservationId, Chance>,
    /// What putting it right takes.
    pub repair: Repair,
}

/// What putting a fault right takes.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Repair {
    /// The instruction in one sentence: "Fit a new fuse of the same rating, once."
    pub what: String,
    /// The steps, in order.
    #[serde(default)]
    pub steps: Vec<String>,
    /// Hands-on minutes, openings not included.
    pub minutes: f64,
    /// Parts, in cost units of one cheap part.
    pub parts_cost: f64,
    /// Openings needed, parents implied.
    #[serde(default)]
    pub openings: Vec<OpeningId>,
    /// Probability that it removes the fault.
    pub success: f64,
    /// Whether only a licensed shop may do it.
    #[serde(default)]
    pub shop: bool,
    /// What must hold before it.
    #[serde(default)]
    pub gates: Vec<GateId>,
    /// Words that go with it.
    #[serde(default)]
    pub cautions: Vec<CautionId>,
    /// Whether fuel lines, bowl or tank are opened by it.
    #[serde(default)]
    pub opens_fuel: bool,
    /// Whether the ignition, pump or starter is energised by it.
    #[serde(default)]
    pub energises: bool,
    /// What the rider must have.
    #[serde(default)]
    pub kit: Vec<KitId>,
    /// Lines added to the refit list.
    #[serde(default)]
    pub refit: Vec<String>,
    /// Where the figures and rules come from.
    pub source: String,
}

fn yes() -> bool {
    true
}
