//! Numbers with units: what a reading is, how sure it is, and whether it meets a spec.
//!
//! A reading is judged in one straight line:
//!
//! ```text
//! Raw -> doubt (ask?) -> uncertainty (parts) -> distribution -> band (weights) -> Judgement
//!                                                                                  |
//!                                                             receipt <- remedy <--+
//! ```
//!
//! *Tolerance* is what a quantity is required to be and belongs to a [`Spec`]; *uncertainty* is
//! what is not known about a value and belongs to a reading. Nothing here knows what a message, a
//! fault or a bike is, and nothing reads files, clocks or chance.

pub mod band;
pub mod copper;
pub mod dimension;
pub mod distribution;
pub mod doubt;
pub mod judgement;
pub mod kind;
pub mod meter;
pub mod number;
pub mod plausible;
pub mod reading;
pub mod receipt;
pub mod remedy;
pub mod spec;
pub mod uncertainty;
pub mod unit;
mod unit_table;

pub use band::Band;
pub use copper::Winding;
pub use dimension::Dimension;
pub use doubt::Doubt;
pub use judgement::{Estimate, Judgement, Measured, Verdict, judge};
pub use kind::Kind;
pub use meter::Meter;
pub use reading::{Raw, Shown};
pub use receipt::{Receipt, receipt};
pub use remedy::Remedy;
pub use spec::{Basis, Side, Spec};
pub use unit::Unit;
