//! Limits of a modal (Discord developer documentation, Receiving and Responding, Modal; Component Reference,
//! Text Input and Label).

use serde_json::Value;

use super::component::{check_custom_ids, check_select, walk};
use super::{Findings, list};

/// Checks a modal in either layout: inputs in action rows (older) or in labels.
pub fn check(modal: &Value) -> Findings {
    let mut found = Findings::default();
    found.must(
        modal["title"].is_string() && modal["custom_id"].is_string(),
        || "modal without title or custom_id".into(),
    );
    found.length(&modal["title"], "modal title", 1..=45);
    found.length(&modal["custom_id"], "modal custom_id", 1..=100);
    let parts = list(&modal["components"]);
    found.must((1..=5).contains(&parts.len()), || {
        format!("{} components in a modal, 1 to 5 allowed", parts.len())
    });
    for part in parts {
        match part["type"].as_u64() {
            Some(1) => check_row(&mut found, part),
            Some(18) => check_label(&mut found, part),
            Some(10) => {}
            other => found.must(false, || {
                format!("component type {other:?} at the top of a modal")
            }),
        }
    }
    check_custom_ids(&mut found, &walk(&modal["components"]));
    found
}

fn check_row(found: &mut Findings, row: &Value) {
    let inputs = list(&row["components"]);
    found.must(inputs.len() == 1 && inputs[0]["type"] == 4, || {
        "a modal row holds one text input".into()
    });
    for input in inputs {
        found.must(input["label"].is_string(), || {
            "a text input without label".into()
        });
        found.length(&input["label"], "input label", 1..=45);
        check_input(found, input);
    }
}

fn check_label(found: &mut Findings, label: &Value) {
    found.must(label["label"].is_string(), || "a label without text".into());
    found.length(&label["label"], "label", 1..=45);
    found.length(&label["description"], "label description", 1..=100);
    let inner = &label["component"];
    match inner["type"].as_u64() {
        Some(4) => check_input(found, inner),
        Some(3) => check_select(found, inner),
        Some(5..=8 | 19 | 21..=23) => found.must(inner["custom_id"].is_string(), || {
            "a labelled part without custom_id".into()
        }),
        other => found.must(false, || format!("component type {other:?} in a label")),
    }
}

fn check_input(found: &mut Findings, input: &Value) {
    found.must(input["custom_id"].is_string(), || {
        "a text input without custom_id".into()
    });
    found.must(matches!(input["style"].as_u64(), Some(1 | 2)), || {
        "a text input without style".into()
    });
    found.length(&input["placeholder"], "input placeholder", 0..=100);
    found.length(&input["value"], "input value", 0..=4000);
    let low = input["min_length"].as_u64().unwrap_or(0);
    let high = input["max_length"].as_u64().unwrap_or(4000);
    found.must(low <= high && (1..=4000).contains(&high), || {
        format!("a text input takes {low} to {high} characters")
    });
}
