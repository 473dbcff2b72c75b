//! Every phase met with every sort of message, against a table of what should come next.

use crate::bike::Bike;
use floatbowl::reply::Phase;
use std::collections::BTreeMap;

type Table = BTreeMap<String, BTreeMap<String, String>>;

fn name(phase: Phase) -> String {
    let name = serde_json::to_value(phase).unwrap();
    name.as_str().unwrap().to_owned()
}

fn words(input: &str) -> &str {
    match input {
        "cannot" => "I can't do that",
        "unsure" => "I don't know",
        "why" => "why?",
        "person" => "I want to talk to a person",
        "start-over" => "start over",
        "so-far" => "what have we got so far",
        "danger" => "fuel is leaking out of the hose",
        "nonsense" => "blue elephants",
        other => other,
    }
}

/// A conversation that has just come to a phase.
fn at(phase: &str) -> Bike {
    let mut bike = Bike::with(&["circuit-fuse-blown"], false);
    match phase {
        "intake" => return bike,
        "closed" => bike.say("stop"),
        "handed-over" => bike.say("I want to talk to a person"),
        _ => bike.say("it cranks but does not start and the pump is silent"),
    }
    let wanted = if phase == "halted" { "testing" } else { phase };
    for _ in 0..80 {
        if name(bike.reply.phase) == wanted {
            break;
        }
        bike.answer();
    }
    if phase == "halted" {
        bike.say(words("danger"));
    }
    assert_eq!(name(bike.reply.phase), phase, "{}", bike.transcript);
    bike
}

#[test]
fn every_message_in_every_phase_leads_where_the_table_says() {
    let table: Table = toml::from_str(include_str!("phases.toml")).unwrap();
    assert_eq!(table.len(), 10);
    let mut wrong = Vec::new();
    for (phase, row) in &table {
        assert_eq!(row.len(), 14, "{phase}");
        let start = at(phase);
        for (input, expected) in row {
            let mut bike = start.clone();
            bike.say(words(input));
            let next = name(bike.reply.phase);
            if !expected.split('/').any(|phase| phase == next) {
                wrong.push(format!("{phase} + {input}: {next}, not {expected}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
