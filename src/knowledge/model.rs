//! One fuel system as dense tables: all that belief and planning need, and nothing for people.
//!
//! This is also what `floatbowl knowledge export` prints, so that another program can recompute
//! every belief and every cost from it. Positions are typed indices; ids are for the edges.

use super::id::{FaultId, GateId, KitId, ObservationId, OpeningId, OutcomeId, PartId, SystemId};
use crate::quantity::Kind;
use serde::{Deserialize, Serialize};

macro_rules! indices {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub u16);

        impl $name {
            /// The position as a plain index.
            #[must_use]
            pub fn at(self) -> usize {
                usize::from(self.0)
            }
        }

        impl From<usize> for $name {
            /// # Panics
            /// Above 65,535; the loader refuses knowledge of that size.
            fn from(at: usize) -> Self {
                Self(u16::try_from(at).expect("a model holds fewer than 65,536 items of a sort"))
            }
        }
    )+};
}

indices! {
    /// Position in [`Model::faults`].
    FaultIx,
    /// Position in [`Model::observations`].
    ObservationIx,
    /// Position in [`Observation::outcomes`].
    OutcomeIx,
    /// Position in [`Model::openings`].
    OpeningIx,
}

/// Everything the arithmetic of one system rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// Which system this is.
    pub system: SystemId,
    /// Independent Bernoulli variables.
    pub faults: Vec<Fault>,
    /// Access work, a forest by [`Opening::parent`].
    pub openings: Vec<Opening>,
    /// All that can be learned, complaints and history included.
    pub observations: Vec<Observation>,
    /// What handing over costs the rider, in minutes' worth.
    pub handover_minutes: f64,
    /// What one unit of parts cost is worth, in minutes.
    pub minutes_per_cost_unit: f64,
    /// Multiplies the prior of the empty set: small, since a rider with no complaint does not write.
    pub healthy_factor: f64,
}

/// One way a part can fail.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Name at the edges.
    pub id: FaultId,
    /// The part that fails.
    pub part: PartId,
    /// Probability of being present before anything is known, in (0, 1).
    pub prior: f64,
    /// Faults that cannot be present together with this one; symmetric.
    pub excludes: Vec<FaultIx>,
    /// What putting it right takes.
    pub repair: Repair,
}

/// The cost of putting a fault right.
#[derive(Debug, Clone, PartialEq)]
pub struct Repair {
    /// Hands-on minutes, openings and proof not included.
    pub minutes: f64,
    /// Parts, in cost units.
    pub parts_cost: f64,
    /// Openings needed, parents implied.
    pub openings: Vec<OpeningIx>,
    /// Probability that the repair removes the fault, in (0, 1].
    pub success: f64,
    /// Whether only a licensed shop may do it; it is then never offered to the rider.
    pub shop_only: bool,
}

/// Access work.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// Name at the edges.
    pub id: OpeningId,
    /// The opening that must be open first.
    pub parent: Option<OpeningIx>,
    /// Minutes to open it, its parent being open.
    pub open_minutes: f64,
    /// Minutes to close it again at the end.
    pub close_minutes: f64,
}

/// What sort of thing is learned, which decides how it may be asked.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum ObservationKind {
    /// A complaint: what the bike does or does not do.
    Symptom,
    /// A fact of what happened before.
    History,
    /// A check answered by picking an outcome.
    Choice,
    /// A check answered by a number with a unit.
    Measurement,
    /// Whether the complaint is still there after a repair.
    Proof,
}

/// Anything that can be learned.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Name at the edges.
    pub id: ObservationId,
    /// How it may be asked.
    pub kind: ObservationKind,
    /// What is measured, for a measurement.
    pub quantity: Option<Kind>,
    /// Hands-on minutes, openings not included.
    pub minutes: f64,
    /// Openings needed, parents implied.
    pub openings: Vec<OpeningIx>,
    /// What the rider must have.
    pub kit: Vec<KitId>,
    /// What must hold before it is asked.
    pub gates: Vec<GateId>,
    /// Messages it takes besides its own: its conditions asked each time, and that what it opened is shut.
    pub questions: u32,
    /// The possible results, at least two.
    pub outcomes: Vec<Outcome>,
    /// Distribution over the outcomes when no listed cause is present; sums to 1.
    pub normal: Vec<f64>,
    /// The first of these that is present decides the distribution.
    pub causes: Vec<Cause>,
}

/// One possible result.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Name at the edges; unique over all observations.
    pub id: OutcomeId,
    /// As a rider would say it.
    pub words: String,
    /// Lower bound of the interval in the quantity's base unit; none where unbounded.
    pub low: Option<f64>,
    /// Upper bound of the interval in the quantity's base unit; none where unbounded.
    pub high: Option<f64>,
}

/// A fault with the distribution it brings about.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// The fault.
    pub fault: FaultIx,
    /// Distribution over the outcomes; sums to 1.
    pub outcomes: Vec<f64>,
}

impl Model {
    /// The fault of that name.
    #[must_use]
    pub fn fault(&self, id: &str) -> Option<FaultIx> {
        let at = self
            .faults
            .iter()
            .position(|fault| fault.id.as_str() == id)?;
        Some(FaultIx::from(at))
    }

    /// The observation of that name.
    #[must_use]
    pub fn observation(&self, id: &str) -> Option<ObservationIx> {
        let at = self
            .observations
            .iter()
            .position(|seen| seen.id.as_str() == id)?;
        Some(ObservationIx::from(at))
    }
}

impl Observation {
    /// The outcome of that name.
    #[must_use]
    pub fn outcome(&self, id: &str) -> Option<OutcomeIx> {
        let at = self
            .outcomes
            .iter()
            .position(|outcome| outcome.id.as_str() == id)?;
        Some(OutcomeIx::from(at))
    }
}
