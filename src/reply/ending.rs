//! How a conversation ends: solved, stopped, or in a person's hands.

use crate::knowledge::id::{FaultId, HazardId};

/// Why a person takes over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HandOver {
    /// The rider asked for one.
    Asked,
    /// The likeliest fault is one only a licensed shop may put right.
    ShopOnly(FaultId),
    /// Nothing the rider can do is worth its minutes any more.
    NotWorth,
    /// The evidence fits nothing that is known.
    Unexplained,
    /// A danger was reported that only a shop may settle.
    Hazard(HazardId),
    /// The rider cannot tell which fuel system it is.
    UnknownSystem,
}

/// How a conversation ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ending {
    /// Repaired, proven, refitted.
    Solved,
    /// The rider stopped.
    Stopped,
}
