//! The command line: one file per subcommand, each a thin loop around the library.

mod backup;
mod belief;
mod chat;
mod data;
mod door;
mod group;
mod interpret;
mod knowledge;
mod learn;
mod logging;
mod replay;
mod serve;
mod simulate;
mod store;
mod transcript;

use crate::knowledge::check::Verdict;
use crate::knowledge::load::{self, LoadError};
use crate::knowledge::{Draft, Knowledge};
use clap::{Parser, Subcommand};
use std::panic::resume_unwind;
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
    Interpret(interpret::Interpret),
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
    /// Read, correct and keep conversations, as a volunteer.
    #[command(subcommand)]
    Transcript(transcript::Command),
    /// Say conversations again under the knowledge as it is, and print what comes out otherwise.
    Replay(replay::Replay),
    /// Priors from confirmed outcomes: look at them, put them in force, take them back.
    #[command(subcommand)]
    Learn(learn::Command),
    /// What a group allows: how long its conversations are kept, reminders, who may read.
    #[command(subcommand)]
    Group(group::Command),
    /// Write every conversation to a file, also while floatbowl is running.
    Backup(backup::Backup),
    /// Bring a backup back.
    Restore(backup::Restore),
    /// Serve the channels of a deployment until told to stop.
    Serve(serve::Serve),
    /// Check the settings of a deployment, or print an example.
    #[command(subcommand)]
    Config(serve::Command),
    /// Check what is kept, save what can be read of a damaged folder, let go of what is old.
    #[command(subcommand)]
    Store(store::Command),
}

/// Runs the program with the process's own arguments.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let folder = arguments.knowledge.as_deref();
    let outcome = match arguments.command {
        None => chat::run(&chat::Chat::default(), folder),
        Some(Command::Chat(chat)) => chat::run(&chat, folder),
        Some(Command::Interpret(interpret)) => interpret::run(&interpret, folder),
        Some(Command::Belief { system }) => belief::run(&system, folder),
        Some(Command::Simulate(simulate)) => simulate::run(&simulate, folder),
        Some(Command::Knowledge(command)) => knowledge::run(&command, folder),
        Some(Command::Transcript(command)) => door::through(&command, folder),
        Some(Command::Replay(replay)) => replay::run(&replay, folder),
        Some(Command::Learn(command)) => door::through(&command, folder),
        Some(Command::Group(command)) => door::through(&command, folder),
        Some(Command::Backup(backup)) => backup::run(&backup, folder),
        Some(Command::Restore(restore)) => backup::restore(&restore),
        Some(Command::Serve(serve)) => serve::run(&serve, folder),
        Some(Command::Config(command)) => serve::config(&command, folder),
        Some(Command::Store(command)) => store::run(&command, folder),
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
    /// The settings cannot be used.
    #[error(transparent)]
    Config(#[from] crate::config::ConfigError),
    /// The Discord channel came to an end.
    #[error(transparent)]
    Discord(#[from] crate::channel::discord::DiscordError),
    /// Something is not as it should be, and it has been said what.
    #[error("{0}")]
    Wrong(String),
    /// The chat in the terminal came to an early end.
    #[error(transparent)]
    Terminal(#[from] crate::channel::terminal::TerminalError),
    /// Standard input or output failed.
    #[error("cannot read or write: {0}")]
    Pipe(#[from] std::io::Error),
}

/// The knowledge of a folder, or that built in.
fn knowledge(folder: Option<&std::path::Path>) -> Result<Knowledge, Failure> {
    compiled(sources(folder)?)
}

fn compiled(sources: Vec<crate::knowledge::library::Source>) -> Result<Knowledge, Failure> {
    side_by_side(sources).map_err(|verdict| {
        let count = verdict.problems.len();
        Failure::Knowledge(format!(
            "{verdict}The knowledge has {count} problem(s); nothing was started."
        ))
    })
}

/// [`Knowledge::compile`] with its halves side by side: nobody waits for the first prompt longer than need be.
fn side_by_side(sources: Vec<crate::knowledge::library::Source>) -> Result<Knowledge, Verdict> {
    let draft = Draft::read(sources)?;
    let (written, learned) = std::thread::scope(|scope| {
        let learned = scope.spawn(|| (draft.learned(), draft.revision()));
        let written = draft.written();
        let learned = learned.join();
        (
            written,
            learned.unwrap_or_else(|panic| resume_unwind(panic)),
        )
    });
    let (learned, revision) = learned;
    draft.finish(written, learned, revision)
}

fn sources(
    folder: Option<&std::path::Path>,
) -> Result<Vec<crate::knowledge::library::Source>, LoadError> {
    folder.map_or_else(|| Ok(load::embedded()), load::folder)
}
