//! Consent: asked once, at the end of a conversation; silence and everything unclear mean no.

use super::{Dialogue, words};
use crate::conversation::event::{Event, Incoming, Logged};
use crate::reply::{Choice, Line, Means, Phase, Reply};

/// The id of the choice to let volunteers read.
const YES: &str = "share-yes";
/// The id of the choice not to.
const NO: &str = "share-no";
/// What also means yes, as the whole message.
const YES_WORDS: [&str; 5] = ["yes", "y", "yes please", "sure", "ok"];
/// What also means no, as the whole message.
const NO_WORDS: [&str; 4] = ["no", "n", "no thanks", "rather not"];

/// Whether a reply asks for consent, so that a channel waits for one more message.
#[must_use]
pub fn asks_consent(reply: &Reply) -> bool {
    reply.choices.iter().any(|choice| choice.id == YES)
}

/// Adds the question to a reply that ends the conversation, if it was never asked.
pub fn ask(log: &[Logged], events: &mut Vec<Event>, reply: &mut Reply) {
    let ends = matches!(reply.phase, Phase::Closed | Phase::HandedOver);
    let asked = log.iter().any(|logged| logged.event == Event::ConsentAsked);
    if !ends || asked {
        return;
    }
    events.push(Event::ConsentAsked);
    reply.lines.push(Line::Question(words::CONSENT.to_owned()));
    let choice = |id: &str, words: &str| Choice {
        id: id.to_owned(),
        words: words.to_owned(),
        means: Means::Other,
    };
    reply.choices.push(choice(YES, words::CONSENT_YES));
    reply.choices.push(choice(NO, words::CONSENT_NO));
}

/// The answer to the question, if the last reply asked it and this answers it.
pub fn answered(log: &[Logged], incoming: &Incoming) -> Option<bool> {
    let last = log.last()?.turn;
    let open = log
        .iter()
        .any(|logged| logged.turn == last && logged.event == Event::ConsentAsked);
    if !open {
        return None;
    }
    match incoming {
        Incoming::Choose(id) => [(YES, true), (NO, false)]
            .into_iter()
            .find_map(|(known, yes)| (id == known).then_some(yes)),
        Incoming::Text(text) => {
            let said = text.trim().trim_end_matches(['.', '!']).to_lowercase();
            match said.as_str() {
                said if YES_WORDS.contains(&said) => Some(true),
                said if NO_WORDS.contains(&said) => Some(false),
                _ => None,
            }
        }
    }
}

/// The turn that takes the answer.
pub fn thanks(
    dialogue: &dyn Dialogue,
    log: &[Logged],
    incoming: &Incoming,
    yes: bool,
) -> (Vec<Event>, Reply) {
    let mut reply = dialogue.resume(log);
    reply.turn = log.last().map_or(0, |last| last.turn + 1);
    let words = if yes {
        words::SHARED
    } else {
        words::NOT_SHARED
    };
    reply.lines = vec![Line::Plain(words.to_owned())];
    let events = vec![Event::Heard(incoming.clone()), Event::Consented(yes)];
    (events, reply)
}
