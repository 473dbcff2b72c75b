//! One piece of evidence: what an observation showed, or that a fault was put right.

use crate::knowledge::model::{FaultIx, ObservationIx};

/// Evidence, in the order it came.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// An observation was made.
    Seen {
        /// Which.
        observation: ObservationIx,
        /// Weight of each outcome, one per outcome; a hard outcome has one weight 1.
        weights: Vec<f64>,
        /// How much the observation counts, in 0..=1: the likelihood is this share of the model's
        /// and the rest of `normal`'s.
        strength: f64,
    },
    /// A fault was put right; what follows was seen without it.
    Repaired(FaultIx),
}
