//! Limits of embeds (Discord developer documentation, Message Resource, Embed Limits).

use serde_json::Value;

use super::{Findings, list};

/// Characters over all embeds of a message.
const SUM: usize = 6000;

/// Checks the embeds of a message.
pub fn check(found: &mut Findings, embeds: &Value) {
    found.count(embeds, "embeds", 0..=10);
    for embed in list(embeds) {
        found.length(&embed["title"], "embed title", 0..=256);
        found.length(&embed["description"], "embed description", 0..=4096);
        found.length(&embed["footer"]["text"], "embed footer", 0..=2048);
        found.length(&embed["author"]["name"], "embed author", 0..=256);
        found.count(&embed["fields"], "embed fields", 0..=25);
        for field in list(&embed["fields"]) {
            found.must(
                field["name"].is_string() && field["value"].is_string(),
                || "embed field without name or value".into(),
            );
            found.length(&field["name"], "embed field name", 1..=256);
            found.length(&field["value"], "embed field value", 1..=1024);
        }
    }
    let sum: usize = list(embeds).iter().map(size).sum();
    found.must(sum <= SUM, || {
        format!("embeds have {sum} characters together, {SUM} allowed")
    });
}

fn size(embed: &Value) -> usize {
    let count = |value: &Value| value.as_str().map_or(0, |text| text.chars().count());
    let fields: usize = list(&embed["fields"])
        .iter()
        .map(|field| count(&field["name"]) + count(&field["value"]))
        .sum();
    let rest = [
        &embed["title"],
        &embed["description"],
        &embed["footer"]["text"],
        &embed["author"]["name"],
    ];
    fields + rest.into_iter().map(count).sum::<usize>()
}
