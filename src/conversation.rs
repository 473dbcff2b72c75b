//! One rider's conversation: a log of events, the state folded from it, and the turn that adds to it.

pub mod agenda;
pub mod draft;
pub mod event;
pub mod gates;
pub mod insight;
pub mod measuring;
pub mod state;
