//! A turn in the making: the events so far, and the state they lead to.

use super::event::{Event, Incoming, Logged, Turn};
use super::state::State;
use crate::knowledge::Knowledge;
use crate::reply::{Judged, Line};

/// The events of one turn and what is to be said about them.
#[derive(Debug)]
pub struct Draft<'a> {
    /// What is known.
    pub knowledge: &'a Knowledge,
    /// The state after the events so far.
    pub state: State,
    /// The events so far.
    pub events: Vec<Event>,
    /// What was understood and answered, in reading order.
    pub lines: Vec<Line>,
    /// Readings judged.
    pub judged: Vec<Judged>,
    turn: Turn,
}

impl<'a> Draft<'a> {
    /// The turn that answers `incoming`.
    #[must_use]
    pub fn begin(state: &State, incoming: &Incoming, knowledge: &'a Knowledge) -> Self {
        let mut draft = Self {
            knowledge,
            state: state.clone(),
            events: Vec::new(),
            lines: Vec::new(),
            judged: Vec::new(),
            turn: state.turn + 1,
        };
        draft.record(Event::Heard(incoming.clone()));
        draft
    }

    /// The opening of a conversation.
    #[must_use]
    pub fn opening(knowledge: &'a Knowledge) -> Self {
        Self {
            knowledge,
            state: State::fold(&[]),
            events: Vec::new(),
            lines: Vec::new(),
            judged: Vec::new(),
            turn: 0,
        }
    }

    /// Adds an event and applies it.
    pub fn record(&mut self, event: Event) {
        self.state.apply(Logged {
            turn: self.turn,
            event: event.clone(),
        });
        self.events.push(event);
    }

    /// Adds something to say.
    pub fn say(&mut self, line: Line) {
        self.lines.push(line);
    }
}
