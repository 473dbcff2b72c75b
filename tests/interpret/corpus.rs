//! Labelled messages: one JSON object a line, with the text and only the fields that are not empty.
//!
//! The first line of a file names the floor: `{"floor": 0.9}`. A message counts as right when every
//! field of the interpretation equals its label, fields not labelled being empty. A label may say
//! `only` for the fields it is about, and name under `either` ids that may be reported or not, since
//! people who know the trade would differ (`-` before a complaint said not to be there). `told` names, by
//! label, the words of the message that tell it ("not" before what is denied); tables and networks are
//! learned from it.

use super::tally::{COUNTED, Tally, ids};
use floatbowl::knowledge::phrase::Phrases;
use floatbowl::language::{Line, Report, interpret};
use serde_json::{Map, Value, json};
use std::fmt;
use std::fs;

/// How one feature did.
#[derive(Debug)]
pub struct Score {
    feature: String,
    right: u32,
    all: u32,
    /// Share that must be right.
    pub floor: f64,
}

impl Score {
    /// Share of messages read exactly as labelled.
    pub fn share(&self) -> f64 {
        f64::from(self.right) / f64::from(self.all.max(1))
    }
}

impl fmt::Display for Score {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            feature,
            right,
            all,
            floor,
        } = self;
        write!(
            f,
            "{feature:24} {right:4} of {all:4}  {:.3} (floor {floor:.2})",
            self.share()
        )
    }
}

/// Which messages of the corpus are scored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Those that tables are learned from and phrases written for.
    Learned,
    /// Those kept apart, in files named `unseen-`.
    Unseen,
}

/// Scores the files of a folder that are of that part, in order of name.
pub fn score_all(folder: &str, part: Part, phrases: &Phrases, tally: &mut Tally) -> Vec<Score> {
    let mut paths: Vec<_> = fs::read_dir(folder)
        .expect("the corpus folder")
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.extension().is_some_and(|end| end == "jsonl"))
        .filter(|path| {
            let unseen = path.file_name().is_some_and(|name| {
                let name = name.to_string_lossy();
                name.starts_with("unseen-")
            });
            unseen == (part == Part::Unseen)
        })
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let feature = path
                .file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            score(
                feature,
                &fs::read_to_string(path).expect("readable"),
                phrases,
                tally,
            )
        })
        .collect()
}

fn score(feature: String, text: &str, phrases: &Phrases, tally: &mut Tally) -> Score {
    let mut score = Score {
        feature,
        right: 0,
        all: 0,
        floor: 1.0,
    };
    for (number, line) in text
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
    {
        let label: Map<String, Value> = serde_json::from_str(line)
            .unwrap_or_else(|bad| panic!("{} line {}: {bad}", score.feature, number + 1));
        if let Some(floor) = label.get("floor") {
            score.floor = floor.as_f64().expect("a number");
            continue;
        }
        score.all += 1;
        if is_right(&label, phrases, tally) {
            score.right += 1;
        }
    }
    score
}

fn is_right(label: &Map<String, Value>, phrases: &Phrases, tally: &mut Tally) -> bool {
    let input = json!({
        "text": label["text"],
        "expecting": label.get("expecting"),
        "system": label.get("given"),
    });
    let line = Line::parse(&input.to_string()).expect("a line of input");
    let read = Report::from(&interpret(&line.text, &line.context(), phrases));
    let read = serde_json::to_value(&read).expect("plain data");
    let fields = read.as_object().expect("an object");
    let either = label.get("either").unwrap_or(&Value::Null);
    for field in COUNTED.into_iter().filter(|field| judged(label, field)) {
        let wanted = label.get(field).unwrap_or(&Value::Null);
        tally.count(field, &fields[field], wanted, either);
    }
    let wrong: Vec<String> = fields
        .iter()
        .filter(|(name, _)| judged(label, name))
        .filter(|(name, got)| {
            let wanted = label.get(*name);
            !same(name, got, wanted) && !same_but_for(either, got, wanted.unwrap_or(&Value::Null))
        })
        .map(|(name, got)| {
            format!(
                "  {name}: {got}, not {}",
                label.get(name).unwrap_or(&Value::Null)
            )
        })
        .collect();
    if !wrong.is_empty() && std::env::var_os("MISSES").is_some() {
        println!("{}\n{}", label["text"], wrong.join("\n"));
    }
    wrong.is_empty()
}

/// Whether two lists differ only in ids that may be reported or not.
fn same_but_for(either: &Value, got: &Value, label: &Value) -> bool {
    let (either, got, label) = (ids(either), ids(got), ids(label));
    !either.is_empty()
        && got
            .symmetric_difference(&label)
            .all(|id| either.contains(id))
}

/// `only` names the fields that a message is judged on; without it, all are.
fn judged(label: &Map<String, Value>, name: &str) -> bool {
    let only = label.get("only").and_then(Value::as_array);
    only.is_none_or(|only| only.iter().any(|field| field == name))
}

fn same(name: &str, got: &Value, label: Option<&Value>) -> bool {
    match (name, label) {
        (_, None) => got.is_null() || got.as_array().is_some_and(Vec::is_empty),
        ("readings", Some(label)) => same_readings(got, label),
        ("spec", Some(label)) => same_fields(got, label),
        (_, Some(label)) => match (got.as_array(), label.as_array()) {
            (Some(got), Some(label)) => {
                got.len() == label.len() && got.iter().all(|one| label.contains(one))
            }
            _ => got == label,
        },
    }
}

fn same_readings(got: &Value, label: &Value) -> bool {
    let (Some(got), Some(label)) = (got.as_array(), label.as_array()) else {
        return false;
    };
    got.len() == label.len()
        && got
            .iter()
            .zip(label)
            .all(|(got, label)| same_fields(got, label))
}

/// Every labelled field agrees, numbers to one part in a million; what is not labelled is null.
///
/// `of` counts only where it is, or should be, the leads.
fn same_fields(got: &Value, label: &Value) -> bool {
    let Some(got) = got.as_object() else {
        return got == label;
    };
    got.iter()
        .all(|(name, got)| match (name.as_str(), label.get(name)) {
            ("unit", None) => true,
            ("of", label) => (got == "leads") == label.is_some_and(|label| label == "leads"),
            (_, label) => match (got.as_f64(), label.and_then(Value::as_f64)) {
                (Some(got), Some(label)) => (got - label).abs() <= 1e-6 * label.abs().max(1e-9),
                _ => *got == *label.unwrap_or(&Value::Null),
            },
        })
}
