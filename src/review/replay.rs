//! Conversations said again under the knowledge as it is now, and what comes out otherwise.

use super::came::Came;
use super::transcript::Past;
use crate::conversation::event::{Event, Incoming, Logged, Terms, Turn};
use crate::conversation::{State, advance, open};
use crate::knowledge::Knowledge;
use crate::reply::{Reply, Suspect};
use std::fmt;

/// By how much a suspect's probability must move to be worth telling. Common practice, no source.
pub const MOVED: f64 = 0.05;

/// What a rider said, and what came of it, then.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Under which terms.
    pub terms: Terms,
    /// What the rider said, in order.
    pub rider: Vec<Incoming>,
    /// What came of the greeting and of each message.
    pub came: Vec<Came>,
    /// The likeliest faults at the end.
    pub suspects: Vec<Suspect>,
}

/// What sort of thing changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matter {
    /// A danger is seen or missed.
    Hazard,
    /// Conditions before a step.
    Gate,
    /// What was understood.
    Understood,
    /// How a reading was judged.
    Verdict,
    /// What is asked for next.
    Step,
    /// Where the conversation is.
    Phase,
    /// The likeliest fault at the end.
    Suspect,
}

/// One thing that comes out otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// After which message; 0 is the greeting.
    pub message: usize,
    /// What sort of thing.
    pub matter: Matter,
    /// As it was.
    pub was: String,
    /// As it is now.
    pub is: String,
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let matter = match self.matter {
            Matter::Hazard => "dangers",
            Matter::Gate => "gates",
            Matter::Understood => "understood",
            Matter::Verdict => "verdict",
            Matter::Step => "step",
            Matter::Phase => "phase",
            Matter::Suspect => "suspect",
        };
        let (message, was, is) = (self.message, &self.was, &self.is);
        write!(f, "message {message}, {matter}: was {was}; is now {is}")
    }
}

impl Said {
    /// What was said in a kept conversation. Turns that the desk answered by itself are left out.
    #[must_use]
    pub fn of(past: &Past) -> Self {
        let mut said = Self {
            terms: past.terms(),
            rider: Vec::new(),
            came: Vec::new(),
            suspects: Vec::new(),
        };
        for outgoing in &past.replies {
            let events = || {
                let kept = past.kept.iter().map(|kept| &kept.logged);
                let own = kept.filter(|logged| logged.turn == outgoing.turn);
                own.map(|logged| &logged.event)
            };
            let aside = events()
                .any(|event| matches!(event, Event::Consented(_) | Event::Nudged | Event::Rested));
            if aside {
                continue;
            }
            said.rider.extend(events().find_map(heard));
            said.came.push(Came::of(events(), &outgoing.reply));
            said.suspects.clone_from(&outgoing.reply.suspects);
        }
        said
    }

    /// The same said now.
    #[must_use]
    pub fn again(&self, knowledge: &Knowledge) -> Self {
        play(&self.terms, &self.rider, knowledge)
    }
}

fn heard(event: &Event) -> Option<Incoming> {
    match event {
        Event::Heard(incoming) => Some(incoming.clone()),
        _ => None,
    }
}

/// Holds a conversation with a rider whose words are known beforehand.
#[must_use]
pub fn play(terms: &Terms, rider: &[Incoming], knowledge: &Knowledge) -> Said {
    let mut said = Said {
        terms: terms.clone(),
        rider: rider.to_vec(),
        came: Vec::new(),
        suspects: Vec::new(),
    };
    let (events, reply) = open(terms, knowledge);
    let mut state = State::fold(&logged(0, &events));
    said.take(&events, &reply);
    for incoming in rider {
        let (events, reply) = advance(&state, incoming, knowledge);
        for logged in logged(reply.turn, &events) {
            state.apply(logged);
        }
        said.take(&events, &reply);
    }
    said
}

impl Said {
    fn take(&mut self, events: &[Event], reply: &Reply) {
        self.came.push(Came::of(events.iter(), reply));
        self.suspects.clone_from(&reply.suspects);
    }
}

fn logged(turn: Turn, events: &[Event]) -> Vec<Logged> {
    let of_turn = |event: &Event| Logged {
        turn,
        event: event.clone(),
    };
    events.iter().map(of_turn).collect()
}

/// What comes out otherwise, in order. Once the rider is asked for something else, what follows may
/// differ for that reason alone.
#[must_use]
pub fn changes(was: &Said, is: &Said) -> Vec<Change> {
    let mut changes = Vec::new();
    for (message, (was, is)) in was.came.iter().zip(&is.came).enumerate() {
        changes.extend(differences(message, was, is));
    }
    changes.extend(suspected(was, is));
    changes
}

fn differences(message: usize, was: &Came, is: &Came) -> Vec<Change> {
    let step = |came: &Came| match &came.step.id {
        Some(id) => format!("{} {id}", word(&came.step.kind)),
        None => word(&came.step.kind),
    };
    let sides = [
        (Matter::Hazard, ids(&was.hazards), ids(&is.hazards)),
        (Matter::Gate, ids(&was.gates), ids(&is.gates)),
        (
            Matter::Understood,
            ids(&was.understood),
            ids(&is.understood),
        ),
        (Matter::Verdict, ids(&was.verdicts), ids(&is.verdicts)),
        (Matter::Step, step(was), step(is)),
        (Matter::Phase, word(&was.phase), word(&is.phase)),
    ];
    let changed = sides.into_iter().filter(|(_, was, is)| was != is);
    changed
        .map(|(matter, was, is)| Change {
            message,
            matter,
            was,
            is,
        })
        .collect()
}

fn suspected(was: &Said, is: &Said) -> Option<Change> {
    let (old, new) = (was.suspects.first(), is.suspects.first());
    let same = match (old, new) {
        (Some(old), Some(new)) => {
            old.fault == new.fault && (old.probability - new.probability).abs() < MOVED
        }
        (None, None) => true,
        _ => false,
    };
    let words = |suspect: Option<&Suspect>| {
        suspect.map_or("nothing".to_owned(), |suspect| {
            format!("{} {:.2}", suspect.fault, suspect.probability)
        })
    };
    (!same).then(|| Change {
        message: was.rider.len(),
        matter: Matter::Suspect,
        was: words(old),
        is: words(new),
    })
}

fn ids<T: fmt::Display>(items: &[T]) -> String {
    let items: Vec<String> = items.iter().map(ToString::to_string).collect();
    if items.is_empty() {
        "nothing".to_owned()
    } else {
        items.join(", ")
    }
}

/// The word that stands for a value in JSON.
fn word(value: &impl serde::Serialize) -> String {
    let value = serde_json::to_value(value).unwrap_or_default();
    value.as_str().unwrap_or_default().to_owned()
}
