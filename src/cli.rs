//! The command line: one file per subcommand, each a thin loop around the library.

mod belief;
mod chat;
mod interpret;
mod knowledge;
mod simulate;

use crate::knowledge::Knowledge;
use crate::knowledge::load::{self, LoadError};
use clap::{Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// Exit code for input that cannot be used.
const UNUSABLE: u8 = 2;

/// Finds out, in conversation, why fuel does not get where it should on a motorcycle.
///
/// Without a subcommand it starts a conversation in the terminal.
#[derive(Debug, Parser)]
#[command(name = "floatbowl", version)]
struct Arguments {
    /// Folder of knowledge files to use in place of those built in.
    #[arg(long, global = true, value_name = "DIR")]
    knowledge: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Hold a conversation: in the terminal, from a script, or as JSON Lines.
    Chat(chat::Chat),
    /// Read messages and print what they say, as JSON Lines.
    Interpret,
    /// Read evidence and print what it says about the faults, as JSON Lines.
    Belief {
        /// Which system, for example pump-carb.
        #[arg(long)]
        system: String,
    },
    /// Let virtual riders talk to the conversation, and count how they fare.
    Simulate(simulate::Simulate),
    /// Check, print and export what is known about bikes.
    #[command(subcommand)]
    Knowledge(knowledge::Command),
}

/// Runs the program with the process's own arguments.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let folder = arguments.knowledge.as_deref();
    let outcome = match arguments.command {
        None => chat::run(&chat::Chat::default(), folder),
        Some(Command::Chat(chat)) => chat::run(&chat, folder),
        Some(Command::Interpret) => interpret::run(folder),
        Some(Command::Belief { system }) => belief::run(&system, folder),
        Some(Command::Simulate(simulate)) => simulate::run(&simulate, folder),
        Some(Command::Knowledge(command)) => knowledge::run(&command, folder),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            anstream::eprintln!("{failure}");
            ExitCode::from(UNUSABLE)
        }
    }
}

/// Why a command came to nothing: a sentence that says what to do.
#[derive(Debug, thiserror::Error)]
enum Failure {
    /// The knowledge folder cannot be read.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// The knowledge has problems.
    #[error("{0}")]
    Knowledge(String),
    /// What was asked for does not exist.
    #[error("{0}")]
    Unknown(String),
    /// Conversations cannot be kept.
    #[error(transparent)]
    Store(#[from] crate::store::StoreError),
    /// The chat in the terminal came to an early end.
    #[error(transparent)]
    Terminal(#[from] crate::channel::terminal::TerminalError),
    /// Standard input or output failed.
    #[error("cannot read or write: {0}")]
    Pipe(#[from] std::io::Error),
}

/// The knowledge of a folder, or that built in.
fn knowledge(folder: Option<&std::path::Path>) -> Result<Knowledge, Failure> {
    Knowledge::compile(sources(folder)?).map_err(|verdict| {
        let count = verdict.problems.len();
        Failure::Knowledge(format!(
            "{verdict}The knowledge has {count} problem(s); nothing was started."
        ))
    })
}

fn sources(
    folder: Option<&std::path::Path>,
) -> Result<Vec<crate::knowledge::library::Source>, LoadError> {
    folder.map_or_else(|| Ok(load::embedded()), load::folder)
}
