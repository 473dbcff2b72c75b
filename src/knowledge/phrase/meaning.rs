//! What a phrase can mean.

use crate::knowledge::id::{
    GateId, HazardId, KitId, ObservationId, OutcomeId, RequestId, SystemId,
};
use serde::Deserialize;

/// What a phrase says, once it is found where it counts.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meaning {
    /// A complaint, present or expressly absent.
    Symptom {
        /// Which.
        id: ObservationId,
        /// False for a phrase that says it is not so.
        present: bool,
        /// Whether it gives way to a more exact complaint in the same message.
        weak: bool,
    },
    /// A fact of what happened before.
    History(ObservationId),
    /// A danger.
    Hazard {
        /// Which.
        id: HazardId,
        /// Whether it counts whoever it befalls, and whatever machine.
        anyone: bool,
    },
    /// A question about a danger: "can I ride it home?".
    AskedAbout(HazardId),
    /// A fuel system.
    System(SystemId),
    /// Something a rider may have.
    Kit(KitId),
    /// Something asked of the conversation.
    Request(RequestId),
    /// How a reading was taken.
    Circumstance(CircumstanceWord),
    /// A result of an observation.
    Outcome(ObservationId, OutcomeId),
    /// A result in a word or two, while it is asked for.
    Short(ObservationId, OutcomeId),
    /// Yes, no or unsure.
    Answer(AnswerWord),
    /// A condition of safe work.
    Condition {
        /// Which.
        gate: GateId,
        /// False for a phrase that says it is not so.
        holds: bool,
    },
    /// What a yes beside it is worth.
    Assent(AssentWord),
    /// Something a reading may belong to, by position in the table of things.
    Thing(usize),
    /// A display of a meter that is no number.
    Display(DisplayWord),
    /// What a number is there for.
    Role(Role),
    /// How what stands near it is meant.
    Cue(Cue),
}

/// What a yes beside it is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AssentWord {
    /// Takes something of it back.
    Reserve,
    /// Sounds like taking back, and is none: "no leaks".
    Assure,
}

/// A plain answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AnswerWord {
    /// Yes.
    Yes,
    /// Yes, by the verb of the question: "it does".
    Echo,
    /// No.
    No,
    /// The rider does not know.
    Unsure,
    /// Something was heard.
    Heard,
    /// Nothing was heard.
    Silent,
    /// What was asked for has been carried out.
    Done,
}

/// A display of a meter that is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DisplayWord {
    /// Out of range, `OL`, a lone 1.
    Overload,
    /// The beeper sounds.
    Beep,
    /// The beeper stays silent.
    NoBeep,
    /// Words for a sound that may be the beeper's: they count where all around them speaks for it.
    MaybeBeep,
    /// Words for silence that may be the beeper's, likewise.
    MaybeNoBeep,
    /// A lone 1, which may be the number.
    Lone,
    /// The setting of the meter that beeps, and no beep.
    Setting,
}

/// How a reading was taken, or what helps to judge it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CircumstanceWord {
    /// The battery rested for the time named.
    Rested,
    /// The battery rested for a night or longer.
    RestedLong,
    /// The battery has not rested.
    NotRested,
    /// The number was read while the starter turned.
    Cranking,
    /// The number was read while the engine ran.
    Running,
    /// The circuit was connected and switched on.
    Loaded,
    /// The plug was off, or nothing drew current.
    Unloaded,
    /// The meter takes the leads off by itself.
    Zeroed,
    /// The rider has taken the leads off.
    Subtracted,
    /// The part was warm from running.
    Hot,
    /// The part was as cool as the air.
    Cool,
    /// The engine has the power named, in kilowatts.
    Kilowatts,
    /// The same in horsepower of 550 foot-pounds a second.
    Horsepower,
    /// The same in metric horsepower.
    MetricHorsepower,
}

/// What a number is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The range the meter is set to; also says what kind of number it will show.
    Range,
    /// What is printed on a part: a fuse's amperes, a battery's volts.
    Rating,
    /// A limit out of a manual.
    Spec,
    /// The number is an upper bound.
    AtMost,
    /// The number is a lower bound.
    AtLeast,
    /// The number is roughly so.
    About,
    /// A time waited, ridden, owned.
    Wait,
    /// A time after which or for which something went on; the answer where a time is asked for.
    Lapse,
    /// A count, a name, a price, a size, a date.
    Other,
    /// A reading, even with no unit.
    Reading,
}

/// How what stands near it is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cue {
    /// Turns round what follows.
    Not,
    /// Turns round what stands before it: "leaks: none".
    NotBefore,
    /// Looks like another cue and is none: "no wait", "not only".
    Nothing,
    /// Takes the danger out of a word: "oil leak", "smoke test", "fire it up".
    Harmless,
    /// A figure of speech, of which no word is meant: "you're on fire today".
    Figurative,
    /// Said with doubt.
    Hedge,
    /// A question about what follows.
    Question,
    /// A question that takes what follows for granted: "is it normal that".
    Presuming,
    /// Only supposed: "in case", "make sure".
    Condition,
    /// "If": a complaint may still follow ("if I close the choke it dies"), a danger or a reading not.
    If,
    /// Only possible: "could", "might".
    Possible,
    /// Over, of what stands in the same clause: "used to", "no longer".
    Past,
    /// Put right, of what was said before: "fixed that".
    Resolved,
    /// About another vehicle.
    OtherBike,
    /// About the rider's own again.
    OwnBike,
    /// Another's word for it: "my buddy says".
    OtherSpeaker,
    /// Ends the reach of a "not": "but".
    Contrast,
    /// What follows replaces a number before it.
    Correction,
    /// The number that follows is the one replaced: "not 14".
    Replaced,
    /// The rider has it.
    Have,
    /// The rider lacks it.
    Lack,
    /// From one number to another, both measured: "dropped from .. to".
    Change,
    /// What the rider did, not the bike: "I stopped for fuel".
    OwnAct,
    /// What the rider has set just now, and not how it was found: "the tap is off now".
    SetNow,
}
