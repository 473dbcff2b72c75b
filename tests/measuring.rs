//! What riders type when asked for a measurement, and what they are told: whole, file by file.
//!
//! Each talk begins with one measurement on the table. Figures of the trade in them are common
//! practice, no source, unless the talk names a source; the bikes are invented.

use floatbowl::conversation::event::{Event, Incoming, Logged, Query, Step, Terms, Topic};
use floatbowl::conversation::{State, advance};
use floatbowl::knowledge::Knowledge;
use floatbowl::reply::{Judged, Line, Reply};
use serde::Deserialize;
use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;
use std::sync::LazyLock;

/// The embedded knowledge with a group's sheet beside it, for the talks that name it.
static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);
static WITH_SHEET: LazyLock<Knowledge> = LazyLock::new(|| {
    let mut sources = floatbowl::knowledge::load::embedded();
    sources.push(floatbowl::knowledge::library::Source {
        path: "sheets/group.toml".to_owned(),
        text: SHEET.to_owned(),
    });
    Knowledge::compile(sources).unwrap_or_else(|verdict| panic!("{verdict}"))
});

const SHEET: &str = r#"
[[sheet]]
approver = "an invented moderator"
approved = "2026-11-25"
citation = "an invented workshop sheet, page 3"
system = "pump-carb"

[[sheet.spec]]
observation = "pump-winding-resistance"
low = 1.6
high = 2.2
at_celsius = 20.0
conditions = "at the pump's plug"
"#;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    talk: Vec<Talk>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Talk {
    name: String,
    asks: String,
    #[serde(default)]
    bike: Option<String>,
    #[serde(default)]
    sheet: bool,
    say: Vec<String>,
}

fn talks(file: &str) -> Vec<Talk> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/measuring");
    let text = fs::read_to_string(folder.join(file)).expect("the talks are part of the repository");
    toml::from_str::<File>(&text)
        .expect("the talks are TOML")
        .talk
}

/// A state with that measurement on the table, everything before it answered.
fn asked(talk: &Talk, knowledge: &Knowledge) -> State {
    let system = match talk.asks.as_str() {
        "pump-current" | "tank-pump-resistance" => "injected",
        _ => "pump-carb",
    };
    let opened = Event::Opened(Terms {
        system: Some(system.into()),
        kit: Some(knowledge.kit.iter().map(|kit| kit.id.clone()).collect()),
        bike: talk.bike.clone(),
        ..Terms::default()
    });
    let settled = [Topic::Complaint, Topic::Background].map(Event::Settled);
    let log = |events: Vec<Event>| -> Vec<Logged> {
        let events = events.into_iter();
        events.map(|event| Logged { turn: 0, event }).collect()
    };
    let mut events = vec![opened];
    events.extend(settled);
    events.extend(knowledge.gates.iter().map(|gate| Event::GateAnswered {
        gate: gate.id.clone(),
        holds: true,
    }));
    let mut state = State::fold(&log(events));
    lay(&mut state, talk);
    state
}

/// Lays the measurement on the table again, whatever the planner would rather have.
fn lay(state: &mut State, talk: &Talk) {
    let step = Step::Observe(vec![talk.asks.as_str().into()]);
    if state.query.is_none() && state.table.as_ref() != Some(&step) {
        let turn = state.turn;
        let event = Event::Asked(step);
        state.apply(Logged { turn, event });
    }
}

fn transcript(talk: &Talk) -> String {
    let knowledge = if talk.sheet { &WITH_SHEET } else { &KNOWLEDGE };
    let mut state = asked(talk, knowledge);
    let mut text = String::new();
    for said in &talk.say {
        let incoming = match said.strip_prefix('@') {
            Some(id) => Incoming::Choose(id.to_owned()),
            None => Incoming::Text(said.clone()),
        };
        let (events, reply) = advance(&state, &incoming, knowledge);
        for event in events {
            let turn = reply.turn;
            state.apply(Logged { turn, event });
        }
        let kept = matches!(state.query, Some(Query::Reading { .. }));
        lay(&mut state, talk);
        writeln!(text, "> {said}\n{}", shown(&reply, kept)).expect("a string takes all");
    }
    text
}

/// What is said of the reading; the next step is the planner's and not of interest here.
fn shown(reply: &Reply, kept: bool) -> String {
    let mut text = String::new();
    for line in &reply.lines {
        match line {
            Line::Receipt(said) => writeln!(text, "Understood: {said}"),
            Line::Judgement(said) => writeln!(text, "{said}"),
            Line::Plain(said) if !of_the_planner(said) => writeln!(text, "{said}"),
            Line::Question(said) if kept => {
                let picks = reply.choices.iter().map(|choice| choice.id.as_str());
                let picks: Vec<&str> = picks.take_while(|id| *id != "why").collect();
                writeln!(text, "? {said} [{}]", picks.join(", "))
            }
            _ => Ok(()),
        }
        .expect("a string takes all");
    }
    for judged in &reply.judgements {
        text += &figures(judged);
    }
    text
}

/// What hangs on the chances of faults, which have tests of their own.
fn of_the_planner(said: &str) -> bool {
    ["Next:", "If \"", "One result", "The next step"]
        .iter()
        .any(|start| said.starts_with(start))
}

fn figures(judged: &Judged) -> String {
    let number = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{value:.4}"));
    let weights = judged.weights.iter();
    let weights: Vec<String> = weights
        .map(|(id, weight)| format!("{id} {weight:.3}"))
        .collect();
    format!(
        "  {}: raw {} offset {} corrected {} u {} {}; limits {} {}; {}; {}\n",
        judged.observation,
        number(judged.raw),
        number(judged.offset),
        number(judged.corrected),
        number(judged.uncertainty),
        judged.unit,
        number(judged.low),
        number(judged.high),
        weights.join(", "),
        judged.verdict
    )
}

fn check(file: &str) {
    for talk in talks(file) {
        insta::with_settings!({omit_expression => true, prepend_module_to_snapshot => false, snapshot_path => "measuring/snapshots"}, {
            insta::assert_snapshot!(talk.name.as_str(), transcript(&talk));
        });
    }
}

/// A sheet spoilt in one line, and a word of the refusal.
const SPOILT: [(&str, &str, &str); 4] = [
    (
        "approver = \"an invented moderator\"",
        "approver = \"\"",
        "approver",
    ),
    ("low = 1.6", "low = 2.6", "below"),
    (
        "pump-winding-resistance",
        "pump-winding-resistence",
        "Did you mean",
    ),
    (
        "system = \"pump-carb\"",
        "system = \"pump-carbs\"",
        "Did you mean",
    ),
];

#[test]
fn a_sheet_that_nobody_can_vouch_for_is_refused() {
    for (line, spoilt, word) in SPOILT {
        let mut sources = floatbowl::knowledge::load::embedded();
        sources.push(floatbowl::knowledge::library::Source {
            path: "sheets/group.toml".to_owned(),
            text: SHEET.replace(line, spoilt),
        });
        let refusal = Knowledge::compile(sources)
            .err()
            .map(|verdict| verdict.to_string());
        let refusal = refusal.unwrap_or_default();
        assert!(
            refusal.contains("sheets/group.toml") && refusal.contains(word),
            "{refusal}"
        );
    }
}

#[test]
fn windings() {
    check("windings.toml");
}

#[test]
fn batteries() {
    check("batteries.toml");
}

#[test]
fn doubts() {
    check("doubts.toml");
}

#[test]
fn circuits() {
    check("circuits.toml");
}

#[test]
fn flows() {
    check("flows.toml");
}

#[test]
fn every_choice_of_a_question_leads_on() {
    // Whatever a question offers must lead on: the question may not stand as it was.
    for file in [
        "windings.toml",
        "batteries.toml",
        "doubts.toml",
        "circuits.toml",
        "flows.toml",
    ] {
        for talk in talks(file) {
            offered_choices_lead_on(&talk);
        }
    }
}

fn offered_choices_lead_on(talk: &Talk) {
    let knowledge = if talk.sheet { &WITH_SHEET } else { &KNOWLEDGE };
    let state = asked(talk, knowledge);
    let (events, reply) = advance(&state, &Incoming::Text(talk.say[0].clone()), knowledge);
    let mut before = state;
    for event in events {
        let turn = reply.turn;
        before.apply(Logged { turn, event });
    }
    if before.query.is_none() {
        return;
    }
    for choice in &reply.choices {
        if ["why", "undo", "person", "stop"].contains(&choice.id.as_str()) {
            continue;
        }
        let mut after = before.clone();
        let (events, reply) = advance(&after, &Incoming::Choose(choice.id.clone()), knowledge);
        for event in events {
            let turn = reply.turn;
            after.apply(Logged { turn, event });
        }
        assert_ne!(after.query, before.query, "{}: {}", talk.name, choice.id);
    }
}
