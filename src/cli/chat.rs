//! `floatbowl chat`: a conversation in the terminal, from a script, or as JSON Lines.

use super::door::Door;
use super::{Failure, data};
use crate::channel::terminal::{self, Setting};
use crate::conversation::event::{Event, Incoming, Logged, Terms};
use crate::conversation::{State, advance, open};
use crate::desk::{Assistant, Desk, Given};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{KitId, SystemId};
use crate::reply::view;
use crate::review::learning;
use crate::store::Store;
use clap::Args;
use jiff::Timestamp;
use serde::Deserialize;
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};

/// Terms of a conversation, as given on the command line.
#[derive(Debug, Default, Args)]
pub(super) struct Chat {
    /// Read a JSON line for each message, answer with a JSON line.
    #[arg(long)]
    json: bool,
    /// The fuel system, if known: gravity-manual, gravity-vacuum, pump-carb or injected.
    #[arg(long)]
    system: Option<String>,
    /// What is at hand, separated by commas.
    #[arg(long, value_delimiter = ',')]
    kit: Option<Vec<String>>,
    /// Minutes until an answer usually comes: 0 at a terminal, hours in a forum.
    #[arg(long, default_value_t = 0.0, value_name = "MINUTES")]
    round_trip: f64,
    /// An invented demo bike whose sheet applies.
    #[arg(long)]
    bike: Option<String>,
    /// Play the lines of a script in place of a person.
    #[arg(long, value_name = "FILE")]
    script: Option<PathBuf>,
    /// Folder where conversations are kept.
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
}

pub(super) fn run(chat: &Chat, folder: Option<&Path>) -> Result<(), Failure> {
    let mut knowledge = super::knowledge(folder)?;
    if chat.json {
        let terms = terms(chat, &knowledge)?;
        return json(&knowledge, &terms);
    }
    let kept = match (&chat.data, &chat.script) {
        (None, Some(_)) => None,
        (Some(folder), _) => Some(folder.clone()),
        (None, None) => Some(data::default_folder()),
    };
    let store = match &kept {
        Some(folder) => Store::open(folder)?,
        None => Store::in_memory()?,
    };
    data::wait(store.sweep(Timestamp::now()))??;
    learning::put_in_force(&mut knowledge, &super::learn::acts(&store)?);
    let terms = terms(chat, &knowledge)?;
    // Closed before the desk: what comes through the door uses the same store.
    let door = kept.as_ref().map(|kept| Door::open(kept, &store, folder));
    let desk = Desk::new(store, Assistant(knowledge), Given::by_system());
    let setting = Setting {
        terms,
        folder: kept,
    };
    match &chat.script {
        Some(path) => {
            let script = std::fs::read_to_string(path).map_err(|reason| {
                Failure::Unknown(format!(
                    "cannot read {}: {reason}; give a script to --script",
                    path.display()
                ))
            })?;
            terminal::play(&desk, &setting, &script, std::io::stdout())?;
        }
        None => terminal::run(&desk, &setting)?,
    }
    drop(door);
    Ok(())
}

fn terms(chat: &Chat, knowledge: &Knowledge) -> Result<Terms, Failure> {
    let bike = chat.bike.as_ref().map(|id| {
        knowledge.bikes.get(id).ok_or_else(|| {
            let known: Vec<&str> = knowledge.bikes.keys().map(String::as_str).collect();
            Failure::Unknown(format!(
                "There is no demo bike \"{id}\"; give one of {} to --bike.",
                known.join(", ")
            ))
        })
    });
    let bike = bike.transpose()?;
    let given = chat.system.as_deref().map(SystemId::from);
    if let Some(system) = given
        .as_ref()
        .filter(|system| !knowledge.systems.contains_key(system))
    {
        return Err(super::knowledge::unknown_system(knowledge, system.as_str()));
    }
    Ok(Terms {
        system: given.or_else(|| bike.map(|bike| bike.system.clone())),
        kit: chat
            .kit
            .as_ref()
            .map(|kit| kit.iter().map(|id| KitId::from(id.as_str())).collect()),
        round_trip_minutes: chat.round_trip.max(0.0),
        bike: chat.bike.clone(),
        knowledge: knowledge.revision.clone(),
    })
}

/// One message of the machine interface.
#[derive(Debug, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
enum Message {
    Text { text: String },
    Choose { choose: String },
}

fn json(knowledge: &Knowledge, terms: &Terms) -> Result<(), Failure> {
    let log =
        |turn, events: Vec<Event>| events.into_iter().map(move |event| Logged { turn, event });
    let (events, _) = open(terms, knowledge);
    let mut state = State::fold(&log(0, events).collect::<Vec<_>>());
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        let message: Message = serde_json::from_str(&line).map_err(|reason| {
            Failure::Unknown(format!("Cannot use the line {line:?}: {reason}; write {{\"text\": \"...\"}} or {{\"choose\": \"...\"}}."))
        })?;
        let incoming = match message {
            Message::Text { text } => Incoming::Text(text),
            Message::Choose { choose } => Incoming::Choose(choose),
        };
        let (events, reply) = advance(&state, &incoming, knowledge);
        log(reply.turn, events).for_each(|logged| state.apply(logged));
        let mut out = std::io::stdout().lock();
        writeln!(out, "{}", view::json(&reply))?;
        out.flush()?;
    }
    Ok(())
}
