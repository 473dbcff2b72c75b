//! Limits of threads and forum posts (Discord developer documentation, Channel Resource).

use serde_json::Value;

use super::{Findings, list};

/// Checks a thread's name, archive duration and tags; `forum` is null for threads outside of forums.
pub fn check(wish: &Value, forum: &Value, new: bool) -> Findings {
    let mut found = Findings::default();
    found.must(!new || wish["name"].is_string(), || {
        "a thread without name".into()
    });
    found.length(&wish["name"], "thread name", 1..=100);
    let duration = &wish["auto_archive_duration"];
    let known = duration.is_null() || matches!(duration.as_u64(), Some(60 | 1440 | 4320 | 10_080));
    found.must(known, || format!("auto_archive_duration {duration}"));
    found.count(&wish["applied_tags"], "applied_tags", 0..=5);
    for tag in list(&wish["applied_tags"]) {
        let exists = list(&forum["available_tags"])
            .iter()
            .any(|known| known["id"] == *tag);
        found.must(exists, || format!("tag {tag} does not exist in the forum"));
    }
    found
}
