//! Questions about a reading that cannot be right as it stands.

use super::number::value;
use crate::quantity::{Doubt, Kind};

/// The precise question a doubt calls for.
#[must_use]
pub fn question(doubt: &Doubt, kind: Kind, unit: &str) -> String {
    let said = |number: f64| value(number, kind, unit);
    match doubt {
        Doubt::OtherKind { asked, said } => format!(
            "That is a {}, and I asked for a {}. Is the meter set to {}? Please set it as described and read it again.",
            name(*said), name(*asked), setting(*asked)
        ),
        Doubt::OffsetDoesNotFit { .. } => {
            "What the leads alone showed was in another unit. Hold the two probes together on the same range, and tell me what the meter shows.".to_owned()
        }
        Doubt::LeadsOpen => {
            "With the probes held together the meter should show nearly nothing, and it shows an open circuit. A lead is broken or not pushed in, or the meter's own fuse has blown. Try other leads, then read again.".to_owned()
        }
        Doubt::NegativeAfterCorrection { raw, offset } => format!(
            "Your leads alone show {}, more than the {} with the part between them. That cannot be. Please hold the probes together hard and read both again on the same range.",
            said(*offset), said(*raw)
        ),
        Doubt::OffsetAsLargeAsReading { raw, offset } => format!(
            "The leads take {} of the {}: next to nothing is left for the part itself. Is that so, with the probes firmly on bright metal?",
            said(*offset), said(*raw)
        ),
        Doubt::ProbesReversed { value } => format!(
            "A minus sign means that the probes are the wrong way round: red goes to plus. Is it {} then?",
            said(value.abs())
        ),
        Doubt::LiveCircuit { value } => format!(
            "A resistance of {} cannot be: there is voltage on the part. Switch the ignition off, unplug the part, and measure again.",
            said(*value)
        ),
        Doubt::DecimalSlip { said: given, meant } | Doubt::PrefixSlip { said: given, meant } => format!(
            "{} would be far out, {} would fit. Does it really show {}?",
            said(*given), said(*meant), said(*given)
        ),
        Doubt::SetToAlternating { said: given, meant } => format!(
            "{} looks like a meter set to alternating volts (V with a wave); on direct volts (V with a straight line) it would be about {}. Does it stand on direct volts?",
            said(*given), said(*meant)
        ),
        Doubt::Implausible { said: given, plausible } => format!(
            "{} does not occur here; anything from {} to {} would. What does the display show, digit by digit, and in which unit?",
            said(*given), said(plausible.possible.0), said(plausible.possible.1)
        ),
        Doubt::LoneOne => {
            "Is that the number 1 with the range's zeros, or a lone 1 at the left edge of the display? A lone 1 means \"more than this range can show\". Is it the number 1?".to_owned()
        }
        Doubt::OverloadForNumber { asked } => format!(
            "The meter says \"more than this range can show\". Turn it to the next higher range of {}, and read again.",
            setting(*asked)
        ),
        Doubt::BeepProvesLittle { sounded, .. } => format!(
            "The {} cannot settle this: it only tells a wire from no wire. Turn the meter to ohms (the lowest range) and give me the number. Can you?",
            if *sounded { "beep" } else { "missing beep" }
        ),
        Doubt::NothingToJudgeBy => {
            "I have no range to judge that number by. Does your manual give one? Type it, for example \"my manual says 1.2 to 1.8 ohm\".".to_owned()
        }
        Doubt::NotANumber => "I could not make a number of that. What does the display show, digit by digit?".to_owned(),
    }
}

/// A kind of quantity as a rider says it.
#[must_use]
pub fn name(kind: Kind) -> &'static str {
    match kind {
        Kind::Voltage => "voltage",
        Kind::Resistance => "resistance",
        Kind::Current => "current",
        Kind::Volume => "volume",
        Kind::Flow => "flow",
        Kind::Pressure => "pressure",
        Kind::Duration => "time",
        Kind::Temperature => "temperature",
        Kind::Speed => "engine speed",
    }
}

fn setting(kind: Kind) -> &'static str {
    match kind {
        Kind::Voltage => "direct volts (V with a straight line)",
        Kind::Resistance => "ohms",
        Kind::Current => "amperes",
        Kind::Volume | Kind::Flow => "volume",
        Kind::Pressure => "pressure",
        Kind::Duration => "time",
        Kind::Temperature => "temperature",
        Kind::Speed => "engine speed",
    }
}
