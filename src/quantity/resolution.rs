//! What a yes or a no to a doubt's question makes of the reading.

use super::doubt::Doubt;
use super::plausible::plausible;
use super::reading::{Raw, Shown};
use super::unit::Unit;

/// What becomes of a reading once the rider has answered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Resolution {
    /// It stands as it was said, and is not questioned again.
    Stands,
    /// It was meant to be this.
    Is(Raw),
    /// It does not count; it has to be taken again.
    Again,
}

impl Doubt {
    /// What a yes to the question means.
    #[must_use]
    pub fn if_yes(&self, raw: &Raw) -> Resolution {
        match *self {
            Self::OtherKind { asked, .. } => as_if_said_in(asked, raw),
            Self::ProbesReversed { value } => is(value.abs(), raw),
            Self::DecimalSlip { meant, .. } => is(meant, raw),
            Self::PrefixSlip { meant, .. } => is(meant, &raw.said_in(Unit::base(raw.kind))),
            Self::LoneOne => Resolution::Is(Raw {
                shown: Shown::Overload,
                resolution: None,
                ..*raw
            }),
            Self::OffsetAsLargeAsReading { .. } => Resolution::Stands,
            Self::OffsetDoesNotFit { .. }
            | Self::LeadsOpen
            | Self::NegativeAfterCorrection { .. }
            | Self::LiveCircuit { .. }
            | Self::SetToAlternating { .. }
            | Self::Implausible { .. }
            | Self::OverloadForNumber { .. }
            | Self::BeepProvesLittle { .. }
            | Self::NothingToJudgeBy
            | Self::NotANumber => Resolution::Again,
        }
    }

    /// What a no to the question means.
    #[must_use]
    pub fn if_no(&self, raw: &Raw) -> Resolution {
        match *self {
            Self::DecimalSlip { said, .. } | Self::PrefixSlip { said, .. }
                if plausible(raw.kind).holds(said) =>
            {
                Resolution::Stands
            }
            Self::LoneOne | Self::BeepProvesLittle { .. } => Resolution::Stands,
            _ => Resolution::Again,
        }
    }

    /// Whether the rider can stand by the reading at all, rather than only take it again.
    #[must_use]
    pub fn may_stand(&self, raw: &Raw) -> bool {
        [self.if_yes(raw), self.if_no(raw)].contains(&Resolution::Stands)
    }

    /// Whether what it asks for is what the leads alone show.
    #[must_use]
    pub fn asks_for_leads(&self) -> bool {
        matches!(
            self,
            Self::OffsetDoesNotFit { .. } | Self::LeadsOpen | Self::NegativeAfterCorrection { .. }
        )
    }
}

/// The number on the display in the base unit of what was asked for: "3.4 V" for 3.4 ohm.
fn as_if_said_in(asked: super::Kind, raw: &Raw) -> Resolution {
    let Shown::Value(value) = raw.shown else {
        return Resolution::Again;
    };
    let resolution = raw.resolution.map(|step| raw.unit.show_difference(step));
    Resolution::Is(Raw::value(asked, raw.unit.show(value), resolution))
}

/// The step of the last digit moves with the point.
fn is(meant: f64, raw: &Raw) -> Resolution {
    let said = raw.centre().unwrap_or(meant);
    let moved = |step: f64| step * (meant / said).abs();
    Resolution::Is(Raw {
        shown: Shown::Value(meant),
        resolution: raw.resolution.map(moved),
        ..*raw
    })
}
