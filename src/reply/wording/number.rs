//! Numbers as a person says them, rounded to what is known.

use crate::quantity::number::{decimals_of, fixed, shortest};
use crate::quantity::{Kind, Raw, Shown, Unit};

/// A probability in words with honest rounding: never certain, never falsely precise.
#[must_use]
pub fn chance(probability: f64) -> String {
    let percent = probability * 100.0;
    if percent >= 97.5 {
        "almost certain".to_owned()
    } else if percent >= 10.0 {
        format!("about {:.0} %", (percent / 5.0).round() * 5.0)
    } else if percent >= 1.0 {
        format!("about {percent:.0} %")
    } else {
        "below 1 %".to_owned()
    }
}

/// A fault as it is held to be there, with how sure that is.
#[must_use]
pub fn held(fault: &str, probability: f64) -> String {
    let chance = chance(probability);
    if probability >= 0.5 {
        format!("I take it that {fault} ({chance}).")
    } else {
        format!("It may be that {fault} ({chance}).")
    }
}

/// Minutes, rounded as a person would.
#[must_use]
pub fn minutes(minutes: f64) -> String {
    let rounded = if minutes < 10.0 {
        minutes.ceil()
    } else {
        (minutes / 5.0).round() * 5.0
    };
    if rounded <= 1.0 {
        "about a minute".to_owned()
    } else {
        format!("about {rounded:.0} minutes")
    }
}

/// A value of a kind in the unit the rider speaks in.
#[must_use]
pub fn value(value: f64, kind: Kind, unit: &str) -> String {
    let unit = Unit::named(unit)
        .filter(|unit| unit.kind() == Some(kind))
        .unwrap_or_else(|| Unit::base(kind));
    format!(
        "{} {}",
        trimmed(unit.show(value)).replace('-', "−"),
        unit.symbol
    )
}

/// A display as the rider gave it, digits and unit; words where it was no number.
#[must_use]
pub fn display(raw: &Raw) -> String {
    let symbol = raw.unit.symbol;
    let step = raw.resolution.map(|step| raw.unit.show_difference(step));
    let number = |value: f64| {
        let value = raw.unit.show(value);
        fixed(value, decimals_of(value, step))
    };
    match raw.shown {
        Shown::Value(value) => format!("{} {symbol}", number(value)),
        Shown::Between {
            low: Some(low),
            high: Some(high),
        } => format!("{} to {} {symbol}", number(low), number(high)),
        Shown::Between {
            low: Some(low),
            high: None,
        } => format!("{} {symbol} or more", number(low)),
        Shown::Between {
            low: None,
            high: Some(high),
        } => format!("{} {symbol} or less", number(high)),
        Shown::Between {
            low: None,
            high: None,
        } => "no number".to_owned(),
        Shown::Overload => "OL (more than the range can show)".to_owned(),
        Shown::Beep => "the beeper sounds".to_owned(),
        Shown::NoBeep => "the beeper stays silent".to_owned(),
    }
}

/// A range in some unit.
#[must_use]
pub fn range(low: Option<f64>, high: Option<f64>, unit: &str) -> String {
    match (low.map(shortest), high.map(shortest)) {
        (Some(low), Some(high)) if low == high => format!("{low} {unit}"),
        (Some(low), Some(high)) => format!("{low} to {high} {unit}"),
        (Some(low), None) => format!("at least {low} {unit}"),
        (None, Some(high)) => format!("at most {high} {unit}"),
        (None, None) => format!("any number of {unit}"),
    }
}

/// At most four decimals, no trailing zeros.
#[must_use]
pub fn trimmed(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Items as a person lists them: "a, b and c".
#[must_use]
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_never_falsely_precise() {
        let said: Vec<String> = [0.999, 0.932, 0.12, 0.034, 0.0004].map(chance).into();
        assert_eq!(
            said,
            [
                "almost certain",
                "about 95 %",
                "about 10 %",
                "about 3 %",
                "below 1 %"
            ]
        );
    }

    #[test]
    fn lists_end_in_and() {
        let items = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(list(&items), "a, b and c");
    }
}
