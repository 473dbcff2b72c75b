//! The shape of the knowledge files: what may stand in them, strictly.
//!
//! Every file under `knowledge/` is a [`File`]: any mix of the tables below, so that a fault may
//! stand beside the observation that finds it. Unknown keys are refused.

use super::id::{
    CautionId, FaultId, GateId, HazardId, KitId, ObservationId, OpeningId, OutcomeId, PartId,
    PathId, SystemId,
};
use crate::quantity::{Kind, Side};
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
    /// What must hold before it is opened.
    #[serde(default)]
    pub gates: Vec<GateId>,
    /// Words that go with it.
    #[serde(default)]
    pub cautions: Vec<CautionId>,
    /// Where the minutes come from.
    pub source: String,
}

/// When a gate is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GateScope {
    /// Once, in the checklist before the first hands-on step.
    Surroundings,
    /// Again before every step that needs it.
    Step,
    /// Before a step that needs it, but only where fuel was opened since it was last confirmed.
    AfterFuel,
}

/// What a step does that can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Act {
    /// Anything done with the hands, rather than answered from memory.
    HandsOn,
    /// Opens a fuel line, the bowl or the tank.
    OpensFuel,
    /// Energises the ignition, the pump or the starter.
    Energises,
    /// Both at once.
    Delivers,
}

/// A condition that must hold before a step.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// Name.
    pub id: GateId,
    /// When it is asked.
    pub scope: GateScope,
    /// A line of the checklist, true when all is as it should be: "Engine and exhaust are cold".
    pub holds: String,
    /// What to do where it does not hold.
    pub otherwise: String,
    /// Acts that need it, whatever the step.
    #[serde(default)]
    pub needed_by: Vec<Act>,
    /// Words in a step's instructions that show that it needs this gate, as regular expressions
    /// over lower-case text.
    #[serde(default)]
    pub mentions: Vec<String>,
    /// Where the rule comes from.
    pub source: String,
}

/// Words that go with a risky step.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Name.
    pub id: CautionId,
    /// The words, short.
    pub text: String,
    /// Where the rule comes from.
    pub source: String,
}

/// What becomes of the conversation when a hazard is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HazardEnd {
    /// Work may go on once the rider confirms that it is over.
    Resume,
    /// A licensed shop takes over, once the immediate danger is past.
    Shop,
}

/// A danger a rider may report.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// Name.
    pub id: HazardId,
    /// Smaller is told first where several are reported.
    pub rank: u8,
    /// What to do now, one short sentence each, most urgent first.
    pub now: Vec<String>,
    /// What must be so before work goes on, as a question.
    pub over: String,
    /// What then becomes of the conversation.
    pub then: HazardEnd,
    /// Where the rule comes from.
    pub source: String,
}

/// Something a rider may have.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Kit {
    /// Name.
    pub id: KitId,
    /// As a rider would say it: "a multimeter".
    pub name: String,
    /// What it is good for, told when it is missing.
    pub lends: String,
}

/// How a repair is proven: leaks first, then the complaint itself.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// The steps, in order.
    pub steps: Vec<String>,
    /// The question that ends them.
    pub ask: String,
    /// What must hold before it.
    pub gates: Vec<GateId>,
    /// Words that go with it.
    pub cautions: Vec<CautionId>,
    /// Minutes it takes.
    pub minutes: f64,
    /// The danger raised where something leaks.
    pub leak: HazardId,
    /// Lines of every refit list, after those of the openings.
    pub refit: Vec<String>,
    /// Where the rules come from.
    pub source: String,
}

/// A complaint. It becomes an observation with the outcomes `ID-yes` and `ID-no`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Symptom {
    /// Name, which is also the observation's.
    pub id: ObservationId,
    /// As a rider would say it: "it cranks but will not start".
    pub words: String,
    /// The question that asks for it.
    pub ask: String,
    /// Chance that a bike without any of the faults that show it is reported to have it.
    pub normal: Chance,
    /// Whether a rider may be asked for it; false for what is only ever volunteered.
    #[serde(default = "yes")]
    pub askable: bool,
    /// Whether reporting it is enough to start looking for a cause.
    #[serde(default = "yes")]
    pub complaint: bool,
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
    /// A word of [`Grades`].
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
    /// The possible results, two or more.
    pub outcome: Vec<Outcome>,
    /// Names of things and conditions ("battery", "battery cranking") whose readings of this
    /// quantity answer it unasked.
    #[serde(default)]
    pub of: Vec<String>,
    /// Where on a path it is made.
    #[serde(default)]
    pub on: Option<Place>,
    /// Causes by name; these stand before the ones that come from the path.
    #[serde(default)]
    pub cause: Vec<Cause>,
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
    /// A danger this result reveals.
    #[serde(default)]
    pub hazard: Option<HazardId>,
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

fn yes() -> bool {
    true
}
