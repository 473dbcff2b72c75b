//! Questions about a reading that cannot be right as it stands: one at a time, each with its answers.

use super::number::value;
use crate::quantity::{Doubt, Kind, Missing, Raw};

/// Why a reading is questioned.
pub const WHY: &str = "The number does not fit what can be there, and a part bought on a misread meter is money lost.";
/// A number that cannot be was given twice.
pub const INSISTED: &str = "You read the same again, and it still cannot be: then the meter misleads us. Its own battery may be low, or its fuse blown; try it on something you know. I leave this check out for now.";
/// The battery rested long.
pub const RESTED_LONG: &str = "Eight hours or longer: overnight";
/// The battery rested some hours.
pub const RESTED_HOURS: &str = "Two to eight hours";
/// The battery hardly rested.
pub const RESTED_SHORT: &str = "Less than two hours";
/// The part had the temperature of the air.
pub const AS_THE_AIR: &str = "As cool as the air";
/// The part was warm.
pub const FROM_RUNNING: &str = "Still warm from running";
/// The circuit was on.
pub const LOADED: &str = "Plug on and circuit switched on";
/// The circuit was not on.
pub const UNLOADED: &str = "Plug off, or not switched on";
/// The reading is taken again.
const READ_AGAIN: &str = "No, I will measure again";
/// The reading is taken again as asked.
const WILL_DO: &str = "I will measure again";

/// The precise question a doubt calls for.
#[must_use]
pub fn question(doubt: &Doubt, raw: &Raw) -> String {
    let said = |number: f64| value(number, raw.kind, raw.unit.symbol);
    let in_base = |number: f64| value(number, raw.kind, raw.kind.unit());
    match doubt {
        Doubt::OtherKind { asked: Kind::Flow, .. } => {
            "How much came, and in what time? Tell me both, for example \"200 ml in 10 seconds\".".to_owned()
        }
        Doubt::OtherKind { asked, said } => match raw.centre() {
            Some(number) => format!(
                "That is a {}, and I asked for a {}. Did the display show {} {}, with the meter on {}?",
                name(*said), name(*asked), super::number::trimmed(raw.unit.show(number)), asked.unit(), setting(*asked)
            ),
            None => format!(
                "That tells of {}, and I asked for a {}. Set the meter to {}: what does it show?",
                name(*said), name(*asked), setting(*asked)
            ),
        },
        Doubt::OffsetDoesNotFit { .. } => {
            "What the leads alone showed does not go with this reading. Hold the two probes together on the same range: what does the meter show now?".to_owned()
        }
        Doubt::LeadsOpen => {
            "With the probes held together the meter should show nearly nothing, and it showed an open circuit: a lead is broken or not pushed in, or the meter's own fuse has blown. Try other leads, or push the plugs in: what do the leads alone show now?".to_owned()
        }
        Doubt::NegativeAfterCorrection { raw, offset } => format!(
            "Your leads alone show {}, more than the {} with the part between them. That cannot be. Hold the two probes together hard on the same range: what do the leads alone show?",
            said(*offset), said(*raw)
        ),
        Doubt::OffsetAsLargeAsReading { raw, offset } if offset >= raw => format!(
            "Your leads alone show {}, as much as the {} with the part between them: nothing is left for the part. Is that so, with the probes firmly on bright metal?",
            said(*offset), said(*raw)
        ),
        Doubt::OffsetAsLargeAsReading { raw, offset } => format!(
            "The leads take {} of the {}: next to nothing is left for the part itself. Is that so, with the probes firmly on bright metal?",
            said(*offset), said(*raw)
        ),
        Doubt::ProbesReversed { value } => format!(
            "The minus sign means that the probes are the wrong way round: red belongs on plus. Is it {} then?",
            said(value.abs())
        ),
        Doubt::LiveCircuit { value } => format!(
            "A resistance of {} cannot be: there is voltage on the part. Ignition off, part unplugged, meter on ohms: what does it show now?",
            said(*value)
        ),
        Doubt::PrefixSlip { said: given, meant } => format!(
            "{} would be far out, {} would fit. Is it {}?",
            said(*given), in_base(*meant), in_base(*meant)
        ),
        Doubt::DecimalSlip { said: given, meant } => format!(
            "{} would be far out, {} would fit. Is it {}?",
            said(*given), said(*meant), said(*meant)
        ),
        Doubt::SetToAlternating { said: given, meant } => format!(
            "{} cannot be on a 12 V bike; a meter set to alternating volts (V with a wave) shows that for about {}. Does it stand on the wave?",
            said(*given), said((meant * 10.0).round() / 10.0)
        ),
        Doubt::Implausible { said: given, plausible } => format!(
            "{} does not occur here; anything from {} to {} would. What does the display show, digit by digit, and in which unit?",
            said(*given), said(plausible.possible.0), said(plausible.possible.1)
        ),
        Doubt::LoneOne => {
            "Is that a lone 1 at the left edge of the display, with nothing after it? That means \"more than this range can show\", not the number 1.".to_owned()
        }
        Doubt::OverloadForNumber { asked } => format!(
            "The meter says \"more than this range can show\". Turn it to the next higher range of {}: what does it show there?",
            setting(*asked)
        ),
        Doubt::BeepProvesLittle { sounded, .. } => format!(
            "{} cannot settle this: a beeper only tells a wire from no wire, some up to 70 ohm. Can you turn the meter to ohms, lowest range, and give me the number?",
            if *sounded { "The beep" } else { "A missing beep" }
        ),
        Doubt::NothingToJudgeBy => {
            "I have no range to judge that number by. Does your manual give one? Type it, for example \"my manual says 1.2 to 1.8 ohm\".".to_owned()
        }
        Doubt::NotANumber => "I could not make a number of that. What does the display show, digit by digit?".to_owned(),
    }
}

/// The words on a yes, where a yes says anything, and on a no.
#[must_use]
pub fn answers(doubt: &Doubt, raw: &Raw) -> (Option<String>, &'static str) {
    let said = |number: f64| format!("Yes, {}", value(number, raw.kind, raw.unit.symbol));
    match doubt {
        Doubt::OtherKind { asked, .. } if *asked != Kind::Flow => {
            let meant = raw.centre();
            let words = meant.map(|number| {
                format!(
                    "Yes, {} {}",
                    super::number::trimmed(raw.unit.show(number)),
                    asked.unit()
                )
            });
            (words, READ_AGAIN)
        }
        Doubt::OffsetAsLargeAsReading { .. } => {
            (Some("Yes, that is what it shows".to_owned()), READ_AGAIN)
        }
        Doubt::ProbesReversed { value } => (Some(said(value.abs())), READ_AGAIN),
        Doubt::DecimalSlip { meant, .. } | Doubt::PrefixSlip { meant, .. } => {
            let stands = doubt.may_stand(raw);
            let meant = match doubt {
                Doubt::PrefixSlip { .. } => {
                    format!("Yes, {}", value(*meant, raw.kind, raw.kind.unit()))
                }
                _ => said(*meant),
            };
            (
                Some(meant),
                if stands {
                    "No, it stands as I said"
                } else {
                    READ_AGAIN
                },
            )
        }
        Doubt::SetToAlternating { .. } => (Some("Yes, on the wave".to_owned()), READ_AGAIN),
        Doubt::LoneOne => (Some("Yes, a lone 1".to_owned()), "No, the number 1"),
        Doubt::BeepProvesLittle { .. } => (
            Some("Yes, I can".to_owned()),
            "No, the beeper is all I have",
        ),
        Doubt::OtherKind { .. }
        | Doubt::OffsetDoesNotFit { .. }
        | Doubt::LeadsOpen
        | Doubt::NegativeAfterCorrection { .. }
        | Doubt::LiveCircuit { .. }
        | Doubt::Implausible { .. }
        | Doubt::OverloadForNumber { .. }
        | Doubt::NothingToJudgeBy
        | Doubt::NotANumber => (None, WILL_DO),
    }
}

/// Why words with two meanings are asked about.
pub const WHY_TWOFOLD: &str = "Your words can be read in two ways, and the verdict hangs on which.";

/// Which of two meanings it is.
#[must_use]
pub fn twofold(first: &Raw, other: &Raw) -> String {
    format!(
        "Is that {}, rather than {}?",
        super::number::display(first),
        super::number::display(other)
    )
}

/// What to do where a reading has to be taken again.
#[must_use]
pub fn again(doubt: &Doubt) -> &'static str {
    match doubt {
        Doubt::SetToAlternating { .. } => {
            "Then turn the meter to direct volts, V with a straight line, and read it again. I leave that number out."
        }
        Doubt::BeepProvesLittle { .. } => "Good: lowest range of ohms, and give me the number.",
        Doubt::LiveCircuit { .. } => {
            "Ignition off and the part unplugged first, then read it again."
        }
        _ => "Then I leave that number out. Read it again and tell me.",
    }
}

/// What is asked for where the verdict hangs on it.
#[must_use]
pub fn missing(missing: Missing) -> &'static str {
    match missing {
        Missing::Rest => {
            "How long had the battery rested when you read it: nothing on, no charger, no ride?"
        }
        Missing::Warmth => {
            "How warm was the part when you read it: as cool as the air, or still warm from running? Degrees, if you know them."
        }
        Missing::Load => {
            "When you read that, was the plug on and the circuit switched on, so that current flowed?"
        }
        Missing::Time => "In what time did that much come?",
    }
}

/// Why it is asked for.
#[must_use]
pub fn why_missing(missing: Missing) -> &'static str {
    match missing {
        Missing::Rest => {
            "Just after charging or riding a battery shows up to 0.3 V more than it will in the morning, and your number is near enough to a limit for that to decide."
        }
        Missing::Warmth => {
            "Copper has about 4 % more resistance for each 10 degrees, and the range holds at one temperature; your number is near enough to a limit for that to decide."
        }
        Missing::Load => {
            "With no current flowing a corroded joint still shows full voltage; only under load does it tell."
        }
        Missing::Time => "A volume says nothing without the time it took.",
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
