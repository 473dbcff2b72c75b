//! `floatbowl store`: check what is kept, save what can be read, let go of what is old.

use super::Failure;
use super::data::{Data, wait};
use super::door::{OverStore, World, through};
use crate::store::salvage::salvage;
use clap::Subcommand;
use jiff::Timestamp;
use std::io::Write;
use std::path::{Path, PathBuf};

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Read everything, and say what is wrong.
    Verify {
        #[command(flatten)]
        data: Data,
    },
    /// Save what can be read of a damaged folder to a new one; the damaged one is left as it is.
    Salvage {
        /// The new folder.
        new: PathBuf,
        #[command(flatten)]
        data: Data,
    },
    /// Erase what has been kept as long as its group keeps conversations.
    Sweep {
        #[command(flatten)]
        data: Data,
    },
}

impl OverStore for Command {
    fn folder(&self) -> PathBuf {
        match self {
            Self::Verify { data } | Self::Salvage { data, .. } | Self::Sweep { data } => {
                data.folder()
            }
        }
    }

    fn perform(&self, world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure> {
        match self {
            Self::Verify { .. } => verify(world, out),
            Self::Salvage { .. } => Err(Failure::Wrong(
                "the folder is open and in use, so it is not damaged; nothing was done".to_owned(),
            )),
            Self::Sweep { .. } => {
                let erased = wait(world.store.sweep(Timestamp::now()))??;
                let (conversations, messages) = (erased.conversations, erased.messages);
                writeln!(
                    out,
                    "{conversations} conversations erased, {messages} messages"
                )?;
                Ok(())
            }
        }
    }
}

pub(super) fn run(command: &Command, knowledge: Option<&Path>) -> Result<(), Failure> {
    let Command::Salvage { new, data } = command else {
        return through(command, knowledge);
    };
    let saved = salvage(&data.folder(), new)?;
    anstream::println!("{} conversations saved whole", saved.whole);
    for (id, turns) in &saved.cut {
        anstream::println!("{id}: saved up to turn {}", turns - 1);
    }
    if saved.missing_writes > 0 {
        anstream::println!(
            "The last {} writes are missing from the database: conversations may have gone on for \
             longer, and others may have been begun. A backup made since would have them.",
            saved.missing_writes
        );
    }
    if saved.spoilt_segments.is_none() {
        anstream::println!(
            "The folder was not closed the last time, so nothing tells whether the log is spoilt in \
             between: conversations may have gone on for longer. Compare with a backup."
        );
    }
    if let Some(spoilt) = saved.spoilt_segments.filter(|spoilt| *spoilt > 0) {
        anstream::println!(
            "{spoilt} half megabyte(s) of the log written last are spoilt. What was written at the \
             spoilt places is missing: conversations may have gone on for longer. A backup made since \
             would have it."
        );
    }
    for id in &saved.lost {
        anstream::println!("{id}: nothing of it can be read");
    }
    Ok(())
}

fn verify(world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let verdict = wait(world.store.verify())??;
    if verdict.problems.is_empty() {
        writeln!(
            out,
            "all is well: {} conversations, {} events, {} replies",
            verdict.conversations, verdict.events, verdict.replies
        )?;
        return Ok(());
    }
    Err(Failure::Wrong(format!(
        "{}\n{} problem(s) in {} conversations. Make a copy of the folder, then bring back a backup \
         or save what can be read with `floatbowl store salvage`.",
        verdict.problems.join("\n"),
        verdict.problems.len(),
        verdict.conversations
    )))
}
