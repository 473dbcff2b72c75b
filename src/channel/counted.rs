//! A dialogue with every turn counted.

use super::gauges::Gauges;
use crate::conversation::event::{Event, Incoming, Logged, Terms};
use crate::desk::Dialogue;
use crate::reply::{Reply, Trail};
use std::sync::Arc;
use std::time::Instant;

/// Another dialogue, counted.
pub struct Counted<D> {
    /// The dialogue.
    pub dialogue: D,
    /// Where it is counted.
    pub gauges: Arc<Gauges>,
}

impl<D: Dialogue> Dialogue for Counted<D> {
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply) {
        self.dialogue.open(terms)
    }

    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply) {
        let begin = Instant::now();
        let (events, reply) = self.dialogue.advance(log, incoming);
        self.gauges.turn(&events, begin.elapsed());
        (events, reply)
    }

    fn resume(&self, log: &[Logged]) -> Reply {
        self.dialogue.resume(log)
    }

    fn trail(&self, log: &[Logged]) -> Option<Trail> {
        self.dialogue.trail(log)
    }

    fn imagine(&self, log: &[Logged], incoming: &Incoming) -> Vec<Event> {
        // Nothing happened, so nothing is counted.
        self.dialogue.imagine(log, incoming)
    }
}
