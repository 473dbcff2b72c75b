//! A conversation over the shipped words and rules but only two invented faults.

use floatbowl::conversation::event::{Incoming, Logged, Terms};
use floatbowl::conversation::{State, advance, open};
use floatbowl::knowledge::library::Source;
use floatbowl::knowledge::{Knowledge, load};
use floatbowl::reply::Reply;
use std::sync::LazyLock;

/// Folders and files that hold the shipped systems, their faults, checks, findings and bikes.
const LEFT_OUT: [&str; 6] = [
    "systems.toml",
    "faults/",
    "observations/",
    "phrases/en/findings",
    "bikes.toml",
    "specs.toml",
];

pub static SMALL: LazyLock<Knowledge> = LazyLock::new(|| {
    let mut sources = load::embedded();
    for source in &mut sources {
        source.text = without_examples(&source.text);
    }
    sources.retain(|source| !LEFT_OUT.iter().any(|start| source.path.starts_with(start)));
    sources.push(Source {
        path: "small.toml".to_owned(),
        text: include_str!("small.toml").to_owned(),
    });
    Knowledge::compile(sources).unwrap_or_else(|verdict| panic!("{:#?}", verdict.problems))
});

/// The examples of a file come last, and speak of shipped faults.
fn without_examples(text: &str) -> String {
    let (kept, _) = text.split_once("[[example]]").unwrap_or((text, ""));
    kept.to_owned()
}

/// A conversation in which only text is typed or choices are picked.
#[derive(Clone)]
pub struct Talk {
    pub state: State,
    pub reply: Reply,
}

impl Talk {
    pub fn begin() -> Self {
        let (events, reply) = open(&Terms::default(), &SMALL);
        let logged = events.into_iter().map(|event| Logged { turn: 0, event });
        Self {
            state: State::fold(&logged.collect::<Vec<_>>()),
            reply,
        }
    }

    /// One message; `@id` picks a choice.
    pub fn say(&mut self, text: &str) {
        let incoming = match text.strip_prefix('@') {
            Some(id) => Incoming::Choose(id.to_owned()),
            None => Incoming::Text(text.to_owned()),
        };
        let (events, reply) = advance(&self.state, &incoming, &SMALL);
        for event in events {
            self.state.apply(Logged {
                turn: reply.turn,
                event,
            });
        }
        self.reply = reply;
    }

    /// The phase and what is asked for, as the interfaces name them.
    pub fn place(&self) -> String {
        let name = |value: serde_json::Value| value.as_str().unwrap_or_default().to_owned();
        let phase = name(serde_json::to_value(self.reply.phase).unwrap());
        let kind = name(serde_json::to_value(self.reply.step.kind).unwrap());
        let id = self.reply.step.id.as_deref().unwrap_or("-");
        format!("{phase} {kind} {id}")
    }
}
