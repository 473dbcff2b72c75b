//! The immutable facts a conversation is made of.
//!
//! An event says what was decided, completely: applying it to a state needs no further choice.

use crate::knowledge::id::{
    FaultId, GateId, HazardId, KitId, ObservationId, OpeningId, OutcomeId, SystemId,
};
use crate::quantity::{Circumstances, Kind};
pub use crate::reply::ending::{Ending, HandOver};

/// The number of a turn within its conversation; the greeting is turn 0.
pub type Turn = u32;

/// What came from the rider.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Incoming {
    /// Free text.
    Text(String),
    /// The id of one of the choices or outcomes on offer.
    Choose(String),
}

/// An event with the turn it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Logged {
    /// The turn.
    pub turn: Turn,
    /// What happened.
    pub event: Event,
}

/// Under which terms a conversation was opened.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    /// The fuel system, if the channel knows it.
    pub system: Option<SystemId>,
    /// What is at hand, if the channel knows it.
    pub kit: Option<Vec<KitId>>,
    /// Minutes until a rider usually answers: 0 at a terminal, hours in a forum.
    pub round_trip_minutes: f64,
    /// The invented demo bike whose sheet applies, if any.
    pub bike: Option<String>,
    /// The knowledge under which it was opened.
    pub knowledge: String,
}

/// A fact of a conversation.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The conversation began.
    Opened(Terms),
    /// The rider sent something.
    Heard(Incoming),
    /// Something was learned.
    Found(Found),
    /// The bare leads were read, in ohms, as shown.
    LeadsRead(Shown),
    /// The rider said how good the meter is.
    MeterTold(MeterTold),
    /// The rider read a spec out of the manual.
    SpecTold(SpecTold),
    /// The rider said how much power the engine has, in watts.
    PowerTold(f64),
    /// The rider said which fuel system it is.
    SystemTold(SystemId),
    /// The rider has or lacks something.
    KitTold {
        /// Which thing.
        kit: KitId,
        /// Whether it is at hand.
        has: bool,
    },
    /// A question of the intake or profile was answered as far as the rider could.
    Settled(Topic),
    /// The rider reported a danger.
    HazardRaised(HazardId),
    /// The rider confirmed that a danger is over.
    HazardCleared(HazardId),
    /// The rider said whether a condition holds.
    GateAnswered {
        /// Which condition.
        gate: GateId,
        /// Whether it holds.
        holds: bool,
    },
    /// A condition must be confirmed anew before the next step that needs it.
    GateReopened(GateId),
    /// The rider wants steps declined earlier to be offered again.
    Reconsidered,
    /// The rider was asked for something.
    Asked(Step),
    /// The rider was asked to clear something up before the step on the table goes on.
    Queried(Query),
    /// The rider cannot, will not or did not get a result.
    Declined {
        /// The step.
        target: Target,
        /// Why.
        reason: Declined,
    },
    /// Access work was done.
    AccessOpened(OpeningId),
    /// A repair was carried out.
    Repaired(FaultId),
    /// After a repair the complaint was looked for again.
    Proved {
        /// The repair that was proven or not.
        fault: FaultId,
        /// Whether the complaint is gone.
        gone: bool,
    },
    /// The rider wants to end here; the bike is put back together first.
    Stopping,
    /// Everything is back on the bike and dry.
    Refitted,
    /// Minutes of the rider's work, added to those spent.
    Spent(f64),
    /// A person takes over.
    HandedOver(HandOver),
    /// The conversation ended.
    Closed(Ending),
    /// A turn was taken back: its events no longer count, safety excepted.
    Undone(Turn),
    /// The rider began again; only the terms and open dangers stay.
    StartedOver,
    /// The rider asked that everything of theirs be erased. Whoever keeps it does so at once.
    ForgetAsked,
    /// The rider was reminded after a long silence.
    Nudged,
    /// The conversation was closed for silence; the rider's next message goes on with it.
    Rested,
    /// The rider was asked whether volunteers may read along.
    ConsentAsked,
    /// Whether they may.
    Consented(bool),
    /// A volunteer said what a message meant.
    Corrected(Correction),
    /// A volunteer said what was wrong with the bike; no fault of the knowledge if the list is empty.
    Confirmed(Vec<FaultId>),
}

/// What a volunteer says a message meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// The turn that was misunderstood.
    pub turn: Turn,
    /// What it said of which observations, complaints included.
    pub meant: Vec<(ObservationId, OutcomeId)>,
    /// In the volunteer's words, if more is to be said.
    pub note: String,
}

/// What was learned.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Which observation.
    pub observation: ObservationId,
    /// Weight of each outcome, in the observation's order; outcomes not named have none.
    pub weights: Vec<(OutcomeId, f64)>,
    /// How much it counts, in (0, 1].
    pub strength: f64,
    /// The reading behind it, for a measurement.
    pub measured: Option<Measured>,
    /// Whether it was asked for, rather than volunteered.
    pub asked: bool,
}

/// A number as the rider gave it, in the base unit of its kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// What was measured.
    pub quantity: Kind,
    /// The number, unless only its bounds were given or the display was no number.
    pub value: Option<f64>,
    /// Lower bound.
    pub low: Option<f64>,
    /// Upper bound.
    pub high: Option<f64>,
    /// The step of the last digit typed, in the base unit.
    pub resolution: Option<f64>,
    /// The unit the rider used.
    pub unit: String,
    /// A display that is no number.
    pub display: Option<Display>,
}

/// A meter display that is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Display {
    /// `OL`, a lone `1`, infinity.
    Overload,
    /// The continuity beeper sounded.
    Beep,
    /// It stayed silent.
    NoBeep,
}

/// A reading with all that was said about how it was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// As shown.
    pub raw: Shown,
    /// The bare leads, same meter and range.
    pub leads: Option<Shown>,
    /// The time in which a volume was caught, where that makes it a flow.
    pub over: Option<Shown>,
    /// What the same words may mean instead: the other pint, the other decimal sign.
    pub other: Option<Shown>,
    /// How it was taken.
    pub under: Circumstances,
    /// Whether the rider stood by it when asked.
    pub confirmed: bool,
}

/// How good the rider says the meter is.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterTold {
    /// Accuracy as a share of the reading: 0.005 for "0.5 %".
    pub gain: f64,
    /// Accuracy in counts of the last digit: 2 for "+ 2".
    pub digits: f64,
}

/// A spec out of the rider's own manual.
#[derive(Debug, Clone, PartialEq)]
pub struct SpecTold {
    /// The observation it applies to.
    pub observation: ObservationId,
    /// Lower limit in the base unit.
    pub low: Option<f64>,
    /// Upper limit in the base unit.
    pub high: Option<f64>,
    /// Temperature it holds at, in degrees Celsius, where the rider named one.
    pub celsius: Option<f64>,
}

/// A question of the intake or profile that is asked once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// What is wrong.
    Complaint,
    /// What changed last, and what still works.
    Background,
    /// The fuel system.
    System,
    /// What is at hand.
    Kit,
}

/// What the rider is asked to do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Answer a question of the intake or profile.
    Tell(Topic),
    /// Confirm the surroundings checklist.
    Surroundings,
    /// Confirm the conditions of one step.
    Clear {
        /// The conditions.
        gates: Vec<GateId>,
        /// The step that needs them.
        target: Target,
    },
    /// Confirm that a danger is over.
    Safe(HazardId),
    /// Make observations, one or a few together.
    Observe(Vec<ObservationId>),
    /// Put a fault right.
    Repair(FaultId),
    /// Look whether the complaint is gone.
    Prove(FaultId),
    /// Put everything back.
    Refit,
    /// Nothing more: a person has taken over.
    HandOver(HandOver),
    /// Nothing more: the conversation has ended.
    Stop,
}

/// Something that can be declined or gated.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// An observation.
    Observation(ObservationId),
    /// The repair of a fault.
    Repair(FaultId),
    /// The proof after the repair of a fault.
    Proof(FaultId),
}

/// Something to be cleared up about what the rider said.
#[expect(
    clippy::large_enum_variant,
    reason = "a conversation holds a few dozen of these, and matching stays plain"
)]
#[derive(Debug, Clone, PartialEq)]
pub enum Query {
    /// A reading that cannot be right as it stands, kept until it is confirmed or corrected.
    Reading {
        /// The observation it was given for.
        observation: ObservationId,
        /// As given.
        measured: Measured,
        /// The name of the doubt.
        doubt: String,
    },
    /// A reading worth taking again, since it fits nothing else.
    Repeat(ObservationId),
    /// The question on the table once more, closer, since the rider could not answer it as it stood.
    Closer,
}

impl Query {
    /// The observation it is about, where it is about one.
    #[must_use]
    pub fn about(&self) -> Option<&ObservationId> {
        match self {
            Self::Reading { observation, .. } | Self::Repeat(observation) => Some(observation),
            Self::Closer => None,
        }
    }
}

/// Why a step came to nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Declined {
    /// The rider cannot do it.
    Cannot,
    /// The rider does not want to, for now.
    Skipped,
    /// The rider did it, or thought about it, and does not know.
    Unsure,
    /// A condition it needs does not hold.
    Gated,
}
