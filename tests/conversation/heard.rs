//! Single messages in the light of what was asked and told before, and every answer offered, typed as it is shown.

use crate::bike::KNOWLEDGE;
use floatbowl::conversation::event::{Event, Found, Incoming, Logged, Step, Terms, Topic};
use floatbowl::conversation::state::{Entry, GateAnswer};
use floatbowl::conversation::{State, advance, open};
use floatbowl::knowledge::id::{GateId, HazardId, KitId, ObservationId, SystemId};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cases {
    case: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    system: String,
    /// Messages before.
    #[serde(default)]
    told: Vec<String>,
    /// What is asked for when the message comes.
    asked: Option<String>,
    says: Vec<String>,
    /// Numbers taken, by check, in the base unit.
    #[serde(default)]
    reads: BTreeMap<String, f64>,
    /// Results, by check.
    #[serde(default)]
    finds: BTreeMap<String, String>,
    /// Checks of which nothing is known after it.
    #[serde(default)]
    nothing_of: Vec<String>,
    /// Dangers that stand open after it.
    #[serde(default)]
    hazards: Vec<String>,
    /// Words of the reply.
    #[serde(default)]
    replies: Vec<String>,
    /// Whether it says nothing of the dangers that stand open.
    #[serde(default)]
    any_hazard: bool,
    /// Whether the conversation goes on after it.
    #[serde(default)]
    open: bool,
    /// Conditions that are asked again before the next step that needs them.
    #[serde(default)]
    doubts: Vec<String>,
    /// What is at hand after it, where that is what is asked for.
    #[serde(default)]
    has: Vec<String>,
}

/// A conversation over the knowledge as it is built in.
struct Talk {
    state: State,
    reply: String,
}

impl Talk {
    fn about(system: &str, all_kit: bool) -> Self {
        let kit = || KNOWLEDGE.kit.iter().map(|kit| kit.id.clone()).collect();
        let terms = Terms {
            system: Some(SystemId::from(system)),
            kit: all_kit.then(kit),
            ..Terms::default()
        };
        let (events, _) = open(&terms, &KNOWLEDGE);
        let log = events.into_iter().map(|event| Logged { turn: 0, event });
        Self {
            state: State::fold(&log.collect::<Vec<_>>()),
            reply: String::new(),
        }
    }

    fn ask(&mut self, id: &str) {
        self.table(Step::Observe(vec![ObservationId::from(id)]));
    }

    fn table(&mut self, step: Step) {
        let turn = self.state.turn;
        let event = Event::Asked(step);
        self.state.apply(Logged { turn, event });
    }

    fn send(&mut self, incoming: &Incoming) -> Vec<Event> {
        let (events, reply) = advance(&self.state, incoming, &KNOWLEDGE);
        for event in events.clone() {
            let turn = reply.turn;
            self.state.apply(Logged { turn, event });
        }
        self.reply = format!("{:?}", reply.lines);
        events
    }

    fn say(&mut self, text: &str) {
        self.send(&Incoming::Text(text.to_owned()));
    }

    fn found(&self, id: &str) -> Option<&Found> {
        self.state.found_since_repair(&id.into())
    }

    fn wrong(&self, case: &Case) -> Vec<String> {
        let mut wrong = Vec::new();
        for (id, value) in &case.reads {
            let measured = self.found(id).and_then(|found| found.measured.as_ref());
            let read = measured.and_then(|measured| measured.raw.value);
            if read.is_none_or(|read| (read - value).abs() > 1e-9) {
                wrong.push(format!("reads {read:?} for {id}, not {value}"));
            }
        }
        for (id, outcome) in &case.finds {
            let weights = self.found(id).map(|found| found.weights.clone());
            let best = weights.into_iter().flatten();
            let best = best.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id);
            if best.as_ref().is_none_or(|best| best.as_str() != outcome) {
                wrong.push(format!("finds {best:?} for {id}, not {outcome}"));
            }
        }
        let known = case.nothing_of.iter().filter(|id| self.found(id).is_some());
        wrong.extend(known.map(|id| format!("knows something of {id}")));
        let hazards: Vec<&str> = self.state.hazards.iter().map(HazardId::as_str).collect();
        if !case.any_hazard && hazards != case.hazards {
            wrong.push(format!("stands in {hazards:?}, not {:?}", case.hazards));
        }
        if case.open && self.state.end.is_some() {
            wrong.push("ends the conversation".to_owned());
        }
        let doubts = |gate: &&String| {
            self.state.gates.get(&GateId::from(gate.as_str())) != Some(&GateAnswer::Reopened)
        };
        let sure = case.doubts.iter().filter(doubts);
        wrong.extend(sure.map(|gate| format!("does not doubt {gate}")));
        let lacks = |kit: &&String| self.state.kit.get(&KitId::from(kit.as_str())) != Some(&true);
        let unheard = case.has.iter().filter(lacks);
        wrong.extend(unheard.map(|kit| format!("did not hear of {kit}")));
        let silent = case
            .replies
            .iter()
            .filter(|words| !self.reply.contains(*words));
        wrong.extend(silent.map(|words| format!("does not say {words:?} in {}", self.reply)));
        wrong
    }
}

#[test]
fn a_message_is_taken_for_what_it_says() {
    let cases: Cases = toml::from_str(include_str!("heard.toml")).unwrap();
    let mut all = Vec::new();
    for case in cases.case {
        for says in &case.says {
            let mut talk = Talk::about(&case.system, case.has.is_empty());
            case.told.iter().for_each(|text| talk.say(text));
            if let Some(asked) = &case.asked {
                talk.ask(asked);
            }
            if !case.has.is_empty() {
                talk.table(Step::Tell(Topic::Kit));
            }
            talk.say(says);
            let wrong = talk.wrong(&case);
            all.extend(wrong.into_iter().map(|wrong| format!("{says:?} {wrong}")));
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

/// The events of a turn, without the words they came of.
fn effects(events: Vec<Event>) -> Vec<Event> {
    let heard = |event: &Event| matches!(event, Event::Heard(_));
    events.into_iter().filter(|event| !heard(event)).collect()
}

#[test]
fn every_answer_offered_counts_the_same_typed_as_picked() {
    let mut wrong = Vec::new();
    let mut typed = 0;
    for model in &KNOWLEDGE.models {
        let mut start = Talk::about(model.system.as_str(), true);
        start.say("it cranks but does not start");
        for observation in &model.observations {
            for outcome in &observation.outcomes {
                let after = |incoming: Incoming| {
                    let mut talk = Talk {
                        state: start.state.clone(),
                        reply: String::new(),
                    };
                    talk.ask(observation.id.as_str());
                    effects(talk.send(&incoming))
                };
                typed += 1;
                let picked = after(Incoming::Choose(outcome.id.to_string()));
                for words in [outcome.words.clone(), outcome.words.to_uppercase() + "."] {
                    if after(Incoming::Text(words.clone())) != picked {
                        wrong.push(format!("{}: {words:?}", outcome.id));
                    }
                }
            }
        }
    }
    assert!(typed > 500, "{typed}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A reading put right before a repair is not put right after it.
#[test]
fn what_was_read_before_a_repair_stays() {
    let mut talk = Talk::about("pump-carb", true);
    talk.say("battery 12.6 rested overnight");
    let turn = talk.state.turn;
    let event = Event::Repaired("battery-flat".into());
    talk.state.apply(Logged { turn, event });
    talk.say("sorry, that was 11.6 not 12.6");
    let read = talk.state.entries.iter().find_map(|entry| match entry {
        Entry::Seen(found) => found.measured.as_ref()?.raw.value,
        Entry::Repaired(_) => None,
    });
    assert_eq!(read, Some(12.6));
}

/// Words may have been misread; what the rider picked was not.
#[test]
fn a_danger_that_a_result_shows_is_not_talked_away() {
    let mut talk = Talk::about("gravity-manual", true);
    talk.say("it cranks but does not start");
    talk.ask("hose-look");
    talk.send(&Incoming::Choose("hose-wet".to_owned()));
    assert!(talk.state.hazards.contains(&"fuel-leak".into()));
    talk.say("misread");
    assert!(
        talk.state.hazards.contains(&"fuel-leak".into()),
        "{}",
        talk.reply
    );
    assert!(!talk.reply.contains("misread you"), "{}", talk.reply);
    talk.say("yes");
    assert!(talk.state.hazards.is_empty(), "{}", talk.reply);
}

/// Whoever waits for an engine to cool is not sent away.
#[test]
fn a_hot_engine_is_no_reason_to_give_up() {
    let hot = GateId::from("engine-cold");
    let mut talk = Talk::about("gravity-manual", true);
    talk.say("it cranks but does not start");
    talk.say("nothing changed");
    let mut denied = 0;
    for _ in 0..60 {
        let words = match &talk.state.table {
            Some(Step::Surroundings) => {
                denied += 1;
                "all of it, but the engine is still hot"
            }
            Some(Step::Clear { gates, .. }) if gates.contains(&hot) => {
                denied += 1;
                "no, the engine is still hot"
            }
            Some(Step::Clear { .. }) => "yes",
            _ => "skip",
        };
        talk.say(words);
        assert!(talk.state.end.is_none(), "{}", talk.reply);
    }
    assert!(denied > 2, "{denied}");
}
