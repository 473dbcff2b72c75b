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
//! Read the modules in this order: [`mod@unit`] and [`si`] (numbers that know what they measure),
//! [`reading`], [`meter`], [`uncertainty`], [`distribution`], [`band`], [`doubt`],
//! [`resolution`], [`judgement`], [`remedy`], [`mod@receipt`], [`spec`],
//! [`circumstance`]; then the trade's own arithmetic: [`copper`], [`circuit`],
//! [`battery`], [`fuse`], [`relay`], [`mod@flow`], [`fuel`], [`hydraulics`], [`vapour`]. [`budget`] and
//! [`guard`] hold the general rules of the GUM and of guard bands.
//!
//! *Tolerance* is what a quantity is required to be and belongs to a [`Spec`]; *uncertainty* is
//! what is not known about a value and belongs to a reading. Nothing here knows what a message, a
//! fault or a bike is, and nothing reads files, clocks or chance.

pub mod band;
pub mod battery;
pub mod budget;
pub mod circuit;
pub mod circumstance;
pub mod copper;
pub mod dimension;
pub mod distribution;
pub mod doubt;
pub mod flow;
pub mod fuel;
pub mod fuse;
pub mod guard;
pub mod hydraulics;
pub mod judgement;
pub mod kind;
pub mod meter;
pub mod number;
pub mod plausible;
pub mod reading;
pub mod receipt;
pub mod relay;
pub mod remedy;
pub mod resolution;
pub mod si;
pub mod spec;
pub mod uncertainty;
pub mod unit;
mod unit_table;
pub mod vapour;

pub use band::Band;
pub use circumstance::{Circumstances, Missing, Nature, Warmth};
pub use copper::Winding;
pub use dimension::Dimension;
pub use doubt::Doubt;
pub use flow::{WorkedOut, flow};
pub use judgement::{Estimate, Judgement, Measured, Verdict, judge};
pub use kind::Kind;
pub use meter::Meter;
pub use reading::{Raw, Shown};
pub use receipt::{Receipt, receipt};
pub use remedy::Remedy;
pub use resolution::Resolution;
pub use spec::{Basis, Side, Spec};
pub use unit::Unit;
