//! What a rider's message says: readings, answers, symptoms, hazards, requests, and what was left over.

pub mod interpretation;

pub use interpretation::{Context, Interpretation};
