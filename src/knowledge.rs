//! What is known: loaded from data files, checked, compiled once, immutable from then on.

pub mod id;
pub mod model;
pub mod phrase;
pub mod problem;
pub mod schema;
