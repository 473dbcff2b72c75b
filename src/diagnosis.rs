//! What the evidence says about the faults, and which next step is worth most.

pub mod finding;
