//! The conversation as the desk sees it, over the knowledge in force.

use super::Dialogue;
use crate::conversation::event::{Event, Incoming, Logged, Terms};
use crate::conversation::{State, advance, open, resume, trail};
use crate::knowledge::Knowledge;
use crate::reply::{Reply, Trail};

/// The conversation that finds out what is wrong with a bike.
pub struct Assistant(pub Knowledge);

impl Dialogue for Assistant {
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply) {
        open(terms, &self.0)
    }

    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply) {
        advance(&State::fold(log), incoming, &self.0)
    }

    fn trail(&self, log: &[Logged]) -> Option<Trail> {
        trail(&State::fold(log), &self.0)
    }

    fn resume(&self, log: &[Logged]) -> Reply {
        resume(&State::fold(log), &self.0)
    }
}
