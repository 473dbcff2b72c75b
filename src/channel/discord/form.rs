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
    let said = act.field(SAID)?;
    Some(match act.field(LEADS) {
        Some(leads) => format!("{said}, and the leads alone read {leads}"),
        None => said.to_owned(),
    })
}
