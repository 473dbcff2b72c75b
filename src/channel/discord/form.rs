//! The forms: a reading with its unit and leads, or an answer in words.

use super::custom_id::CustomId;
use super::event::Interaction;
use super::words;
use crate::knowledge::model::ObservationKind;
use crate::quantity::Kind;
use crate::reply::Reply;
use serde_json::{Value, json};

/// The field for what the meter shows, or for the answer.
const SAID: &str = "said";
/// The field for the unit.
const UNIT: &str = "unit";
/// The field for the leads alone.
const LEADS: &str = "leads";
/// A field of one line.
const LINE: u8 = 1;
/// A field of several lines.
const LINES: u8 = 2;
/// The most that can be typed into a field we show.
const MOST: u16 = 1000;

/// The form for the answer to a reply.
///
/// In the old shape, with fields in rows: the library cannot read the new one back. The form is a
/// convenience; everything can be said in a message too.
#[must_use]
pub fn form(reply: &Reply) -> Value {
    let measured = reply
        .asks
        .iter()
        .find(|ask| ask.kind == ObservationKind::Measurement);
    let id = CustomId::Filled { turn: reply.turn }.to_string();
    let Some(ask) = measured else {
        let field = field(SAID, words::ANSWER_FIELD, LINES, true, "");
        return json!({"custom_id": id, "title": words::ANSWER_FORM, "components": [field]});
    };
    let example = ask.quantity.map_or("", words::example);
    let mut fields = vec![field(SAID, words::READING_FIELD, LINE, true, example)];
    if let Some(kind) = ask.quantity {
        let mut unit = field(UNIT, words::UNIT_FIELD, LINE, false, "");
        unit["components"][0]["value"] = kind.unit().into();
        fields.push(unit);
    }
    if ask.quantity == Some(Kind::Resistance) {
        fields.push(field(LEADS, words::LEADS_FIELD, LINE, false, "0.3 ohm"));
    }
    json!({"custom_id": id, "title": words::READING_FORM, "components": fields})
}

fn field(id: &str, label: &str, style: u8, required: bool, example: &str) -> Value {
    json!({"type": 1, "components": [{
        "type": 4,
        "custom_id": id,
        "label": label,
        "style": style,
        "required": required,
        "placeholder": example,
        "max_length": MOST,
    }]})
}

/// What was filled in, as a rider would have typed it.
#[must_use]
pub fn filled(act: &Interaction) -> Option<String> {
    let said = with_unit(act.field(SAID)?, act.field(UNIT));
    Some(match act.field(LEADS) {
        Some(leads) => format!("{said}, and the leads alone read {leads}"),
        None => said,
    })
}

/// The unit after a bare number; whoever typed one with the number, or words, meant that.
fn with_unit(said: &str, unit: Option<&str>) -> String {
    let bare = said
        .chars()
        .all(|c| c.is_ascii_digit() || ".,- ".contains(c));
    match unit {
        Some(unit) if bare => format!("{said} {unit}"),
        _ => said.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("12.4", Some("V"), "12.4 V")]
    #[case("0,3", Some("ohm"), "0,3 ohm")]
    #[case("340 mV", Some("V"), "340 mV")]
    #[case("OL", Some("ohm"), "OL")]
    #[case("12.4", None, "12.4")]
    fn a_bare_number_takes_the_unit(
        #[case] said: &str,
        #[case] unit: Option<&str>,
        #[case] expected: &str,
    ) {
        assert_eq!(with_unit(said, unit), expected);
    }
}
