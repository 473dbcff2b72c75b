//! Invented riders' stories with a known end: the true fault must be among the first three suspects.
//!
//! Each is told twice: in the rider's own words, as a whole conversation hears them, and as plain
//! facts, so that a miss of the language is told from a miss of the knowledge. `MISSES=1` prints
//! what was named instead.

use floatbowl::conversation::event::{Incoming, Logged, Terms};
use floatbowl::conversation::state::Entry;
use floatbowl::conversation::{State, advance, open};
use floatbowl::diagnosis::{Belief, Finding};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::compile::OUTSIDE;
use floatbowl::knowledge::id::SystemId;
use floatbowl::knowledge::model::{Model, ObservationIx};
use floatbowl::reply::{Phase, Reply};
use serde::Deserialize;
use std::sync::LazyLock;

static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);

/// Of the stories inside the systems, at least this share must be met, told in plain facts: all 100
/// were when they were written.
const MET_IN_FACTS: f64 = 0.97;
/// The same, told in the riders' own words: 90 of 100 are. Of 48 others, never seen before, 44 were. It
/// may rise.
const MET_IN_WORDS: f64 = 0.85;
/// A suspect this probable, of a story whose cause is none of the known faults, is a confident wrong
/// answer.
const CONFIDENT: f64 = 0.5;
/// How many of those thirteen may be: one is, where water from the carburettor hides a timing chain that
/// jumped. It may fall.
const CONFIDENTLY_WRONG: usize = 1;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stories {
    story: Vec<Story>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Story {
    name: String,
    system: String,
    /// The messages, in order.
    says: Vec<String>,
    /// Outcomes that the messages tell.
    facts: Vec<String>,
    /// What it turned out to be; empty where it was nothing that is known here.
    #[serde(default)]
    truth: Vec<String>,
    /// Whether it was nothing that is known here.
    #[serde(default)]
    outside: bool,
}

/// What was named at the end of a story.
struct Named {
    suspects: Vec<(String, f64)>,
    handed_over: bool,
    /// The outcomes taken in.
    heard: Vec<String>,
}

fn stories() -> Vec<Story> {
    [
        include_str!("stories/spark-and-current.toml"),
        include_str!("stories/fuel-and-air.toml"),
        include_str!("stories/two-at-once.toml"),
        include_str!("stories/not-ours.toml"),
    ]
    .into_iter()
    .flat_map(|text| toml::from_str::<Stories>(text).expect("stories read").story)
    .collect()
}

fn in_words(story: &Story) -> Named {
    let terms = Terms {
        system: Some(SystemId::from(story.system.as_str())),
        ..Terms::default()
    };
    let (events, mut reply) = open(&terms, &KNOWLEDGE);
    let mut state = State::fold(&[]);
    keep(&mut state, events, &reply);
    for message in &story.says {
        let (events, next) = advance(&state, &Incoming::Text(message.clone()), &KNOWLEDGE);
        reply = next;
        keep(&mut state, events, &reply);
    }
    let suspects = reply.suspects.iter();
    Named {
        suspects: suspects
            .map(|suspect| (suspect.fault.to_string(), suspect.probability))
            .collect(),
        handed_over: reply.phase == Phase::HandedOver,
        heard: heard(&state),
    }
}

fn heard(state: &State) -> Vec<String> {
    let likeliest = |entry: &Entry| match entry {
        Entry::Seen(found) => {
            let best = found.weights.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
            Some(best.0.to_string())
        }
        Entry::Repaired(_) => None,
    };
    state.entries.iter().filter_map(likeliest).collect()
}

fn keep(state: &mut State, events: Vec<floatbowl::conversation::event::Event>, reply: &Reply) {
    for event in events {
        state.apply(Logged {
            turn: reply.turn,
            event,
        });
    }
}

fn in_facts(story: &Story) -> Named {
    let model = KNOWLEDGE
        .model(&SystemId::from(story.system.as_str()))
        .expect("a known system");
    let findings: Vec<Finding> = story.facts.iter().map(|id| finding(model, id)).collect();
    let belief = Belief::given(model, &findings);
    let suspects = belief.suspects().into_iter();
    Named {
        suspects: suspects
            .map(|(fault, chance)| (model.faults[fault.at()].id.to_string(), chance))
            .collect(),
        handed_over: false,
        heard: story.facts.clone(),
    }
}

fn finding(model: &Model, outcome: &str) -> Finding {
    let mut observations = model.observations.iter().enumerate();
    let found = observations.find_map(|(at, observation)| {
        let shown = observation.outcome(outcome)?;
        let mut weights = vec![0.0; observation.outcomes.len()];
        weights[shown.at()] = 1.0;
        Some(Finding::Seen {
            observation: ObservationIx::from(at),
            weights,
            strength: 1.0,
        })
    });
    found.unwrap_or_else(|| panic!("{outcome} is no outcome of {}", model.system))
}

impl Named {
    fn first_three(&self) -> impl Iterator<Item = &str> {
        self.suspects
            .iter()
            .take(3)
            .map(|(fault, _)| fault.as_str())
    }

    fn meets(&self, story: &Story) -> bool {
        if story.outside {
            self.handed_over || self.first_three().any(|fault| fault == OUTSIDE)
        } else {
            self.first_three()
                .any(|fault| story.truth.iter().any(|truth| truth == fault))
        }
    }

    fn is_confidently_wrong(&self) -> bool {
        let first = self.suspects.first();
        !self.handed_over
            && first.is_some_and(|(fault, chance)| fault != OUTSIDE && *chance > CONFIDENT)
    }

    fn shown(&self) -> String {
        let top = self.suspects.iter().take(4);
        let mut shown: Vec<String> = top
            .map(|(fault, chance)| format!("{fault} {chance:.2}"))
            .collect();
        if self.handed_over {
            shown.push("handed over".to_owned());
        }
        shown.join(", ")
    }
}

/// The share of the stories that are met, the misses printed where wanted.
fn share(stories: &[&Story], how: (&str, fn(&Story) -> Named)) -> f64 {
    let mut met = 0_u32;
    for story in stories {
        let named = (how.1)(story);
        if named.meets(story) {
            met += 1;
        } else if std::env::var_os("MISSES").is_some() {
            println!(
                "{} {} {}: {:?} not in {}\n    heard {}",
                how.0,
                story.system,
                story.name,
                story.truth,
                named.shown(),
                named.heard.join(" ")
            );
        }
    }
    let count = u32::try_from(stories.len()).expect("a few stories");
    println!("{}: {met} of {count}", how.0);
    f64::from(met) / f64::from(count)
}

#[test]
fn the_true_fault_is_among_the_first_three() {
    let all = stories();
    let inside: Vec<&Story> = all.iter().filter(|story| !story.outside).collect();
    assert!(inside.len() >= 40, "only {} stories", inside.len());
    let facts = share(&inside, ("in facts", in_facts));
    let words = share(&inside, ("in words", in_words));
    assert!(facts >= MET_IN_FACTS, "in facts {facts:.3}");
    assert!(words >= MET_IN_WORDS, "in words {words:.3}");
}

#[test]
fn what_is_not_known_here_is_not_blamed_on_something_else() {
    let all = stories();
    let outside: Vec<&Story> = all.iter().filter(|story| story.outside).collect();
    share(&outside, ("outside, in facts", in_facts));
    share(&outside, ("outside, in words", in_words));
    let wrong: Vec<String> = outside
        .iter()
        .map(|story| (story, in_words(story)))
        .filter(|(_, named)| named.is_confidently_wrong())
        .map(|(story, named)| format!("{}: {}", story.name, named.shown()))
        .collect();
    assert!(wrong.len() <= CONFIDENTLY_WRONG, "{}", wrong.join("\n"));
}

/// Every true fault is one the system knows, so that no story can be met by a slip of the pen.
#[test]
fn every_story_names_faults_of_its_system() {
    for story in stories() {
        let model = KNOWLEDGE.model(&SystemId::from(story.system.as_str()));
        let model = model.unwrap_or_else(|| panic!("{}: no such system", story.name));
        assert_eq!(story.truth.is_empty(), story.outside, "{}", story.name);
        for truth in &story.truth {
            assert!(model.fault(truth).is_some(), "{}: {truth}", story.name);
        }
    }
}
