//! The stored form of steps, targets and reasons, which events and replies share.

use crate::conversation::event as live;
use crate::knowledge::id::{FaultId, GateId, HazardId, ObservationId};
use serde::{Deserialize, Serialize};

/// Two enums with the same cases and nothing in them, converted both ways.
macro_rules! alike {
    ($(#[$doc:meta])* $name:ident = $live:path { $($case:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub(in crate::store::record) enum $name { $($case),+ }

        impl From<$live> for $name {
            fn from(live: $live) -> Self {
                use $live as Live;
                match live { $(Live::$case => Self::$case),+ }
            }
        }

        impl From<$name> for $live {
            fn from(stored: $name) -> Self {
                match stored { $($name::$case => Self::$case),+ }
            }
        }
    };
}

alike! {
    /// See [`live::Topic`].
    Topic = live::Topic { Complaint, Background, System, Kit }
}
alike! {
    /// See [`live::Declined`].
    Declined = live::Declined { Cannot, Skipped, Unsure, Gated }
}
alike! {
    /// See [`live::Display`].
    Display = live::Display { Overload, Beep, NoBeep }
}
alike! {
    /// See [`live::Ending`].
    Ending = live::Ending { Solved, Stopped }
}

/// See [`live::Target`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Target {
    Observation(ObservationId),
    Repair(FaultId),
    Proof(FaultId),
}

/// See [`live::HandOver`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum HandOver {
    Asked,
    ShopOnly(FaultId),
    NotWorth,
    Unexplained,
    Hazard(HazardId),
    UnknownSystem,
}

/// See [`live::Step`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Step {
    Tell(Topic),
    Surroundings,
    Clear { gates: Vec<GateId>, target: Target },
    Safe(HazardId),
    Observe(Vec<ObservationId>),
    Repair(FaultId),
    Prove(FaultId),
    Refit,
    HandOver(HandOver),
    Stop,
}

impl From<live::Target> for Target {
    fn from(live: live::Target) -> Self {
        match live {
            live::Target::Observation(id) => Self::Observation(id),
            live::Target::Repair(id) => Self::Repair(id),
            live::Target::Proof(id) => Self::Proof(id),
        }
    }
}

impl From<Target> for live::Target {
    fn from(stored: Target) -> Self {
        match stored {
            Target::Observation(id) => Self::Observation(id),
            Target::Repair(id) => Self::Repair(id),
            Target::Proof(id) => Self::Proof(id),
        }
    }
}

impl From<live::HandOver> for HandOver {
    fn from(live: live::HandOver) -> Self {
        match live {
            live::HandOver::Asked => Self::Asked,
            live::HandOver::ShopOnly(id) => Self::ShopOnly(id),
            live::HandOver::NotWorth => Self::NotWorth,
            live::HandOver::Unexplained => Self::Unexplained,
            live::HandOver::Hazard(id) => Self::Hazard(id),
            live::HandOver::UnknownSystem => Self::UnknownSystem,
        }
    }
}

impl From<HandOver> for live::HandOver {
    fn from(stored: HandOver) -> Self {
        match stored {
            HandOver::Asked => Self::Asked,
            HandOver::ShopOnly(id) => Self::ShopOnly(id),
            HandOver::NotWorth => Self::NotWorth,
            HandOver::Unexplained => Self::Unexplained,
            HandOver::Hazard(id) => Self::Hazard(id),
            HandOver::UnknownSystem => Self::UnknownSystem,
        }
    }
}

impl From<live::Step> for Step {
    fn from(live: live::Step) -> Self {
        match live {
            live::Step::Tell(topic) => Self::Tell(topic.into()),
            live::Step::Surroundings => Self::Surroundings,
            live::Step::Clear { gates, target } => Self::Clear {
                gates,
                target: target.into(),
            },
            live::Step::Safe(id) => Self::Safe(id),
            live::Step::Observe(ids) => Self::Observe(ids),
            live::Step::Repair(id) => Self::Repair(id),
            live::Step::Prove(id) => Self::Prove(id),
            live::Step::Refit => Self::Refit,
            live::Step::HandOver(why) => Self::HandOver(why.into()),
            live::Step::Stop => Self::Stop,
        }
    }
}

impl From<Step> for live::Step {
    fn from(stored: Step) -> Self {
        match stored {
            Step::Tell(topic) => Self::Tell(topic.into()),
            Step::Surroundings => Self::Surroundings,
            Step::Clear { gates, target } => Self::Clear {
                gates,
                target: target.into(),
            },
            Step::Safe(id) => Self::Safe(id),
            Step::Observe(ids) => Self::Observe(ids),
            Step::Repair(id) => Self::Repair(id),
            Step::Prove(id) => Self::Prove(id),
            Step::Refit => Self::Refit,
            Step::HandOver(why) => Self::HandOver(why.into()),
            Step::Stop => Self::Stop,
        }
    }
}
