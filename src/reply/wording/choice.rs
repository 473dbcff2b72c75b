//! The words on everything a rider may pick.

/// All conditions hold.
pub const ALL_SO: &str = "Yes, all of that";
/// Not all conditions hold.
pub const NOT_ALL: &str = "No, not all of it";
/// What was not named of a list of conditions holds.
pub const REST_SO: &str = "All the rest is so";
/// No condition of a list holds, or the rider cannot say.
pub const NONE_SO: &str = "None of it, or I cannot say";
/// A condition does not hold.
pub const NOT_SO: &str = "No";
/// A yes to one condition.
pub const IT_IS_SO: &str = "Yes, that is so";
/// A danger is past.
pub const IT_IS_OVER: &str = "Yes, it is safe now";
/// A danger is not past.
pub const NOT_OVER: &str = "No, not yet";
/// There never was a danger.
pub const MISREAD: &str = "There is no such danger, I was misread";
/// A repair was made.
pub const REPAIRED: &str = "Done";
/// The proof succeeded.
pub const GONE_AND_DRY: &str = "It runs as it should, and everything is dry";
/// The proof failed.
pub const STILL_THERE: &str = "The trouble is still there";
/// The proof found a leak.
pub const LEAKS: &str = "Something is wet or smells of fuel";
/// The refit is complete.
pub const ALL_BACK: &str = "Everything is back on and dry";
/// The refit is not complete.
pub const NOT_BACK_YET: &str = "Not yet";
/// A new conversation.
pub const START_OVER: &str = "Start over";
/// Nothing happened before the trouble.
pub const NOTHING_CHANGED: &str = "Nothing that I know of";
/// All kit is at hand.
pub const KIT_ALL: &str = "I have all of these";
/// No kit is at hand.
pub const KIT_NONE: &str = "That is all I have (or: none of it)";
/// An explanation is wanted.
pub const WHY: &str = "Why this?";
/// The surroundings have changed.
pub const READY: &str = "The place is in order now";
/// The last answer was wrong.
pub const UNDO: &str = "Take my last answer back";
/// A person is wanted.
pub const PERSON: &str = "I want a person";
/// The rider ends.
pub const STOP: &str = "Stop here";
/// The rider cannot.
pub const CANNOT: &str = "I can't do that";
/// The rider does not know.
pub const UNSURE: &str = "I don't know";
/// The rider would rather not.
pub const SKIP: &str = "Skip this for now";

/// Denies one line of a checklist.
#[must_use]
pub fn not_so(holds: &str) -> String {
    format!("Not so: {}", holds.trim_end_matches('.'))
}
