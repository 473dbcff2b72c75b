//! Which phrases a message was read by: for those who write them.

use super::matching::{Hit, Text};
use super::scope::{Place, Scopes, Sense};
use super::statement::span;
use crate::knowledge::phrase::{Meaning, Phrases};
use serde::Serialize;

/// A phrase found in a message.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Traced {
    /// The words of the message it stands on, from the first to the last.
    pub words: String,
    /// The phrase as it is written.
    pub phrase: String,
    /// The file it stands in.
    pub file: String,
    /// What it says.
    pub means: String,
    /// Why it does not count as it stands: `negated`, `supposed`, `conditional`, `foreign`, `over`,
    /// `mended`; empty where it does.
    pub sense: Vec<&'static str>,
}

/// The phrases found in a prepared message that report something, in order.
pub(super) fn traces(
    text: &Text<'_>,
    message: &str,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
) -> Vec<Traced> {
    let traced = |hit: &Hit<'_>| {
        Some(Traced {
            words: message.get(span(text, hit)).unwrap_or_default().to_owned(),
            phrase: hit.phrase.written.clone(),
            file: file(text.phrases, hit).to_owned(),
            means: means(&hit.phrase.meaning)?,
            sense: reasons(scopes.sense(Place::of(hit))),
        })
    };
    hits.iter().filter_map(traced).collect()
}

fn file<'a>(phrases: &'a Phrases, hit: &Hit<'_>) -> &'a str {
    phrases
        .files
        .get(hit.phrase.file)
        .map_or("", String::as_str)
}

/// What is reported; none for words that only shape the meaning of others.
fn means(meaning: &Meaning) -> Option<String> {
    Some(match meaning {
        Meaning::Symptom { id, present, weak } => {
            let kind = match (present, weak) {
                (false, _) => "no symptom",
                (true, true) => "symptom in passing",
                (true, false) => "symptom",
            };
            format!("{kind} {id}")
        }
        Meaning::History(id) => format!("history {id}"),
        Meaning::Hazard { id, .. } => format!("hazard {id}"),
        Meaning::AskedAbout(id) => format!("question about {id}"),
        Meaning::System(id) => format!("system {id}"),
        Meaning::Kit(id) => format!("kit {id}"),
        Meaning::Request(id) => format!("request {id}"),
        Meaning::Outcome(id, outcome) => format!("result {id} {outcome}"),
        Meaning::Condition { gate, holds } => format!("condition {gate} {holds}"),
        Meaning::Cue(cue) => format!("cue {cue:?}"),
        Meaning::Circumstance(_)
        | Meaning::Short(..)
        | Meaning::Answer(_)
        | Meaning::Assent(_)
        | Meaning::Thing(_)
        | Meaning::Display(_)
        | Meaning::Role(_) => return None,
    })
}

fn reasons(sense: Sense) -> Vec<&'static str> {
    let all = [
        (sense.negated, "negated"),
        (sense.supposed, "supposed"),
        (sense.conditional, "conditional"),
        (sense.foreign, "foreign"),
        (sense.over, "over"),
        (sense.mended, "mended"),
    ];
    all.iter()
        .filter(|(holds, _)| *holds)
        .map(|(_, name)| *name)
        .collect()
}
