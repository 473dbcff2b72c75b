//! The words in and beside a picture.

use crate::reply::{Judged, Trail};

/// Over the part that is meant.
pub const HERE: &str = "HERE";

/// A path, described.
#[must_use]
pub fn trail(trail: &Trail) -> String {
    let here = trail.parts.get(trail.at).map_or("", String::as_str);
    format!(
        "The {} in order: {}. This step is at the {here}.",
        trail.path.to_lowercase(),
        trail.parts.join(", ")
    )
}

/// A value as it is written beside a stroke: three digits that count, the unit after it.
#[must_use]
pub fn value(value: f64, unit: &str) -> String {
    format!("{} {unit}", number(value))
}

/// Three significant digits, without an empty end.
fn number(value: f64) -> String {
    let size = value.abs();
    let places = if size >= 100.0 || size == 0.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else {
        3
    };
    let text = format!("{value:.places$}");
    if places > 0 {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A reading on its scale, described.
#[must_use]
pub fn alt(reading: f64, judged: &Judged) -> String {
    let unit = judged.unit;
    let range = match (judged.low, judged.high) {
        (Some(low), Some(high)) => format!("{} to {}", number(low), value(high, unit)),
        (Some(low), None) => format!("from {} up", value(low, unit)),
        (None, Some(high)) => format!("up to {}", value(high, unit)),
        (None, None) => "unknown".to_owned(),
    };
    let lies = if judged.low.is_some_and(|low| reading < low) {
        "below"
    } else if judged.high.is_some_and(|high| reading > high) {
        "above"
    } else {
        "within"
    };
    format!(
        "A scale. The reading, {}, lies {lies} the range {range}.",
        value(reading, unit)
    )
}
