//! Every place a conversation can be at, met with every sort of message, against a table.

use crate::small::Talk;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// A place: the messages that lead to it, and what each sort of message makes of it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    pub script: Vec<String>,
    pub at: String,
    pub then: BTreeMap<String, String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    inputs: BTreeMap<String, String>,
    pub place: BTreeMap<String, Place>,
}

pub fn table() -> Table {
    toml::from_str(include_str!("phases.toml")).unwrap()
}

fn talk(script: &[String]) -> Talk {
    let mut talk = Talk::begin();
    for line in script {
        talk.say(line);
    }
    talk
}

#[test]
fn every_message_at_every_place_leads_where_the_table_says() {
    let table = table();
    let mut wrong = Vec::new();
    for (name, place) in &table.place {
        let start = talk(&place.script);
        if start.place() != place.at {
            wrong.push(format!("[place.{name}] at = \"{}\"", start.place()));
        }
        for (input, text) in &table.inputs {
            let mut talk = start.clone();
            talk.say(text);
            let expected = place.then.get(input).map_or("nothing", String::as_str);
            if talk.place() != expected {
                wrong.push(format!(
                    "{name}: {input} = \"{}\", not {expected}",
                    talk.place()
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_leaves_no_phase_out() {
    let table = table();
    let phases: BTreeSet<&str> = table
        .place
        .values()
        .filter_map(|place| place.at.split(' ').next())
        .collect();
    let all = [
        "closed",
        "halted",
        "handed-over",
        "intake",
        "profile",
        "proof",
        "refit",
        "repair",
        "surroundings",
        "testing",
    ];
    assert_eq!(phases, BTreeSet::from(all));
    for place in table.place.values() {
        assert!(place.then.keys().eq(table.inputs.keys()));
    }
}
