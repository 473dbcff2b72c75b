//! Answers to "where is the relay?" and "what is a petcock?": where a part sits and what it looks like.

use super::hear::spelled;
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::Part;

/// Parts told of at once.
const MOST: usize = 2;

/// The parts of the rider's fuel system that a message names; of all systems, while it is not known.
#[must_use]
pub fn named<'a>(state: &State, knowledge: &'a Knowledge, text: &str) -> Vec<&'a Part> {
    let words = spelled(text);
    let parts: Vec<&Part> = knowledge
        .parts
        .values()
        .filter(|part| is_of(state, knowledge, part))
        .collect();
    let mut found: Vec<&Part> = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let begun = |part: &&'a Part| longest(part, &words[at..]);
        let most = parts.iter().map(begun).max().unwrap_or(0);
        let here = parts.iter().filter(|part| most > 0 && begun(part) == most);
        for part in here {
            if !found.iter().any(|other| other.id == part.id) {
                found.push(part);
            }
        }
        at += most.max(1);
    }
    found.truncate(MOST);
    found
}

fn is_of(state: &State, knowledge: &Knowledge, part: &Part) -> bool {
    let system = state.system.as_ref();
    let system = system.and_then(|id| knowledge.systems.get(id));
    system.is_none_or(|system| {
        let on_paths = system.path.iter().flat_map(|path| &path.parts);
        on_paths.chain(&system.parts).any(|id| *id == part.id)
    })
}

/// How many words of a name of the part stand at the beginning; of the longest that does.
fn longest(part: &Part, words: &[String]) -> usize {
    let names = part.called.iter().chain([&part.name]);
    let lengths = names.map(|name| {
        let name = spelled(name);
        if words.starts_with(&name) {
            name.len()
        } else {
            0
        }
    });
    lengths.max().unwrap_or(0)
}
