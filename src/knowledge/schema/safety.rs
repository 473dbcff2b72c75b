//! The tables that keep a rider safe: gates, cautions, hazards, and what is at hand.

use crate::knowledge::id::{CautionId, GateId, HazardId, KitId, ObservationId};
use schemars::JsonSchema;
use serde::Deserialize;

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
    /// Conditions of steps that end this one: what held before them must be confirmed anew.
    #[serde(default)]
    pub ended_by: Vec<GateId>,
    /// Complaints that end this one: who smells fuel is asked again whether all of it is closed.
    #[serde(default)]
    pub ended_by_complaint: Vec<ObservationId>,
    /// Whether waiting alone brings it about: it is asked again rather than the case given up.
    #[serde(default)]
    pub passes: bool,
    /// Cautions of which a step behind this gate must carry at least one; none where any will do.
    #[serde(default)]
    pub with_one_of: Vec<CautionId>,
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
    /// Words, by line of `now`, after which that line is told first: beginnings of words, parted by blanks.
    #[serde(default)]
    pub about: Vec<String>,
    /// The answer to who only asks about it: "can I ride it home like this?".
    pub asked: String,
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
