//! The sentences the terminal says itself; all others come with the reply.

use std::path::Path;

/// Above the dangers.
pub const DANGER: &str = "DANGER: do this first";
/// Above the cautions.
pub const CAUTION: &str = "CAUTION";
/// Under numbered choices.
pub const PICK: &str = "Type a number, or say it in your own words.";
/// Where nothing is to be picked.
pub const SAY: &str = "Say it in your own words.";
/// Under lettered choices, where a number is awaited.
pub const READING: &str =
    "Type what the meter shows, with its unit (such as 12.4 V), or a letter, or your own words.";
/// Where a number is awaited and nothing is to be picked.
pub const READING_ONLY: &str = "Type what the meter shows, with its unit (such as 12.4 V).";
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

/// When the rider leaves a conversation that is kept.
#[must_use]
pub fn kept(folder: &Path) -> String {
    format!(
        "This conversation is kept in {}. Start floatbowl again and we go on where we stopped.",
        folder.display()
    )
}
