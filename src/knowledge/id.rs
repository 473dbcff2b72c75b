//! The names of things, one type for each sort, so that a part is never taken for a fault.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(
            Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
            JsonSchema,
        )]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// The name as written in the knowledge files.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl AsRef<str> for $name {
            fn as_ref(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl From<&str> for $name {
            fn from(name: &str) -> Self {
                Self(name.to_owned())
            }
        }
    )+};
}

ids! {
    /// A fuel-system kind.
    SystemId,
    /// A physical thing on the bike.
    PartId,
    /// One way a part can fail.
    FaultId,
    /// Anything that can be learned.
    ObservationId,
    /// One of an observation's possible results; unique over all observations.
    OutcomeId,
    /// Access work to be done before an observation or repair.
    OpeningId,
    /// Something the rider has at hand.
    KitId,
    /// A condition that must hold before a step.
    GateId,
    /// Words that go with a risky step.
    CautionId,
    /// A danger the rider reports.
    HazardId,
    /// What the rider asks of the conversation itself: undo, why, stop.
    RequestId,
    /// An ordered chain of parts.
    PathId,
}
