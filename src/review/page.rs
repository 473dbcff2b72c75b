//! A transcript as Markdown.

use super::queue::Mark;
use super::transcript::{Seen, Transcript};
use std::fmt::Write as _;

/// A transcript as a page of Markdown.
#[must_use]
pub fn page(transcript: &Transcript, marks: &[Mark]) -> String {
    let mut page = format!("# Conversation {}\n\n", transcript.id);
    let opened = transcript.opened.strftime("%Y-%m-%d %H:%M");
    let system = transcript
        .system
        .as_ref()
        .map_or("unknown", |id| id.as_str());
    row(&mut page, "opened", &opened.to_string());
    row(&mut page, "status", &word(&transcript.status));
    row(&mut page, "system", system);
    row(&mut page, "knowledge", &transcript.knowledge);
    let marks: Vec<String> = marks.iter().map(word).collect();
    row(&mut page, "marks", &list(&marks));
    let consent = match transcript.consent {
        Some(true) => "yes",
        Some(false) => "no",
        None => "not given",
    };
    row(&mut page, "consent", consent);
    if let Some(faults) = &transcript.confirmed {
        let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
        row(&mut page, "confirmed", &list(&faults));
    }
    for seen in &transcript.turns {
        turn(&mut page, seen);
    }
    page
}

fn row(page: &mut String, name: &str, value: &str) {
    writeln!(page, "- {name}: {value}").expect("a string takes all");
}

fn list(items: &[String]) -> String {
    if items.is_empty() {
        "none".to_owned()
    } else {
        items.join(", ")
    }
}

/// The word that stands for a value in JSON.
fn word(value: &impl serde::Serialize) -> String {
    let value = serde_json::to_value(value).unwrap_or_default();
    value.as_str().unwrap_or_default().to_owned()
}

fn turn(page: &mut String, seen: &Seen) {
    let at = seen.at.strftime("%Y-%m-%d %H:%M");
    let mut add = |text: String| page.push_str(&text);
    add(format!("\n## {} ({at})\n\n", seen.turn));
    if let Some(text) = &seen.text {
        add(format!("{}\n\n", quoted(text)));
    }
    if let Some(picked) = &seen.picked {
        add(format!("> (picked) {picked}\n\n"));
    }
    let suspects: Vec<String> = seen
        .suspects
        .iter()
        .map(|suspect| format!("{} {:.2}", suspect.fault, suspect.probability))
        .collect();
    let hazards: Vec<String> = seen.hazards.iter().map(ToString::to_string).collect();
    let conflict: Vec<String> = seen.conflict.iter().map(ToString::to_string).collect();
    let corrections: Vec<String> = seen.corrections.iter().map(correction).collect();
    for (name, items) in [
        ("understood", &seen.understood),
        ("not understood", &seen.left_over),
        ("judged", &seen.verdicts),
        ("suspects", &suspects),
        ("dangers", &hazards),
        ("contradicts the others", &conflict),
        ("correction", &corrections),
    ] {
        if !items.is_empty() {
            add(format!("- {name}: {}\n", items.join("; ")));
        }
    }
    let step = seen.step.id.as_deref().unwrap_or_default();
    add(format!("- then: {} {step}\n\n", word(&seen.step.kind)));
    add(format!("{}\n", seen.answer));
}

fn quoted(text: &str) -> String {
    let lines: Vec<String> = text.lines().map(|line| format!("> {line}")).collect();
    lines.join("\n")
}

fn correction(corrected: &super::transcript::Corrected) -> String {
    let meant: Vec<String> = corrected
        .meant
        .iter()
        .map(|(observation, outcome)| format!("{observation} = {outcome}"))
        .collect();
    let note = corrected.note.trim();
    if note.is_empty() {
        meant.join(", ")
    } else {
        format!("{} ({note})", list(&meant))
    }
}
