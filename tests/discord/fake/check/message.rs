//! Limits of a message (Discord developer documentation, Message Resource) and whom it may ring for.

use std::collections::BTreeSet;

use serde_json::Value;

use super::{Findings, component, embed, list};
use crate::fake::call::File;
use crate::fake::world::number;

/// Flag of a message that is built from components alone.
pub const COMPONENTS_V2: u64 = 1 << 15;

/// Whether a message is new or changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Created.
    New,
    /// Edited: what is not told stays as it was.
    Edit,
}

/// Checks a message that is created or edited.
pub fn check(body: &Value, files: &[File], stage: Stage) -> Findings {
    let mut found = Findings::default();
    found.must(body.is_object(), || "the message is not an object".into());
    found.length(&body["content"], "content", 0..=2000);
    found.length(&body["nonce"], "nonce", 1..=25);
    let flags = body["flags"].as_u64().unwrap_or(0);
    let built = flags & COMPONENTS_V2 != 0;
    check_filled(&mut found, body, files, stage, built);
    embed::check(&mut found, &body["embeds"]);
    component::check(&mut found, &body["components"], built);
    check_attachments(&mut found, body, files);
    check_mentions(&mut found, body);
    found
}

/// A new message says something; an edit does not empty it (Message Resource, Create Message).
fn check_filled(found: &mut Findings, body: &Value, files: &[File], stage: Stage, built: bool) {
    let says = |field: &str| match &body[field] {
        Value::String(text) => !text.trim().is_empty(),
        Value::Array(items) => !items.is_empty(),
        other => !other.is_null(),
    };
    let filled = ["content", "embeds", "components", "sticker_ids", "poll"]
        .into_iter()
        .any(says);
    let emptied = body.get("content").is_some_and(|text| text == "")
        && body["embeds"] == Value::Array(Vec::new());
    found.must(stage == Stage::Edit || filled || !files.is_empty(), || {
        "an empty message".into()
    });
    let still = filled || !files.is_empty() || says("attachments");
    found.must(stage == Stage::New || !emptied || still, || {
        "an edit empties the message".into()
    });
    let old_fields = says("content") || says("embeds") || says("poll") || says("sticker_ids");
    found.must(!built || !old_fields, || {
        "components V2 together with content, embeds, poll or stickers".into()
    });
}

/// Files have an entry, pictures have a text for those who cannot see them (Message Resource, Attachment
/// Structure; Uploading Files in the API Reference).
fn check_attachments(found: &mut Findings, body: &Value, files: &[File]) {
    let entries = list(&body["attachments"]);
    found.must(files.len() <= 10, || {
        format!("{} files, 10 allowed", files.len())
    });
    found.must(
        files.iter().map(|file| file.bytes.len()).sum::<usize>() <= 10 << 20,
        || "more than 10 MiB of files".into(),
    );
    for entry in entries {
        found.length(
            &entry["description"],
            "description of an attachment",
            0..=1024,
        );
    }
    let distinct: BTreeSet<_> = files.iter().map(|file| file.index).collect();
    found.must(distinct.len() == files.len(), || {
        "two files with one index".into()
    });
    for file in files {
        let own = |entry: &&Value| number(&entry["id"]) == Some(file.index);
        let told = entries
            .iter()
            .find(own)
            .and_then(|entry| entry["description"].as_str())
            .unwrap_or_default();
        found.must(!file.name.is_empty() && !file.bytes.is_empty(), || {
            format!("file {} without name or content", file.index)
        });
        found.should(!file.is_image() || !told.trim().is_empty(), || {
            format!("picture {:?} has no description", file.name)
        });
    }
}

/// Whom it may ring for is told, and is nobody but single people (Message Resource, Allowed Mentions; that it
/// must be told, and that groups are never rung, are this project's own rules).
fn check_mentions(found: &mut Findings, body: &Value) {
    let content = body["content"].as_str().unwrap_or_default();
    let allowed = &body["allowed_mentions"];
    found.should(content.is_empty() || allowed.is_object(), || {
        "content without allowed_mentions".into()
    });
    let parse: Vec<_> = list(&allowed["parse"])
        .iter()
        .filter_map(Value::as_str)
        .collect();
    for kind in &parse {
        found.should(*kind == "users", || {
            format!("allowed_mentions lets {kind} be rung")
        });
    }
    found.should(list(&allowed["roles"]).is_empty(), || {
        "allowed_mentions lets roles be rung".into()
    });
    check_users(found, allowed, content);
    let both = parse.contains(&"users") && !list(&allowed["users"]).is_empty();
    found.must(!both, || {
        "allowed_mentions has both parse users and users".into()
    });
}

/// No more users than the content names.
fn check_users(found: &mut Findings, allowed: &Value, content: &str) {
    let users: BTreeSet<_> = list(&allowed["users"]).iter().filter_map(number).collect();
    found.must(users.len() <= 100, || {
        format!("{} users in allowed_mentions, 100 allowed", users.len())
    });
    for user in users.difference(&mentioned(content)) {
        found.should(false, || {
            format!("allowed_mentions allows {user}, whom the content does not name")
        });
    }
}

/// Users a text names.
pub fn mentioned(content: &str) -> BTreeSet<u64> {
    let pieces = content.split("<@").skip(1);
    let id = |piece: &str| {
        piece
            .strip_prefix('!')
            .unwrap_or(piece)
            .split_once('>')?
            .0
            .parse()
            .ok()
    };
    pieces.filter_map(id).collect()
}

/// Users a message rings for.
pub fn rung(body: &Value) -> Vec<u64> {
    let named = mentioned(body["content"].as_str().unwrap_or_default());
    let allowed = &body["allowed_mentions"];
    let all = allowed.is_null() || list(&allowed["parse"]).iter().any(|kind| kind == "users");
    let users: BTreeSet<_> = list(&allowed["users"]).iter().filter_map(number).collect();
    named
        .into_iter()
        .filter(|user| all || users.contains(user))
        .collect()
}
