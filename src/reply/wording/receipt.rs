//! What was understood, said back so that a misreading is seen at once.

use super::number;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{KitId, ObservationId, SystemId};
use crate::knowledge::schema::Observation;
use crate::quantity::Kind;

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
    knowledge: &Knowledge,
    id: &ObservationId,
    (kind, low, high): (Kind, Option<f64>, Option<f64>),
) -> String {
    let name = knowledge
        .observations
        .get(id)
        .map_or(id.as_str(), |check| &check.name);
    format!(
        "your manual's range for \"{name}\": {}",
        number::range(low, high, kind)
    )
}

/// A complaint, or that it is not so.
#[must_use]
pub fn symptom(words: &str, present: bool) -> String {
    if present {
        words.to_owned()
    } else {
        format!("not so: {words}")
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

/// Something said with less than certainty.
#[must_use]
pub fn hedged(words: String, strength: f64) -> String {
    if strength < 1.0 {
        format!("{words} (you are not sure)")
    } else {
        words
    }
}

/// The bare leads.
#[must_use]
pub fn leads(value: Option<f64>, unit: &str) -> String {
    match value {
        Some(value) => format!(
            "your leads alone: {}",
            number::value(value, Kind::Resistance, unit)
        ),
        None => "your leads alone gave no number".to_owned(),
    }
}

/// A reading that is not judged yet.
#[must_use]
pub fn reading(check: &Observation, kind: Kind, value: Option<f64>, unit: &str) -> String {
    match value {
        Some(value) => format!("{}: {}", check.name, number::value(value, kind, unit)),
        None => format!("{}: a display without a number", check.name),
    }
}
