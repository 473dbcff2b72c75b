//! Numbers as a person says them, rounded to what is known.

use crate::quantity::{Kind, Unit};

/// A probability in words with honest rounding: never certain, never falsely precise.
#[must_use]
pub fn chance(probability: f64) -> String {
    let percent = probability * 100.0;
    if percent >= 98.5 {
        "almost certain".to_owned()
    } else if percent >= 10.0 {
        format!("about {:.0} %", (percent / 5.0).round() * 5.0)
    } else if percent >= 1.0 {
        format!("about {percent:.0} %")
    } else {
        "below 1 %".to_owned()
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
    format!("{} {}", trimmed(unit.show(value)), unit.symbol)
}

/// A range of a kind in its base unit.
#[must_use]
pub fn range(low: Option<f64>, high: Option<f64>, kind: Kind) -> String {
    let unit = Unit::base(kind).symbol;
    match (low, high) {
        (Some(low), Some(high)) => format!("{} to {} {unit}", trimmed(low), trimmed(high)),
        (Some(low), None) => format!("at least {} {unit}", trimmed(low)),
        (None, Some(high)) => format!("at most {} {unit}", trimmed(high)),
        (None, None) => format!("any number of {unit}"),
    }
}

/// At most four significant decimals, no trailing zeros.
fn trimmed(value: f64) -> String {
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
