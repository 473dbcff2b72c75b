//! What is said to the rider: first as structure, then in words; each channel renders it its own way.

pub mod ending;
pub mod picture;
pub mod view;
pub mod wording;

use crate::knowledge::id::{CautionId, FaultId, HazardId, ObservationId, OutcomeId, PartId};
use crate::knowledge::model::ObservationKind;
use crate::quantity::Kind;
use serde::{Deserialize, Serialize};

/// The state of a conversation as the rider experiences it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// Hearing what is wrong.
    Intake,
    /// Confirming that it is safe to begin, or to take the next step.
    Surroundings,
    /// Learning the fuel system and what is at hand.
    Profile,
    /// Observing.
    Testing,
    /// Putting a fault right.
    Repair,
    /// Looking whether the complaint is gone.
    Proof,
    /// Putting the bike back together.
    Refit,
    /// Stopped by a danger.
    Halted,
    /// A person has taken over.
    HandedOver,
    /// Ended.
    Closed,
}

/// Everything said in one turn. Complete: a channel renders it and decides nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Reply {
    /// The turn this answers.
    pub turn: u32,
    /// The conversation's state after it.
    pub phase: Phase,
    /// What to say, in reading order.
    pub lines: Vec<Line>,
    /// The observations asked for.
    pub asks: Vec<Ask>,
    /// What the rider may pick.
    pub choices: Vec<Choice>,
    /// Cautions that go with the step.
    pub cautions: Vec<CautionId>,
    /// Dangers that are open.
    pub hazards: Vec<HazardId>,
    /// Readings judged in this turn.
    pub judgements: Vec<Judged>,
    /// Faults worth naming, likeliest first.
    pub suspects: Vec<Suspect>,
    /// Faults the evidence speaks against.
    pub ruled_out: Vec<FaultId>,
    /// The observation worth repeating, since it contradicts the others.
    pub conflict: Option<ObservationId>,
    /// What the rider is asked to do next.
    pub step: Next,
    /// Minutes of work spent so far.
    pub minutes_spent: f64,
    /// Minutes of work expected until the end.
    pub minutes_left: f64,
}

/// One block of a reply, with the weight it carries; each channel sets it in its own way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line {
    /// What to do about a danger, now. Always first.
    Danger(String),
    /// What goes with a risky step. Before the instruction.
    Caution(String),
    /// What was understood.
    Receipt(String),
    /// A judgement with its arithmetic.
    Judgement(String),
    /// Plain prose.
    Plain(String),
    /// The one thing to do.
    Instruction(String),
    /// Steps of the instruction, in order.
    Steps(Vec<String>),
    /// The question that ends the reply.
    Question(String),
}

/// Where on the bike a check is made: a path with one of its parts marked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trail {
    /// What the path is called.
    pub path: String,
    /// Its parts, in order.
    pub parts: Vec<String>,
    /// Which of them, from 0.
    pub at: usize,
}

/// What the rider is asked to do next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Next {
    /// What sort of thing.
    pub kind: NextKind,
    /// Which observation, fault, gate or question; none where there is only one.
    pub id: Option<String>,
}

/// The sorts of things a rider can be asked to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NextKind {
    /// Make an observation.
    Observe,
    /// Put a fault right.
    Repair,
    /// Look whether the complaint is gone.
    Prove,
    /// Put everything back.
    Refit,
    /// Nothing more: a person has taken over.
    Handover,
    /// Nothing more: the conversation has ended.
    Stop,
    /// Answer a question.
    Ask,
}

/// An observation asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// Which.
    pub observation: ObservationId,
    /// How it is answered.
    pub kind: ObservationKind,
    /// What is measured, for a measurement.
    pub quantity: Option<Kind>,
    /// Its possible results: id and words.
    pub outcomes: Vec<(OutcomeId, String)>,
}

/// What picking a choice amounts to, whatever its words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Means {
    /// Yes.
    Yes,
    /// No.
    No,
    /// It was carried out.
    Done,
    /// The rider cannot do it.
    Cannot,
    /// The rider does not know.
    Unsure,
    /// Leave it for now.
    Skip,
    /// Explain.
    Why,
    /// Take the last answer back.
    Undo,
    /// End here.
    Stop,
    /// Anything else.
    Other,
}

/// Something the rider may pick.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// Its id.
    pub id: String,
    /// Its words.
    pub words: String,
    /// What picking it amounts to.
    pub means: Means,
}

/// A fault worth naming.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Suspect {
    /// The fault.
    pub fault: FaultId,
    /// The part it is in.
    pub part: PartId,
    /// Probability that it is present now, given all that was learned.
    pub probability: f64,
}

/// A reading judged, all numbers in the base unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The observation.
    pub observation: ObservationId,
    /// As shown; none for a display that is no number.
    pub raw: Option<f64>,
    /// What was subtracted for the leads; none where nothing was.
    pub offset: Option<f64>,
    /// What is left; none for a display that is no number.
    pub corrected: Option<f64>,
    /// The base unit.
    pub unit: &'static str,
    /// Standard uncertainty of `corrected`.
    pub uncertainty: Option<f64>,
    /// Lower limit of the normal range.
    pub low: Option<f64>,
    /// Upper limit of the normal range.
    pub high: Option<f64>,
    /// Probability of each outcome.
    pub weights: Vec<(OutcomeId, f64)>,
    /// The verdict in words.
    pub verdict: String,
}
