//! `floatbowl learn`: priors from confirmed outcomes, for a moderator to put in force or take back.

use super::Failure;
use super::data::{Data, wait};
use super::door::{OverStore, World};
use crate::conversation::State;
use crate::review::learning::{self, Act, Counts, Row, STRENGTH};
use crate::review::transcript::Past;
use crate::store::Store;
use clap::Subcommand;
use jiff::Timestamp;
use std::io::Write;
use std::path::PathBuf;

/// Under which matter the acts are kept.
const MATTER: &str = "learned";

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Print each fault's prior before and after, with its interval.
    Table {
        #[command(flatten)]
        data: Data,
    },
    /// Put the table in force from the next start on.
    Apply {
        #[command(flatten)]
        data: Data,
    },
    /// Take the table in force back; the one before it stands again.
    Revert {
        #[command(flatten)]
        data: Data,
    },
}

impl OverStore for Command {
    fn folder(&self) -> PathBuf {
        match self {
            Self::Table { data } | Self::Apply { data } | Self::Revert { data } => data.folder(),
        }
    }

    fn perform(&self, world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure> {
        let now = Timestamp::now();
        match self {
            Self::Table { .. } => {
                table(&rows(world)?, out)?;
                let in_force = match acts(world.store)?.last() {
                    Some(act) if !act.priors.is_empty() => {
                        format!(
                            "In force: the table of {}.",
                            act.at.strftime("%Y-%m-%d %H:%M")
                        )
                    }
                    _ => "In force: the priors of the knowledge, nothing learned.".to_owned(),
                };
                writeln!(out, "{in_force}")?;
                Ok(())
            }
            Self::Apply { .. } => {
                let rows = rows(world)?;
                if rows.is_empty() {
                    return Err(Failure::Unknown(
                        "There is no confirmed outcome with consent yet; nothing was changed."
                            .to_owned(),
                    ));
                }
                table(&rows, out)?;
                keep(world.store, &learning::act(&rows, now))?;
                writeln!(
                    out,
                    "In force from the next start on. `floatbowl learn revert` takes it back."
                )?;
                Ok(())
            }
            Self::Revert { .. } => {
                let act = learning::reverting(&acts(world.store)?, now).ok_or_else(|| {
                    Failure::Unknown("Nothing is in force that could be taken back.".to_owned())
                })?;
                keep(world.store, &act)?;
                writeln!(out, "Taken back, from the next start on.")?;
                Ok(())
            }
        }
    }
}

/// What moderators decided, oldest first.
pub(super) fn acts(store: &Store) -> Result<Vec<Act>, Failure> {
    let acts = wait(store.acts(MATTER))??;
    let read = |bytes: &Vec<u8>| serde_json::from_slice(bytes).map_err(std::io::Error::from);
    Ok(acts.iter().map(read).collect::<Result<_, _>>()?)
}

fn keep(store: &Store, act: &Act) -> Result<(), Failure> {
    let bytes = serde_json::to_vec(act).map_err(std::io::Error::from)?;
    wait(store.act(MATTER, bytes))??;
    Ok(())
}

fn rows(world: &World<'_>) -> Result<Vec<Row>, Failure> {
    let mut counts = Counts::new();
    wait(async {
        for id in world.store.all().await? {
            if let Some(past) = Past::load(world.store, id).await? {
                let system = State::fold(&past.log()).system;
                learning::count(&mut counts, &past, system.as_ref());
            }
        }
        Ok::<(), crate::store::StoreError>(())
    })??;
    Ok(learning::table(&counts, world.knowledge))
}

fn table(rows: &[Row], out: &mut dyn Write) -> Result<(), Failure> {
    if rows.is_empty() {
        writeln!(out, "There is no confirmed outcome with consent yet.")?;
        return Ok(());
    }
    writeln!(
        out,
        "Each system's priors count as {STRENGTH} confirmed outcomes; the interval holds 95 %."
    )?;
    writeln!(
        out,
        "{:<16} {:<32} {:>6} {:>9} {:>9}  interval",
        "system", "fault", "count", "before", "after"
    )?;
    for row in rows {
        writeln!(
            out,
            "{:<16} {:<32} {:>6} {:>9.5} {:>9.5}  {:.5} to {:.5}",
            row.system.as_str(),
            row.fault.as_str(),
            row.count,
            row.before,
            row.after,
            row.low,
            row.high
        )?;
    }
    Ok(())
}
