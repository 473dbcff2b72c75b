//! The tables of what can be looked at and measured.

use crate::knowledge::id::{
    CautionId, FaultId, GateId, HazardId, KitId, ObservationId, OpeningId, OutcomeId, PartId,
    PathId, SystemId,
};
use crate::quantity::{Kind, Nature, Side};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// Where on a path an observation is made. Every fault upstream, the part itself included, that
/// blocks or starves the path becomes a cause, blocking ones first, each group in path order.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Which path.
    pub path: PathId,
    /// Up to and including this part.
    pub at: PartId,
    /// From this part on, if not from the source: for a check that starts half way.
    #[serde(default)]
    pub from: Option<PartId>,
    /// Distribution where a fault upstream blocks, by outcome.
    pub blocked: BTreeMap<OutcomeId, f64>,
    /// Distribution where a fault upstream starves, by outcome.
    pub starved: BTreeMap<OutcomeId, f64>,
}

/// How an observation may be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Manner {
    /// By picking an outcome.
    Choice,
    /// By reporting a number.
    Measurement,
}

/// A check or measurement.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// Name.
    pub id: ObservationId,
    /// As a heading: "Look at the main fuse".
    pub name: String,
    /// How it is answered.
    pub kind: Manner,
    /// What is measured.
    #[serde(default)]
    pub quantity: Option<Kind>,
    /// What is measured, where more than the meter decides what a number says.
    #[serde(default)]
    pub nature: Option<Nature>,
    /// Systems it belongs to, if not all that have a fault it can find.
    #[serde(default)]
    pub systems: Option<Vec<SystemId>>,
    /// The question that ends the instruction.
    pub ask: String,
    /// What it tells, in one sentence, for "why".
    pub why: String,
    /// How to do it, step by step; empty for a question that can be answered without touching the bike.
    #[serde(default)]
    pub how: Vec<String>,
    /// Setting of the meter: "DC volts, 20 V range".
    #[serde(default)]
    pub meter: Option<String>,
    /// Hands-on minutes, openings not included.
    pub minutes: f64,
    /// Openings needed, parents implied.
    #[serde(default)]
    pub openings: Vec<OpeningId>,
    /// What the rider must have.
    #[serde(default)]
    pub kit: Vec<KitId>,
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
    /// Whether making a danger safe changes it, as it does the setting of a tap or switch: told while a
    /// danger is open, it says nothing about how the bike was found.
    #[serde(default)]
    pub made_safe: bool,
    /// The possible results, two or more.
    pub outcome: Vec<Outcome>,
    /// Names of things and conditions ("battery", "battery cranking") whose readings of this
    /// quantity answer it unasked.
    #[serde(default)]
    pub of: Vec<String>,
    /// Names of things whose readings never answer it, even where it was asked for.
    #[serde(default)]
    pub not_of: Vec<String>,
    /// Where on a path it is made.
    #[serde(default)]
    pub on: Option<Place>,
    /// Causes by name; these stand before the ones that come from the path.
    #[serde(default)]
    pub cause: Vec<Cause>,
    /// What it shows where the cause is none of the faults known here; worked out from all faults
    /// where it is not told.
    #[serde(default)]
    pub outside: BTreeMap<OutcomeId, f64>,
    /// Where its bounds and chances come from.
    pub source: String,
}

/// One possible result.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outcome {
    /// Name; unique over all observations.
    pub id: OutcomeId,
    /// As the rider would say it, for a button: "the wire in it is broken".
    pub words: String,
    /// What it means, for the judgement line and for "what if".
    pub means: String,
    /// Its chance where no listed cause is present.
    pub normal: f64,
    /// Lower bound of its interval in the base unit.
    #[serde(default)]
    pub low: Option<f64>,
    /// Upper bound of its interval in the base unit.
    #[serde(default)]
    pub high: Option<f64>,
    /// What a spec from the rider's own manual does to the interval.
    #[serde(default)]
    pub side: Option<Side>,
    /// Whether the overload display (`OL`) is this outcome.
    #[serde(default)]
    pub overload: bool,
    /// Whether a plain yes or no to the question is this outcome.
    #[serde(default)]
    pub answer: Option<YesNo>,
    /// Ways riders say it, in the phrase notation, besides `words`.
    #[serde(default)]
    pub said: Vec<String>,
    /// Ways riders answer the question in a word or two; they count only while it is asked, and only
    /// where little else is said.
    #[serde(default)]
    pub short: Vec<String>,
    /// A danger this result reveals.
    #[serde(default)]
    pub hazard: Option<HazardId>,
    /// Whether this result ends the work here: only a licensed shop may go on.
    #[serde(default)]
    pub shop: bool,
}

/// A plain yes or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum YesNo {
    /// Yes.
    Yes,
    /// No.
    No,
}

/// Faults with the distribution each brings about.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cause {
    /// The faults, strongest first.
    pub faults: Vec<FaultId>,
    /// Distribution by outcome; sums to 1, an outcome not named has none.
    pub outcomes: BTreeMap<OutcomeId, f64>,
}
