//! The ways a rider's answer goes wrong.

use crate::knowledge::model::{Observation, ObservationKind};
use crate::quantity::Kind;
use fastrand::Rng;

/// One wrong answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slip {
    /// "I don't know."
    Unsure,
    /// The meter stands on another range: the number is a thousand times too large or too small.
    WrongRange,
    /// The resistance of the meter's own leads is neither told nor taken off.
    LeadsForgotten,
    /// The two wires of a voltage are swapped: the number is negative.
    SwappedWires,
    /// Another result was heard or seen than the one there was: a pump that hummed was not heard.
    Misheard,
}

impl Slip {
    /// One of those that can happen with an observation, each as often as the others.
    pub(super) fn with(observation: &Observation, chance: &mut Rng) -> Self {
        let possible: &[Self] = match (observation.kind, observation.quantity) {
            (ObservationKind::Measurement, Some(Kind::Resistance)) => {
                &[Self::Unsure, Self::WrongRange, Self::LeadsForgotten]
            }
            (ObservationKind::Measurement, Some(Kind::Voltage)) => {
                &[Self::Unsure, Self::WrongRange, Self::SwappedWires]
            }
            (ObservationKind::Measurement, _) => &[Self::Unsure, Self::WrongRange],
            _ => &[Self::Unsure, Self::Misheard],
        };
        possible[chance.usize(..possible.len())]
    }
}
