//! What was understood, said back so that a misreading is seen at once.

use super::number;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{KitId, ObservationId, SystemId};
use crate::knowledge::schema::{Observation, Symptom};
use crate::quantity::uncertainty::leads_worn;
use crate::quantity::{Kind, Raw};

/// The fuel system was named or described.
#[must_use]
pub fn system(knowledge: &Knowledge, id: &SystemId) -> String {
    let name = knowledge
        .systems
        .get(id)
        .map_or(id.as_str(), |system| &system.name);
    format!("fuel system: {name}")
}

/// Something is or is not at hand.
#[must_use]
pub fn kit(knowledge: &Knowledge, id: &KitId, has: bool) -> String {
    let name = knowledge.kit(id).map_or(id.as_str(), |kit| &kit.name);
    if has {
        format!("you have {name}")
    } else {
        format!("you do not have {name}")
    }
}

/// The rider's meter.
#[must_use]
pub fn meter(percent: f64, digits: f64) -> String {
    format!("your meter is good to {percent} % + {digits}")
}

/// A spec out of the rider's manual.
#[must_use]
pub fn spec(
    check: &Observation,
    (low, high): (Option<f64>, Option<f64>),
    celsius: Option<f64>,
) -> String {
    let unit = check.quantity.map_or("", Kind::unit);
    let at = celsius.map_or_else(String::new, |celsius| format!(" at {celsius} degC"));
    format!(
        "your manual asks for {}{at}, for \"{}\"",
        number::range(low, high, unit),
        check.name
    )
}

/// A spec that may belong to several things.
pub const SPEC_OF_WHAT: &str =
    "I do not know which part that range is for. Tell it again when I ask you to measure the part.";

/// A number off a meter, with nothing that says what was measured.
#[must_use]
pub fn reading_of_what(raw: &Raw) -> String {
    format!(
        "I read {}, but not of what. Name the part with it, as in \"battery 12.6 V\".",
        number::display(raw)
    )
}

/// A number that no check on this bike is judged by.
#[must_use]
pub fn reading_not_counted(raw: &Raw) -> String {
    format!(
        "I read {}, but none of my checks on this bike is judged by that number, so I do not count it. Say in words \
         how it ran or what you saw.",
        number::display(raw)
    )
}

/// A setting told while a danger is open.
pub const MADE_SAFE: &str = "A tap or switch turned now is part of making it safe; I do not take it for how you found the bike.";

/// The meter takes the leads off.
pub const ZEROED: &str = "your meter takes the leads off by itself";

/// The engine's power.
#[must_use]
pub fn power(watts: f64) -> String {
    format!(
        "your engine has {} kW",
        number::trimmed((watts / 10.0).round() / 100.0)
    )
}

/// A complaint, or that it is not so.
#[must_use]
pub fn symptom(symptom: &Symptom, present: bool) -> String {
    match &symptom.absent {
        _ if present => symptom.words.clone(),
        Some(absent) => absent.clone(),
        None => format!("not so: {}", symptom.words),
    }
}

/// A fact of what happened before.
#[must_use]
pub fn history(words: &str) -> String {
    format!("before this: {words}")
}

/// A complaint or a fact of history that was picked.
#[must_use]
pub fn picked(knowledge: &Knowledge, id: &str) -> String {
    let id = ObservationId::from(id);
    let symptom = knowledge.symptoms.get(&id).map(|item| item.words.clone());
    let history = || knowledge.history.get(&id).map(|item| item.words.clone());
    symptom.or_else(history).unwrap_or_else(|| id.to_string())
}

/// Something said with less than certainty, or guessed from all words of a message.
#[must_use]
pub fn hedged(words: String, strength: f64) -> String {
    if strength < 1.0 {
        format!("{words} (not for certain)")
    } else {
        words
    }
}

/// The bare leads.
#[must_use]
pub fn leads(raw: &Raw) -> String {
    let shown = number::display(raw);
    let note = match raw.centre() {
        Some(ohms) if raw.kind == Kind::Resistance && leads_worn(ohms) => {
            "; that is a lot, above 1 ohm leads are worn, but I take it off all the same"
        }
        Some(_) => "",
        None => "; that is no number, so nothing measured in ohms counts with them",
    };
    format!("your leads alone: {shown}{note}")
}

/// A reading that takes the place of the one told before.
#[must_use]
pub fn amended(check: &Observation) -> String {
    format!("in place of what you told before for \"{}\"", check.name)
}

/// A reading that is not judged yet.
#[must_use]
pub fn reading(check: &Observation, raw: &Raw, over: Option<&Raw>) -> String {
    let over = over.map_or_else(String::new, |over| format!(" in {}", number::display(over)));
    format!("{}{over}, for \"{}\"", number::display(raw), check.name)
}
