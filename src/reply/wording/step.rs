//! What a step asks for.

use super::number::{held, list, minutes};
use crate::knowledge::schema::Fault;
use crate::reply::Line;
use crate::reply::ending::Ending;

/// What this is, and what it is not.
#[must_use]
pub fn greeting() -> Vec<Line> {
    vec![
        Line::Plain("I help you find out why a motorcycle does not get its fuel, one step at a time, with what you have at home.".to_owned()),
        Line::Caution("This is guidance. It does not replace your bike's manual, your local rules or a licensed shop; where they differ from me, they are right. Until I say otherwise: work outside, on a cold engine, with no flame, no heater and no cigarette near.".to_owned()),
    ]
}

/// The repair that was skipped was all that was left.
pub const SKIPPED_THE_LAST: &str = "That repair was the last thing worth doing at home. Say \"undo\" if you want to do it after all.";

/// The first question.
pub const ASK_COMPLAINT: &str = "What is the bike doing, or not doing? Tell it as it happened, and add anything you have tested already.";
/// A message at the first question that gave nothing away.
pub const ASK_COMPLAINT_PRECISELY: &str = "What happens when you press the starter: nothing at all, a click, it turns over but does not fire, or it runs and then dies? Pick what comes nearest, or tell it in other words.";
/// The second question.
pub const ASK_BACKGROUND: &str = "What was the last thing that changed before this began (work done, a fill-up, rain, a long stand, a fall)? And what still works: headlamp, horn, starter, the hum of the pump?";
/// The question for the kit.
pub const ASK_KIT: &str = "Which of these do you have at hand? Pick them one by one, or name all you have in one message; you can begin with very little.";
/// In place of a name for the trial after a repair.
pub const THE_TRIAL: &str = "the trial after the repair";
/// The heading of the trial after a repair.
pub const PROVE: &str = "Prove the repair.";
/// A step for resistances.
pub const READ_LEADS: &str = "First hold the two probes together and note what the meter shows: that is the leads alone. Tell me both numbers.";
/// A reading is asked for again.
pub const REPEAT: &str = "One result does not sit well with the others. Before you spend money on it, please take it once more.";
/// A repair could not be tried.
pub const NOT_PROVEN: &str = "Then I count the repair as not proven.";
/// The complaint is still there.
pub const GOES_ON: &str = "Then there is more than one thing wrong, or it was something else. We go on with all that we know.";
/// A new beginning.
pub const STARTED_OVER: &str = "We start over. What is open on the bike, I keep in mind.";
/// Nothing is left to do as long as the place is not in order.
pub const ONLY_WITH_THIS: &str =
    "Without the following I know of nothing more that you could safely do.";
/// The end of a message was not looked at.
pub const TOO_LONG: &str = "That is more than I can read at once: I read the beginning. Send the rest in a second message if it matters.";
/// A yes that is none to rely on.
pub const PLAIN_YES: &str =
    "For this I need a plain yes, once all of it is so. If something is not, say no.";
/// What else ends a danger that was read into words.
pub const SAY_MISREAD: &str = "If there is no such danger and I misread you, say \"misread\".";
/// When a danger was only read into what was said.
pub const MISREAD: &str = "Good: then I misread you, and we go on.";
/// Words that say nothing of what changed last.
pub const NO_MATTER: &str = "No matter, we go on.";
/// When the rider asks to be forgotten and nobody keeps anything.
pub const NOT_KEPT: &str = "Nothing of this is kept: when you leave this conversation, it is gone.";
/// Nothing can be taken back.
pub const NOTHING_TO_UNDO: &str = "There is nothing to take back.";
/// The conversation has ended.
pub const OVER: &str = "This conversation has ended. Say \"start over\" to begin a new one, or \"undo\" to take the last answer back.";
/// Something lies open on the bike.
pub const STILL_OPEN: &str = "Before it is moved, put this back:";
/// After a hand-over.
pub const DO_NOT_RIDE: &str =
    "Do not ride it as it is: no riding with a fuel leak or an engine that cuts out.";
/// To a rider who says that it runs again, before anything was proven.
pub const FIXED: &str = "Good if it runs again. I have seen no proof of it, so before you trust it: what was changed, is \
     everything dry with the fuel on and the engine running, does it start cold and hot, and does it hold a ride \
     close to home? If all of that holds, say \"stop\" and I close with a record. If not, go on here:";
/// To a rider who asks whom they are talking to.
pub const WHO: &str = "I am a program: I go through written checks with you and weigh what you find; I see only what you \
     write. Volunteers look after what I know. If you would rather have a person, say \"person\".";
/// To a rider who tells the same again.
pub const KNOWN: &str = "That I have noted already.";
/// How to talk to the assistant.
pub const HELP: &str = "Answer in your own words, or with the number of a choice. At any time you can say: why, skip, I can't do that, I don't know, undo, what have we got so far, I want a person, start over, stop. Tell me at once if anything leaks, smokes or smells.";

/// The checklist of the surroundings.
#[must_use]
pub fn surroundings(holds: Vec<String>) -> Vec<Line> {
    vec![
        Line::Instruction("Before you touch anything, look around you.".to_owned()),
        Line::Steps(holds),
        Line::Question("Is all of that so?".to_owned()),
    ]
}

/// The question for the fuel system; after an "I don't know", with where to look.
#[must_use]
pub fn which_system(look: bool, tells: Vec<String>) -> Vec<Line> {
    let look = look.then(|| {
        Line::Plain("Take one look; nothing needs to come off. Follow the fuel hose down from the tank: does it end in a tap with a lever, and in a carburettor? Turn the key on and listen for a hum or a tick. A choke knob or lever means a carburettor. Your manual's page on the fuel tap or the fuel pump says it too.".to_owned())
    });
    let asked = [
        Line::Question("Which of these is your bike?".to_owned()),
        Line::Steps(tells),
    ];
    look.into_iter().chain(asked).collect()
}

/// Not all of the checklist holds: which of it?
#[must_use]
pub fn which_condition(holds: Vec<String>) -> Vec<Line> {
    vec![
        Line::Steps(holds),
        Line::Question(
            "Which of these is not so? Pick it; or set it right and say yes.".to_owned(),
        ),
    ]
}

/// One condition of the checklist, where the rider could not say which of them does not hold.
#[must_use]
pub fn one_condition(holds: Vec<String>) -> Vec<Line> {
    vec![
        Line::Plain("Then one after the other.".to_owned()),
        Line::Steps(holds),
        Line::Question("Is that so?".to_owned()),
    ]
}

/// The conditions of one step.
#[must_use]
pub fn clear(name: &str, holds: Vec<String>) -> Vec<Line> {
    vec![
        Line::Plain(format!(
            "Next: {}. Before that:",
            name.trim_end_matches('.')
        )),
        Line::Steps(holds),
        Line::Question("Is all of that so?".to_owned()),
    ]
}

/// Several checks in one message.
#[must_use]
pub fn together(count: usize) -> String {
    format!("Do these {count} together and tell me all the results; in any order.")
}

/// The setting of the meter.
#[must_use]
pub fn meter(setting: &str) -> String {
    format!("Set the meter to {setting}.")
}

/// What to put right, and why.
#[must_use]
pub fn repair(fault: &Fault, probability: Option<f64>, steps: Vec<String>) -> Vec<Line> {
    let why = probability.map(|probability| Line::Plain(held(&fault.name, probability)));
    let mut lines: Vec<Line> = why.into_iter().collect();
    lines.push(Line::Instruction(fault.repair.what.clone()));
    if !steps.is_empty() {
        lines.push(Line::Steps(steps));
    }
    lines.push(Line::Question("Tell me when it is done.".to_owned()));
    lines
}

/// The check that failed, as part of the trial.
#[must_use]
pub fn repeat_check(name: &str, normal: &str) -> String {
    format!("Repeat \"{name}\"; it should come out as: {normal}.")
}

/// What must be back before the trial, which begins with the look for leaks; nothing where nothing stands open.
#[must_use]
pub fn back_for_the_trial(lines: &[String]) -> Option<String> {
    (!lines.is_empty()).then(|| format!("First put back what the trial needs. {}", lines.join(" ")))
}

/// What must go back on.
#[must_use]
pub fn refit(list: Vec<String>) -> Vec<Line> {
    vec![
        Line::Instruction("Put everything back, and tick it off in this order.".to_owned()),
        Line::Steps(list),
        Line::Question("Is everything back on and dry?".to_owned()),
    ]
}

/// The end, in a form that can be read in ten seconds.
#[must_use]
pub fn ending(ending: Option<&Ending>, repaired: &[String], spent: f64) -> Vec<Line> {
    let what = match ending {
        Some(Ending::Solved) if repaired.is_empty() => "Solved.".to_owned(),
        Some(Ending::Solved) => format!(
            "Solved: {}. Repaired, proven, back together.",
            list(repaired)
        ),
        Some(Ending::Stopped) | None => {
            "We stop here. Do not ride with a fuel leak or an engine that cuts out.".to_owned()
        }
    };
    let spent = format!(
        "Work so far: {}. Say \"start over\" for a new case.",
        minutes(spent)
    );
    vec![Line::Instruction(what), Line::Plain(spent)]
}

/// A turn was taken back.
#[must_use]
pub fn undone(said: Option<&str>) -> String {
    match said {
        Some(said) => format!("Taken back: \"{}\".", shortened(said)),
        None => "Taken back.".to_owned(),
    }
}

/// A choice that is not there.
#[must_use]
pub fn not_on_offer(id: &str) -> String {
    format!("\"{}\" is not one of the choices now.", shortened(id))
}

/// Nothing in a message was understood.
#[must_use]
pub fn not_understood(text: &str) -> String {
    if text.trim().is_empty() {
        "I heard nothing. Answer in your own words, or with the number of a choice.".to_owned()
    } else {
        format!(
            "I could not make out \"{}\". Answer in your own words, or with the number of a choice.",
            shortened(text)
        )
    }
}

/// What answers a first message that names no trouble: riders who are frightened write that too.
#[must_use]
pub fn no_trouble_named(text: &str) -> String {
    if text.trim().is_empty() {
        return not_understood(text);
    }
    format!(
        "\"{}\" does not tell me yet what is wrong. We find it together, one question at a time; for the first ones you touch nothing.",
        shortened(text)
    )
}

/// The first line of a text, cut to what fits a receipt.
fn shortened(text: &str) -> String {
    const MOST: usize = 60;
    let line = text.trim().lines().next().unwrap_or_default();
    if line.chars().count() <= MOST {
        line.to_owned()
    } else {
        let cut: String = line.chars().take(MOST).collect();
        format!("{cut}…")
    }
}
