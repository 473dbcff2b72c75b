//! The stored form of an event.

use super::number::{Number, got, put};
use super::step::{Declined, Display, Ending, HandOver, Step, Target, Topic};
use crate::conversation::event as live;
use crate::knowledge::id::{
    FaultId, GateId, HazardId, KitId, ObservationId, OpeningId, OutcomeId, SystemId,
};
use crate::quantity::{self, Kind};
use serde::{Deserialize, Serialize};

/// See [`live::Event`].
#[expect(
    clippy::large_enum_variant,
    reason = "one at a time stands on its way into or out of storage"
)]
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Event {
    Opened(Terms),
    Heard(Incoming),
    Found(Found),
    LeadsRead(Shown),
    MeterTold { gain: Number, digits: Number },
    SpecTold(SpecTold),
    PowerTold(Number),
    SystemTold(SystemId),
    KitTold { kit: KitId, has: bool },
    Settled(Topic),
    HazardRaised(HazardId),
    HazardCleared(HazardId),
    GateAnswered { gate: GateId, holds: bool },
    GateReopened(GateId),
    Reconsidered,
    Asked(Step),
    Queried(Query),
    Declined { target: Target, reason: Declined },
    AccessOpened(OpeningId),
    Repaired(FaultId),
    Proved { fault: FaultId, gone: bool },
    Stopping,
    Refitted,
    Spent(Number),
    HandedOver(HandOver),
    Closed(Ending),
    Undone(u32),
    StartedOver,
    ForgetAsked,
    Nudged,
    Rested,
    ConsentAsked,
    Consented(bool),
    Corrected(Correction),
    Confirmed(Vec<FaultId>),
}

/// See [`live::Correction`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Correction {
    turn: u32,
    meant: Vec<(ObservationId, OutcomeId)>,
    note: String,
}

/// See [`live::Terms`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Terms {
    system: Option<SystemId>,
    kit: Option<Vec<KitId>>,
    round_trip_minutes: Number,
    bike: Option<String>,
    knowledge: String,
}

/// See [`live::Incoming`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Incoming {
    Text(String),
    Choose(String),
}

/// See [`live::Found`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Found {
    observation: ObservationId,
    weights: Vec<(OutcomeId, Number)>,
    strength: Number,
    measured: Option<Measured>,
    asked: bool,
}

/// See [`live::Shown`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Shown {
    quantity: Kind,
    value: Option<Number>,
    low: Option<Number>,
    high: Option<Number>,
    resolution: Option<Number>,
    unit: String,
    display: Option<Display>,
}

/// See [`live::Measured`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Measured {
    raw: Shown,
    leads: Option<Shown>,
    over: Option<Shown>,
    other: Option<Shown>,
    under: Circumstances,
    confirmed: bool,
}

/// See [`quantity::Circumstances`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Circumstances {
    rest: Option<Number>,
    warmth: Option<Warmth>,
    loaded: Option<bool>,
    unsure: bool,
}

/// See [`quantity::Warmth`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Warmth {
    celsius: Number,
    doubt: Number,
}

/// See [`live::SpecTold`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SpecTold {
    observation: ObservationId,
    low: Option<Number>,
    high: Option<Number>,
    celsius: Option<Number>,
}

/// See [`live::Query`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Query {
    Reading {
        observation: ObservationId,
        measured: Box<Measured>,
        doubt: String,
    },
    Repeat(ObservationId),
    Closer,
}

/// Both ways between two structs: what is named the same is converted, every field is named.
macro_rules! same_fields {
    ($name:ident = $live:path { $($field:ident: $there:expr, $back:expr);+ $(;)? }) => {
        impl From<$live> for $name {
            fn from(live: $live) -> Self {
                use $live as Live;
                let Live { $($field),+ } = live;
                Self { $($field: ($there)($field)),+ }
            }
        }

        impl From<$name> for $live {
            fn from(stored: $name) -> Self {
                let $name { $($field),+ } = stored;
                Self { $($field: ($back)($field)),+ }
            }
        }
    };
}
pub(super) use same_fields;

/// Nothing to convert.
pub(super) fn same<T>(value: T) -> T {
    value
}

same_fields! { Correction = live::Correction {
    turn: same, same;
    meant: same, same;
    note: same, same;
} }

same_fields! { Terms = live::Terms {
    system: same, same;
    kit: same, same;
    round_trip_minutes: Number, f64::from;
    bike: same, same;
    knowledge: same, same;
} }

same_fields! { Shown = live::Shown {
    quantity: same, same;
    value: put, got;
    low: put, got;
    high: put, got;
    resolution: put, got;
    unit: same, same;
    display: |of: Option<_>| of.map(Into::into), |of: Option<_>| of.map(Into::into);
} }

same_fields! { Measured = live::Measured {
    raw: Into::into, Into::into;
    leads: |leads: Option<_>| leads.map(Into::into), |leads: Option<_>| leads.map(Into::into);
    over: |over: Option<_>| over.map(Into::into), |over: Option<_>| over.map(Into::into);
    other: |other: Option<_>| other.map(Into::into), |other: Option<_>| other.map(Into::into);
    under: Into::into, Into::into;
    confirmed: same, same;
} }

same_fields! { Circumstances = quantity::Circumstances {
    rest: put, got;
    warmth: |of: Option<_>| of.map(Into::into), |of: Option<_>| of.map(Into::into);
    loaded: same, same;
    unsure: same, same;
} }

same_fields! { Warmth = quantity::Warmth {
    celsius: Number, f64::from;
    doubt: Number, f64::from;
} }

same_fields! { SpecTold = live::SpecTold {
    observation: same, same;
    low: put, got;
    high: put, got;
    celsius: put, got;
} }

same_fields! { Found = live::Found {
    observation: same, same;
    weights: put_weights, got_weights;
    strength: Number, f64::from;
    measured: |of: Option<_>| of.map(Into::into), |of: Option<_>| of.map(Into::into);
    asked: same, same;
} }

/// Outcome weights, on their way into storage.
pub(super) fn put_weights(weights: Vec<(OutcomeId, f64)>) -> Vec<(OutcomeId, Number)> {
    weights.into_iter().map(|(id, w)| (id, Number(w))).collect()
}

/// Outcome weights, on their way out.
pub(super) fn got_weights(weights: Vec<(OutcomeId, Number)>) -> Vec<(OutcomeId, f64)> {
    weights.into_iter().map(|(id, w)| (id, w.0)).collect()
}

impl From<live::Incoming> for Incoming {
    fn from(live: live::Incoming) -> Self {
        match live {
            live::Incoming::Text(text) => Self::Text(text),
            live::Incoming::Choose(id) => Self::Choose(id),
        }
    }
}

impl From<Incoming> for live::Incoming {
    fn from(stored: Incoming) -> Self {
        match stored {
            Incoming::Text(text) => Self::Text(text),
            Incoming::Choose(id) => Self::Choose(id),
        }
    }
}

impl From<live::Query> for Query {
    fn from(live: live::Query) -> Self {
        match live {
            live::Query::Reading {
                observation,
                measured,
                doubt,
            } => Self::Reading {
                observation,
                measured: Box::new(measured.into()),
                doubt,
            },
            live::Query::Repeat(id) => Self::Repeat(id),
            live::Query::Closer => Self::Closer,
        }
    }
}

impl From<Query> for live::Query {
    fn from(stored: Query) -> Self {
        match stored {
            Query::Reading {
                observation,
                measured,
                doubt,
            } => Self::Reading {
                observation,
                measured: (*measured).into(),
                doubt,
            },
            Query::Repeat(id) => Self::Repeat(id),
            Query::Closer => Self::Closer,
        }
    }
}

impl From<live::Event> for Event {
    fn from(live: live::Event) -> Self {
        use live::Event as Live;
        match live {
            Live::Opened(terms) => Self::Opened(terms.into()),
            Live::Heard(incoming) => Self::Heard(incoming.into()),
            Live::Found(found) => Self::Found(found.into()),
            Live::LeadsRead(shown) => Self::LeadsRead(shown.into()),
            Live::MeterTold(live::MeterTold { gain, digits }) => Self::MeterTold {
                gain: gain.into(),
                digits: digits.into(),
            },
            Live::SpecTold(spec) => Self::SpecTold(spec.into()),
            Live::PowerTold(watts) => Self::PowerTold(watts.into()),
            Live::SystemTold(id) => Self::SystemTold(id),
            Live::KitTold { kit, has } => Self::KitTold { kit, has },
            Live::Settled(topic) => Self::Settled(topic.into()),
            Live::HazardRaised(id) => Self::HazardRaised(id),
            Live::HazardCleared(id) => Self::HazardCleared(id),
            Live::GateAnswered { gate, holds } => Self::GateAnswered { gate, holds },
            Live::GateReopened(gate) => Self::GateReopened(gate),
            Live::Reconsidered => Self::Reconsidered,
            Live::Asked(step) => Self::Asked(step.into()),
            Live::Queried(query) => Self::Queried(query.into()),
            Live::Declined { target, reason } => Self::Declined {
                target: target.into(),
                reason: reason.into(),
            },
            Live::AccessOpened(id) => Self::AccessOpened(id),
            Live::Repaired(id) => Self::Repaired(id),
            Live::Proved { fault, gone } => Self::Proved { fault, gone },
            Live::Stopping => Self::Stopping,
            Live::Refitted => Self::Refitted,
            Live::Spent(minutes) => Self::Spent(minutes.into()),
            Live::HandedOver(why) => Self::HandedOver(why.into()),
            Live::Closed(ending) => Self::Closed(ending.into()),
            Live::Undone(turn) => Self::Undone(turn),
            Live::StartedOver => Self::StartedOver,
            Live::ForgetAsked => Self::ForgetAsked,
            Live::Nudged => Self::Nudged,
            Live::Rested => Self::Rested,
            Live::ConsentAsked => Self::ConsentAsked,
            Live::Consented(yes) => Self::Consented(yes),
            Live::Corrected(correction) => Self::Corrected(correction.into()),
            Live::Confirmed(faults) => Self::Confirmed(faults),
        }
    }
}

impl From<Event> for live::Event {
    fn from(stored: Event) -> Self {
        match stored {
            Event::Opened(terms) => Self::Opened(terms.into()),
            Event::Heard(incoming) => Self::Heard(incoming.into()),
            Event::Found(found) => Self::Found(found.into()),
            Event::LeadsRead(shown) => Self::LeadsRead(shown.into()),
            Event::MeterTold { gain, digits } => Self::MeterTold(live::MeterTold {
                gain: gain.into(),
                digits: digits.into(),
            }),
            Event::SpecTold(spec) => Self::SpecTold(spec.into()),
            Event::PowerTold(watts) => Self::PowerTold(watts.into()),
            Event::SystemTold(id) => Self::SystemTold(id),
            Event::KitTold { kit, has } => Self::KitTold { kit, has },
            Event::Settled(topic) => Self::Settled(topic.into()),
            Event::HazardRaised(id) => Self::HazardRaised(id),
            Event::HazardCleared(id) => Self::HazardCleared(id),
            Event::GateAnswered { gate, holds } => Self::GateAnswered { gate, holds },
            Event::GateReopened(gate) => Self::GateReopened(gate),
            Event::Reconsidered => Self::Reconsidered,
            Event::Asked(step) => Self::Asked(step.into()),
            Event::Queried(query) => Self::Queried(query.into()),
            Event::Declined { target, reason } => Self::Declined {
                target: target.into(),
                reason: reason.into(),
            },
            Event::AccessOpened(id) => Self::AccessOpened(id),
            Event::Repaired(id) => Self::Repaired(id),
            Event::Proved { fault, gone } => Self::Proved { fault, gone },
            Event::Stopping => Self::Stopping,
            Event::Refitted => Self::Refitted,
            Event::Spent(minutes) => Self::Spent(minutes.into()),
            Event::HandedOver(why) => Self::HandedOver(why.into()),
            Event::Closed(ending) => Self::Closed(ending.into()),
            Event::Undone(turn) => Self::Undone(turn),
            Event::StartedOver => Self::StartedOver,
            Event::ForgetAsked => Self::ForgetAsked,
            Event::Nudged => Self::Nudged,
            Event::Rested => Self::Rested,
            Event::ConsentAsked => Self::ConsentAsked,
            Event::Consented(yes) => Self::Consented(yes),
            Event::Corrected(correction) => Self::Corrected(correction.into()),
            Event::Confirmed(faults) => Self::Confirmed(faults),
        }
    }
}
