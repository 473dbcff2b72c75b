//! The sentences the Discord channel says itself; all others come with the reply.

use crate::quantity::Kind;
use crate::reply::Phase;
use serenity::model::id::UserId;

/// On the button that opens the form for a reading.
pub const TYPE_READING: &str = "Type the reading";
/// On the button that opens the form for an answer.
pub const TYPE_ANSWER: &str = "Answer in words";
/// On the button that takes the last answer back.
pub const WRONG: &str = "That's wrong, take it back";
/// The form's title for a reading.
pub const READING_FORM: &str = "Your reading";
/// The form's title for an answer.
pub const ANSWER_FORM: &str = "Your answer";
/// The form's question for the number.
pub const READING_FIELD: &str = "What the meter shows";
/// The form's question for the unit.
pub const UNIT_FIELD: &str = "Its unit";
/// The form's question for the leads.
pub const LEADS_FIELD: &str = "Tips held together, if you measured ohms";
/// The form's question for an answer.
pub const ANSWER_FIELD: &str = "In your own words";
/// In a menu, before anything is chosen.
pub const CHOOSE: &str = "Choose";
/// In the second of two menus with more of the same.
pub const CHOOSE_MORE: &str = "… or one of these";
/// Above numbered words that are too long for a button.
pub const NUMBERED: &str = "Choose by number:";

/// To whoever presses a button of a question that is answered already.
pub const ANSWERED_ALREADY: &str =
    "That question has been answered already. The newest message here has the one that is open.";
/// To whoever presses what is the rider's to press.
pub const NOT_YOURS: &str = "This is for the rider whose bike it is. Write in the thread what you \
know; the rider can take it in with a button.";
/// To whoever asks for something where there is no conversation.
pub const NOT_HERE: &str = "There is no diagnosis in this thread. Start one with /bike-trouble.";
/// When a moderator's command comes from somebody else.
pub const MODERATORS_ONLY: &str = "Only moderators of this group can do that.";
/// Outside a group.
pub const GROUPS_ONLY: &str = "I work in the threads of a group, not in private messages.";
/// When the store failed.
pub const TRY_AGAIN: &str =
    "I could not keep that, so I did not take it. Nothing is lost; please send it once more.";
/// When a message holds nothing we can read, since the intent is missing.
pub const CANNOT_READ: &str = "I cannot read plain messages in this group. Use the buttons, or \
begin your message by mentioning me.";
/// When a message holds pictures only.
pub const NO_PICTURES: &str =
    "I cannot look at pictures. Tell me in words what one would see, or the number on the meter.";
/// When a post that has no text of its own is pointed at.
pub const NO_TEXT: &str = "I cannot start from a bot's message.";
/// On the button that takes a bystander's message in.
pub const ADOPT: &str = "Take it in";
/// On the button that leaves it.
pub const LEAVE: &str = "Leave it";
/// When it was left or is gone.
pub const LEFT: &str = "Left aside.";
/// When a message to be taken in is no longer there.
pub const NO_LONGER_THERE: &str = "That message is no longer there.";
/// When a helper was called.
pub const CALLED: &str = "A person has been asked to look. What we know so far stands in the \
pinned message, so nobody has to ask you again.";
/// When volunteers' pages are not set up.
pub const NO_REVIEW: &str = "No review page is set up here. Whoever runs this can read what may be \
read with `floatbowl transcript`.";
/// To a command whose answer comes as a message of its own.
pub const BELOW: &str = "Taken; the answer comes in the thread.";
/// When the diagnosis of a thread has come from elsewhere or was erased.
pub const FORGOTTEN: &str = "What I keep of you is erased. Messages that stand in Discord itself, yours and mine, \
are yours and the moderators' to delete.";
/// When a bike has no sheet.
pub const NO_SHEETS: &str =
    "This group has approved no sheets of bikes. A moderator can, with /group-setup.";
/// Before the list of approved sheets.
pub const SHEETS: &str = "This group has approved the sheets of:";
/// After the setting of a group was changed.
pub const SET: &str = "This is how I am set here now:";
/// In the thread, before the greeting.
#[must_use]
pub fn made_for(rider: UserId) -> String {
    format!("This thread is for finding out what is wrong with the bike of <@{rider}>.")
}

/// Which thread was opened.
#[must_use]
pub fn opened(thread: u64) -> String {
    format!("Let us go on here: <#{thread}>")
}

/// Where a conversation is already.
#[must_use]
pub fn already(rider: u64) -> String {
    format!("There is a diagnosis in this thread already, for <@{rider}>.")
}

/// What was picked, under the question.
#[must_use]
pub fn picked(words: &str) -> String {
    format!("-# → {words}")
}

/// The offer to take a bystander's words in.
#[must_use]
pub fn offer(rider: u64) -> String {
    format!(
        "<@{rider}>, this sounds like something for the diagnosis. Shall I take it in as yours?"
    )
}

/// When a bystander's words were taken in.
#[must_use]
pub fn adopted(by: u64) -> String {
    format!("Taken in by <@{by}>.")
}

/// Which permission is missing, for a moderator.
#[must_use]
pub fn missing(permissions: &str) -> String {
    format!(
        "I cannot work here: I lack {permissions}. Give my role these in the channel's settings, \
         Permissions, then start again."
    )
}

/// The notice to moderators that a call was forbidden.
#[must_use]
pub fn forbidden(channel: u64) -> String {
    format!(
        "I am not allowed to write in <#{channel}>, or to open or name threads there. Give my role View \
         Channel, Send Messages, Send Messages in Threads, Create Public Threads, Manage Threads and \
         Pin Messages in that channel. I try again in ten minutes."
    )
}

/// To whoever can help: where help is wanted. Nobody is pinged.
#[must_use]
pub fn help_wanted(thread: u64) -> String {
    format!("A rider asks for a person: <#{thread}>")
}

/// The head of the pinned message.
pub const SUMMARY: &str = "Where we are";

/// The foot of the pinned message: what this is and is not.
pub const GUIDANCE: &str = "Guidance, not a substitute for the vehicle's manual, local codes and \
licensed practice.";

/// A phase as the pinned message names it.
#[must_use]
pub fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Intake => "Hearing what is wrong",
        Phase::Surroundings => "Making sure of a safe place",
        Phase::Profile => "Learning about the bike",
        Phase::Testing => "Testing",
        Phase::Repair => "Repairing",
        Phase::Proof => "Proving the repair",
        Phase::Refit => "Putting the bike back together",
        Phase::Halted => "Stopped by a danger",
        Phase::HandedOver => "In a person's hands",
        Phase::Closed => "Closed",
    }
}

/// A reading as a rider would type it, shown in the form.
#[must_use]
pub fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Voltage => "12.4 V",
        Kind::Resistance => "1.2 ohm, or OL",
        Kind::Current => "2.5 A",
        Kind::Volume => "200 ml",
        Kind::Flow => "0.7 L/min, or 200 ml in 15 s",
        Kind::Pressure => "20 kPa",
        Kind::Duration => "15 s",
        Kind::Temperature => "20 degC",
        Kind::Speed => "1200 rpm",
    }
}
