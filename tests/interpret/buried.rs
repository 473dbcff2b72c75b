//! A danger reported in a few words, put at the head or the end of long stories about something else.

use fastrand::Rng;
use floatbowl::knowledge::phrase::Phrases;
use floatbowl::language::{Context, interpret};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;

/// Words of a report, at most.
const SHORT: usize = 20;
/// Words of a story, at least.
const LONG: usize = 60;
/// Of so many reports one is put into a story: some five thousand dangers, of which a share of two in a hundred
/// is known to two in a thousand.
const ONE_OF: usize = 3;

/// How many dangers were read in reports alone, and how many of those are not in a story.
pub fn count(folder: &str, phrases: &Phrases) -> (usize, usize) {
    let messages = messages(folder);
    let words = |text: &str| text.split_whitespace().count();
    let stories: Vec<&str> = messages
        .iter()
        .filter(|(text, dangers)| words(text) >= LONG && dangers.is_empty())
        .map(|(text, _)| text.as_str())
        .collect();
    let mut dice = Rng::with_seed(5);
    let (mut read, mut lost) = (0, 0);
    for (report, dangers) in &messages {
        if dangers.is_empty() || words(report) > SHORT || dice.usize(..ONE_OF) > 0 {
            continue;
        }
        let [one, other] =
            [dice.choice(&stories), dice.choice(&stories)].map(|it| it.expect("stories"));
        let story = if dice.bool() {
            format!("{one} {other}\n{report}")
        } else {
            format!("{report}.\n{one} {other}")
        };
        let inside = dangers_of(&story, phrases);
        let alone = dangers_of(report, phrases);
        let told: Vec<&String> = dangers.intersection(&alone).collect();
        read += told.len();
        lost += told
            .iter()
            .filter(|danger| !inside.contains(**danger))
            .count();
    }
    (read, lost)
}

fn dangers_of(text: &str, phrases: &Phrases) -> BTreeSet<String> {
    let said = interpret(text, &Context::default(), phrases).hazards;
    said.iter().map(|said| said.what.to_string()).collect()
}

/// Every message that is labelled for its dangers, with them, in order of the files.
fn messages(folder: &str) -> Vec<(String, BTreeSet<String>)> {
    let files = fs::read_dir(folder).expect("the corpus folder");
    let mut paths: Vec<_> = files.map(|file| file.expect("a file").path()).collect();
    paths.sort();
    let mut messages = Vec::new();
    for path in paths {
        for line in fs::read_to_string(path).expect("readable").lines() {
            let label: Value = serde_json::from_str(line).unwrap_or_default();
            let only = label["only"].as_array();
            let judged = only.is_none_or(|only| only.iter().any(|field| field == "hazards"));
            if let Some(text) = label["text"].as_str().filter(|_| judged) {
                let dangers = label["hazards"].as_array().into_iter().flatten();
                let dangers = dangers.filter_map(|id| id.as_str().map(str::to_owned));
                messages.push((text.to_owned(), dangers.collect()));
            }
        }
    }
    messages
}
