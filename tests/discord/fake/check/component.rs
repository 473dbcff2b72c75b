//! Limits of message components (Discord developer documentation, Component Reference).

use std::collections::BTreeSet;

use serde_json::Value;

use super::{Findings, list};

/// Checks the components of a message; `built` tells whether it consists of components alone.
pub fn check(found: &mut Findings, components: &Value, built: bool) {
    let all = walk(components);
    if built {
        found.must(all.len() <= 40, || {
            format!("{} components, 40 allowed", all.len())
        });
    } else {
        found.count(components, "component rows", 0..=5);
        let rows = list(components).iter().all(|row| row["type"] == 1);
        found.must(rows, || "a component outside of an action row".into());
    }
    for component in &all {
        check_one(found, component);
    }
    check_custom_ids(found, &all);
}

fn check_one(found: &mut Findings, component: &Value) {
    match component["type"].as_u64() {
        Some(1) => check_row(found, component),
        Some(2) => check_button(found, component),
        Some(3) => check_select(found, component),
        Some(5..=8) => check_range(found, component, 25),
        Some(10) => found.length(&component["content"], "text display", 1..=4000),
        Some(9 | 11..=14 | 17) => {}
        other => found.must(false, || {
            format!("component type {other:?} does not belong in a message")
        }),
    }
}

/// Up to five buttons, or one select.
fn check_row(found: &mut Findings, row: &Value) {
    let parts = list(&row["components"]);
    let buttons = parts.iter().filter(|part| part["type"] == 2).count();
    let selects = parts.len() - buttons;
    found.must(!parts.is_empty(), || "an empty action row".into());
    found.must(buttons <= 5, || {
        format!("{buttons} buttons in a row, 5 allowed")
    });
    found.must(selects <= 1 && (selects == 0 || buttons == 0), || {
        "a select shares its row".into()
    });
}

/// Component Reference, Button Structure and Button Styles.
fn check_button(found: &mut Findings, button: &Value) {
    found.length(&button["label"], "button label", 1..=80);
    let label = button["label"].is_string() || button["emoji"].is_object();
    let (id, url) = (button["custom_id"].is_string(), button["url"].is_string());
    match button["style"].as_u64() {
        Some(1..=4) => {
            found.must(label, || "a button with neither label nor emoji".into());
            found.must(id && !url, || {
                format!("button {}: custom_id and no url asked for", button["label"])
            });
        }
        Some(5) => {
            found.must(!id && url, || {
                format!(
                    "link button {}: url and no custom_id asked for",
                    button["label"]
                )
            });
            found.length(&button["url"], "button url", 1..=512);
        }
        Some(6) => found.must(!id && !url && button["sku_id"].is_string(), || {
            "premium button without sku_id alone".into()
        }),
        other => found.must(false, || format!("button style {other:?}")),
    }
}

/// Component Reference, String Select and Select Option Structure.
pub fn check_select(found: &mut Findings, select: &Value) {
    let options = list(&select["options"]);
    found.must((1..=25).contains(&options.len()), || {
        format!("{} options in a select, 1 to 25 allowed", options.len())
    });
    let mut values = BTreeSet::new();
    for option in options {
        found.must(
            option["label"].is_string() && option["value"].is_string(),
            || "option without label or value".into(),
        );
        found.length(&option["label"], "option label", 1..=100);
        found.length(&option["value"], "option value", 1..=100);
        found.length(&option["description"], "option description", 1..=100);
        found.must(values.insert(option["value"].to_string()), || {
            format!("option value {} twice", option["value"])
        });
    }
    check_range(found, select, options.len());
}

/// `min_values` and `max_values` of any select.
fn check_range(found: &mut Findings, select: &Value, most: usize) {
    found.must(select["custom_id"].is_string(), || {
        "a select without custom_id".into()
    });
    found.length(&select["placeholder"], "select placeholder", 0..=150);
    let low = select["min_values"].as_u64().unwrap_or(1);
    let high = select["max_values"].as_u64().unwrap_or(1);
    let fits = low <= high && (1..=most.max(1) as u64).contains(&high);
    found.must(fits, || {
        format!("a select of {most} options takes {low} to {high} values")
    });
}

/// 1 to 100 characters, unique in the message (Component Reference, Custom ID).
pub fn check_custom_ids(found: &mut Findings, all: &[&Value]) {
    let mut seen = BTreeSet::new();
    for id in all
        .iter()
        .map(|component| &component["custom_id"])
        .filter(|id| !id.is_null())
    {
        found.length(id, "custom_id", 1..=100);
        found.must(seen.insert(id.to_string()), || {
            format!("custom_id {id} twice in one message")
        });
    }
}

/// Every component, those inside others too, in reading order.
pub fn walk(components: &Value) -> Vec<&Value> {
    let mut all = Vec::new();
    for component in list(components) {
        all.push(component);
        all.extend(walk(&component["components"]));
        all.extend(
            ["accessory", "component"]
                .into_iter()
                .map(|name| &component[name])
                .filter(|one| one.is_object()),
        );
    }
    all
}
