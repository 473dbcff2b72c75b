//! What a rider's message says: readings, answers, symptoms, hazards, requests, and what was left over.
//!
//! One message runs through small stages, each knowing nothing of those after it:
//!
//! ```text
//! normalise -> token -> number -> quantity -> sentence -> matching -> scope
//!           -> role, reading, owner, moment, display, meter, statement, circumstance, answer, assent, classify -> interpret
//! ```
//!
//! Beside the line, `training` makes the tables and the network that `classify` and `reading` weigh words
//! and numbers by.
//!
//! All words stand in `knowledge/phrases/`, compiled to [`Phrases`](crate::knowledge::phrase::Phrases);
//! here is only how they hang together. Nothing in this module knows what a fault is.

mod answer;
mod assent;
mod circumstance;
mod classify;
mod cry;
mod display;
mod interpret;
pub mod interpretation;
mod left_over;
pub mod matching;
mod meter;
mod moment;
pub mod normalise;
pub mod number;
mod owner;
pub mod quantity;
mod reading;
pub mod report;
mod role;
pub mod scope;
pub mod sentence;
mod statement;
mod tally;
#[cfg(test)]
mod testing;
pub mod token;
pub mod trace;
pub mod training;
mod whose;

pub use classify::GUESSED;
pub use interpret::{counted, interpret, traced};
pub use interpretation::{Context, Interpretation};
pub use report::{Line, Report};
