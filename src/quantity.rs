//! Numbers with units: what a reading is, how sure it is, and whether it meets a spec.

pub mod kind;

pub use kind::Kind;
