//! The sentences the terminal says itself; all others come with the reply.

use crate::quantity::Kind;
use std::path::Path;

/// Above the dangers.
pub const DANGER: &str = "DANGER: do this first";
/// Above the cautions.
pub const CAUTION: &str = "CAUTION";
/// Before what was understood of a message.
pub const UNDERSTOOD: &str = "Understood:";
/// Under numbered choices.
pub const PICK: &str = "Type a number, or say it in your own words.";
/// Where nothing is to be picked.
pub const SAY: &str = "Say it in your own words.";
/// At the start, when a conversation was left unfinished.
pub const LAST_TIME: &str = "Last time we were here:";
/// The choice to go on with it.
pub const GO_ON: &str = "Go on from there";
/// The choice to leave it.
pub const ANEW: &str = "Start anew";
/// Under these two.
pub const GO_ON_HINT: &str = "Type a number, or simply answer.";
/// When "no" could mean either.
pub const WHICH: &str = "Type 1 to go on from there, or 2 to start anew.";
/// Before an answer that never reached the rider.
pub const CUT_OFF: &str = "We were cut off last time. This was my answer:";
/// When the rider leaves and nothing is kept.
pub const NOT_KEPT: &str = "This conversation was not kept.";

/// Where a number is awaited, with or without lettered choices.
#[must_use]
pub fn reading(kind: Option<Kind>, picks: bool) -> String {
    let example = match kind {
        Some(kind) => format!(", such as {}", example(kind)),
        None => String::new(),
    };
    let otherwise = if picks { ", or a letter" } else { "" };
    format!("Type the reading with its unit{example}{otherwise}, or say it in your own words.")
}

/// A reading as a rider would type it.
fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Voltage => "12.4 V",
        Kind::Resistance => "1.2 ohm",
        Kind::Current => "2.5 A",
        Kind::Volume => "200 ml",
        Kind::Flow => "0.7 L/min",
        Kind::Pressure => "20 kPa",
        Kind::Duration => "15 s",
        Kind::Temperature => "20 degC",
        Kind::Speed => "1200 rpm",
    }
}

/// When the rider leaves a conversation that is kept.
#[must_use]
pub fn kept(folder: &Path) -> String {
    format!(
        "This conversation is kept in {}. Start floatbowl again and we go on where we stopped.",
        folder.display()
    )
}
