//! A dialogue small enough to know every answer of.

use floatbowl::conversation::event::{Event, Incoming, Logged, Step, Terms, Topic};
use floatbowl::desk::Dialogue;
use floatbowl::reply::{Choice, Line, Means, Next, NextKind, Phase, Reply};

/// Counts the messages, repeats them, closes at "bye", stops at "fire", and asks to be forgotten.
pub struct Counting;

impl Dialogue for Counting {
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply) {
        let reply = say(0, Phase::Intake, "Hello. What is wrong?");
        (vec![Event::Opened(terms.clone())], reply)
    }

    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply) {
        let turn = 1 + log.last().expect("an open conversation has events").turn;
        let text = match incoming {
            Incoming::Text(text) => text.clone(),
            Incoming::Choose(id) => format!("choice {id}"),
        };
        let phase = match text.as_str() {
            "bye" => Phase::Closed,
            "fire" => Phase::Halted,
            _ => Phase::Testing,
        };
        let mut events = vec![Event::Heard(incoming.clone()), Event::Asked(step())];
        if text.contains("forget me") {
            events.push(Event::ForgetAsked);
        }
        (events, say(turn, phase, &format!("{turn}: {text}")))
    }

    fn resume(&self, log: &[Logged]) -> Reply {
        let heard = log.iter().rev().find_map(|logged| match &logged.event {
            Event::Heard(incoming) => Some((logged.turn, incoming)),
            _ => None,
        });
        match heard {
            None => say(0, Phase::Intake, "Hello. What is wrong?"),
            Some((turn, incoming)) => {
                let before: Vec<Logged> = log.iter().filter(|l| l.turn < turn).cloned().collect();
                self.advance(&before, incoming).1
            }
        }
    }
}

fn step() -> Step {
    Step::Tell(Topic::Complaint)
}

fn say(turn: u32, phase: Phase, text: &str) -> Reply {
    let choice = |id: &str, words: &str, means| Choice {
        id: id.to_owned(),
        words: words.to_owned(),
        means,
    };
    Reply {
        turn,
        phase,
        lines: vec![
            Line::Plain(text.to_owned()),
            Line::Question("What else?".to_owned()),
        ],
        asks: vec![],
        choices: vec![
            choice("hums", "It hums", Means::Other),
            choice("why", "Why?", Means::Why),
        ],
        cautions: vec![],
        hazards: vec![],
        judgements: vec![],
        suspects: vec![],
        ruled_out: vec![],
        conflict: None,
        step: Next {
            kind: NextKind::Ask,
            id: None,
        },
        minutes_spent: 0.0,
        minutes_left: 10.0,
    }
}

pub fn terms() -> Terms {
    Terms {
        system: None,
        kit: None,
        round_trip_minutes: 0.0,
        bike: None,
        knowledge: "fake".to_owned(),
    }
}
