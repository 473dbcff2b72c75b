//! What was understood in one message, and what could not be.

use crate::knowledge::id::{
    GateId, HazardId, KitId, ObservationId, OutcomeId, RequestId, SystemId,
};
use crate::quantity::Kind;
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// Where in the rider's own text something was read, in bytes.
pub type Span = Range<usize>;

/// What the conversation was waiting for when the message came.
#[derive(Debug, Clone, Default)]
pub struct Context {
    /// The kind of answer expected, if a question is open.
    pub expecting: Option<Expecting>,
    /// The outcomes on offer, in the order shown, if a choice is open.
    pub offered: Vec<OutcomeId>,
    /// The rider's fuel system, once known.
    pub system: Option<SystemId>,
}

/// The kind of answer a question calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expecting {
    /// Yes or no.
    YesNo,
    /// Whether something was heard.
    Heard,
    /// A number of this kind.
    #[serde(untagged)]
    Quantity(Kind),
}

/// Everything understood in one message. Understanding never fails; it only leaves more over.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Interpretation {
    /// Numbers the rider reports, raw, in the order said.
    pub readings: Vec<Said<Reading>>,
    /// A yes, no or unsure to whatever was asked.
    pub answer: Option<Said<Answer>>,
    /// Words for "I have done it"; they confirm work, never a condition of the bike.
    pub done: Option<Span>,
    /// What keeps a yes from being one without reserve; a condition of safe work needs one without.
    pub reserve: Option<Span>,
    /// Conditions of safe work, said to hold or not.
    pub conditions: Vec<Said<Condition>>,
    /// Results of observations, asked or volunteered.
    pub observations: Vec<Said<Observed>>,
    /// Complaints, and whether the rider says they are there.
    pub symptoms: Vec<Said<Symptom>>,
    /// Facts of what happened before.
    pub history: Vec<Said<ObservationId>>,
    /// The fuel system, where the rider names or describes it.
    pub system: Option<Said<SystemId>>,
    /// Dangers reported as present now.
    pub hazards: Vec<Said<HazardId>>,
    /// Dangers the rider only asks about: "can I ride it home like this?".
    pub asked_about: Vec<Said<HazardId>>,
    /// What the rider asks of the conversation itself.
    pub requests: Vec<Said<RequestId>>,
    /// A spec read to us out of the rider's own manual.
    pub spec: Option<Said<SpecSaid>>,
    /// What the rider has or lacks.
    pub kit: Vec<Said<KitSaid>>,
    /// How readings were taken, in the order said.
    pub circumstances: Vec<Said<Circumstance>>,
    /// Which of the choices on offer was picked, by number or by its words.
    pub picked: Option<Said<OutcomeId>>,
    /// What the rider says of how far the meter may be off; it is no reading.
    pub meter: Option<Said<MeterSpec>>,
    /// Words that can be read in more ways than one, each with all its meanings. The first is the
    /// default, which stands in `readings` with the same span.
    pub ambiguous: Vec<Said<Vec<Reading>>>,
    /// What the only reading takes the place of, where that was told in an earlier message.
    pub amends: Option<Amends>,
    /// What nothing claimed.
    pub left_over: Vec<Span>,
    /// The end of a message too long to be read, which was not looked at.
    pub cut: Option<Span>,
}

impl Interpretation {
    /// Whether nothing in the message meant anything.
    #[must_use]
    pub fn says_nothing(&self) -> bool {
        let understood = Self {
            left_over: Vec::new(),
            cut: None,
            ..self.clone()
        };
        understood == Self::default()
    }
}

/// How far a meter may be off, as its maker states it: "0.5 % + 2 digits".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeterSpec {
    /// Percent of the reading: 0.5.
    pub gain_percent: f64,
    /// Steps of the last digit.
    pub digits: f64,
}

/// Something understood, with where it stood and how firmly it was said.
#[derive(Debug, Clone, PartialEq)]
pub struct Said<T> {
    /// What was understood.
    pub what: T,
    /// The bytes of the message it was read from.
    pub span: Span,
    /// 1 for a plain statement, less for a hedge ("I think it hummed"), in (0, 1].
    pub strength: f64,
}

/// A yes, a no, or neither.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// Yes.
    Yes,
    /// No.
    No,
    /// The rider does not know.
    Unsure,
}

/// A number as said, before any correction. All values in the base unit of `quantity`.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was measured.
    pub quantity: Kind,
    /// The number; none where a range or a display without a number was given.
    pub value: Option<f64>,
    /// Lower end of a range.
    pub low: Option<f64>,
    /// Upper end of a range.
    pub high: Option<f64>,
    /// The unit the rider used, as a symbol; the base unit where none was said.
    pub said_unit: String,
    /// The step of the last digit typed, in the base unit; none for words and fractions.
    pub resolution: Option<f64>,
    /// What the number belongs to: `leads`, or the thing named.
    pub of: Option<String>,
    /// When it was read, where that makes it another measurement.
    pub moment: Option<Moment>,
    /// A display that is no number.
    pub special: Option<Special>,
}

/// A number that puts one of an earlier message right: "sorry, that was 11.6, not 12.6". All as written, in
/// whatever unit the other was in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amends {
    /// The number that was wrong; none where the last reading is meant.
    pub wrong: Option<f64>,
    /// The one that takes its place.
    pub right: f64,
    /// The step of its last digit.
    pub step: Option<f64>,
    /// Whether it was said with a unit.
    pub united: bool,
}

/// A moment that makes a voltage another measurement than the same at rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// While the starter turned.
    Cranking,
    /// While the engine ran.
    Running,
}

impl Moment {
    /// The word for it in the names of things measured: "battery cranking".
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Cranking => "cranking",
            Self::Running => "running",
        }
    }
}

/// A meter display that is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Special {
    /// `OL`, a lone `1` on the left, infinity.
    Overload,
    /// The continuity beeper sounded.
    Beep,
    /// The continuity beeper stayed silent.
    NoBeep,
}

/// The result of one observation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Observed {
    /// Which observation.
    pub id: ObservationId,
    /// What came of it.
    pub outcome: OutcomeId,
}

/// A condition of safe work, as the rider speaks of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// Which.
    pub gate: GateId,
    /// Whether it is said to hold.
    pub holds: bool,
}

/// A complaint. Symptoms are observations of the model under the same id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symptom {
    /// Which complaint.
    pub id: ObservationId,
    /// False only where the rider says that it is not so.
    pub present: bool,
}

/// A permitted range in the base unit of `quantity`.
#[derive(Debug, Clone, PartialEq)]
pub struct SpecSaid {
    /// What is specified.
    pub quantity: Kind,
    /// Lower limit.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
    /// The temperature it is given for, in degrees Celsius.
    pub celsius: Option<f64>,
}

/// How a reading was taken, or what helps to judge it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Circumstance {
    /// The battery rested for so many seconds.
    Rested(f64),
    /// Whether the circuit was connected and switched on.
    Loaded(bool),
    /// The meter takes the leads off by itself.
    Zeroed,
    /// The rider has taken the leads off.
    Subtracted,
    /// The part was warm from running.
    Hot,
    /// The part was as cool as the air.
    Cool,
    /// The engine has so many watts.
    Power(f64),
}

/// Something the rider has or lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KitSaid {
    /// Which thing.
    pub id: KitId,
    /// Whether it is at hand.
    pub has: bool,
}
