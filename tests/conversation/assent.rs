//! What counts as a yes to the conditions of safe work.

use crate::phases::table;
use crate::small::Talk;
use floatbowl::conversation::event::Step;
use floatbowl::conversation::state::GateAnswer;
use serde::Deserialize;
use std::collections::BTreeSet;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Checklist {
    says: Vec<String>,
    holds: Holds,
    #[serde(default)]
    denies: Vec<String>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Holds {
    All(String),
    These(Vec<String>),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Says {
    says: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cases {
    checklist: Vec<Checklist>,
    half: Says,
    whole: Says,
}

fn cases() -> Cases {
    toml::from_str(include_str!("assent.toml")).unwrap()
}

/// The conditions that stand so.
fn gates(talk: &Talk, stand: GateAnswer) -> BTreeSet<String> {
    let gates = talk.state.gates.iter();
    gates
        .filter(|(_, answer)| **answer == stand)
        .map(|(gate, _)| gate.to_string())
        .collect()
}

#[test]
fn the_checklist_takes_what_was_said_and_no_more() {
    let mut asked = Talk::begin();
    asked.say("it cranks but does not start");
    asked.say("nothing");
    assert_eq!(asked.state.table, Some(Step::Surroundings));
    let mut all = asked.clone();
    all.say("yes");
    let all = gates(&all, GateAnswer::Holds);
    assert!(all.len() > 5, "{all:?}");
    let mut wrong = Vec::new();
    for case in cases().checklist {
        let holds = match case.holds {
            Holds::All(word) => {
                assert_eq!(word, "all");
                all.clone()
            }
            Holds::These(gates) => gates.into_iter().collect(),
        };
        let denies: BTreeSet<String> = case.denies.into_iter().collect();
        for text in case.says {
            let mut talk = asked.clone();
            talk.say(&text);
            let held = gates(&talk, GateAnswer::Holds);
            let barred = gates(&talk, GateAnswer::Denied);
            if (&held, &barred) != (&holds, &denies) {
                wrong.push(format!("{text:?} confirms {held:?} and denies {barred:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_half_yes_leads_nowhere_and_a_whole_one_where_yes_leads() {
    let cases = cases();
    let mut places = 0;
    let mut wrong = Vec::new();
    for (name, place) in table().place {
        let mut start = Talk::begin();
        place.script.iter().for_each(|line| start.say(line));
        let firm = matches!(
            start.state.table,
            Some(
                Step::Surroundings
                    | Step::Clear { .. }
                    | Step::Safe(_)
                    | Step::Prove(_)
                    | Step::Refit
            )
        );
        if !firm || start.state.end.is_some() {
            continue;
        }
        places += 1;
        for (texts, expected) in [
            (&cases.half.says, &place.at),
            (&cases.whole.says, &place.then["yes"]),
        ] {
            for text in texts {
                let mut talk = start.clone();
                talk.say(text);
                if talk.place() != *expected {
                    wrong.push(format!("{name}: {text:?} leads to {}", talk.place()));
                }
            }
        }
    }
    assert!(places >= 5, "{places}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What was confirmed and is then said not to be so is asked again.
#[test]
fn a_confirmed_condition_that_is_no_longer_so_is_asked_again() {
    let mut talk = Talk::begin();
    for text in [
        "it cranks but does not start",
        "nothing",
        "yes",
        "@pump-carb",
    ] {
        talk.say(text);
    }
    assert!(gates(&talk, GateAnswer::Holds).contains("outdoors"));
    talk.say("it started to rain, now im in the garage");
    assert!(gates(&talk, GateAnswer::Reopened).contains("outdoors"));
}
