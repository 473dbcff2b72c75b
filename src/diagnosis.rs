//! What the evidence says about the faults, and which next step is worth most.
//!
//! Evidence goes in as [`finding`]s; a [`belief`] comes out, and from it a [`plan`](mod@plan). Nothing here
//! knows what a message, a rider or a channel is, and nothing here puts anything into words.
//! Reading order:
//!
//! - [`finding`]: one piece of evidence.
//! - `timeline`: which findings are in force, and what was already repaired when each was made.
//! - [`doubt`]: repairs that may not have held.
//! - `sets`, [`prior`], `likelihood`, [`belief`]: the probability of every set of faults.
//! - [`cost`]: what a step costs; `ground`, `frame`, `forecast`, `sequence`, `survey`: what repairing is
//!   expected to cost, now and after each possible answer.
//! - [`conflict`]: the result that fits the others badly; `truncation`: what is left out.
//! - [`plan`](mod@plan): the step worth most; `lookahead`, `persist` and `bundle` refine it.
//! - [`access`]: what is worth doing while something is open, and what missing kit costs.
//! - [`explain`]: what would follow, what is ruled out, what an observation tells apart.
//! - [`mod@optimum`]: what no plan can beat, for small models.
//! - [`report`]: evidence and belief as other programs exchange them.

pub mod access;
pub mod belief;
mod bundle;
mod by_fault;
pub mod conflict;
pub mod cost;
pub mod doubt;
pub mod explain;
pub mod finding;
mod floor;
mod forecast;
mod frame;
mod ground;
mod likelihood;
mod lookahead;
pub mod optimum;
mod persist;
pub mod plan;
pub mod prior;
pub mod report;
mod sequence;
mod sets;
mod survey;
mod timeline;
mod truncation;

pub use belief::Belief;
pub use conflict::{Conflict, conflict_in};
pub use cost::Terms;
pub use finding::Finding;
pub use plan::{Candidate, Choice, Depth, Plan, Reason, Situation, Step, plan};
pub use prior::Prior;
