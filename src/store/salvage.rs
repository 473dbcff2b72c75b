//! Salvage: out of a damaged folder, whatever can still be read goes into a new one.
//!
//! The damaged folder is only read. Its database is copied aside, what is spoilt in the copy is bridged
//! over, and it is opened there, where it may mend itself as it likes. Of each conversation the longest unbroken beginning is taken: whole turns, in
//! order, up to the first that is missing or spoilt.

use super::backup::{self, Line, Whole};
use super::embedded::Embedded;
use super::engine::{Engine, Tree};
use super::folder::{self, not_writable};
use super::keys::Keys;
use super::ledger::Ledger;
use super::name::ConversationId;
use super::problem::StoreError;
use super::{Store, bridge, index, record, seal, whole};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::panic::{self, AssertUnwindSafe};
use std::path::{Path, PathBuf};

/// What could be saved.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Salvaged {
    /// Conversations saved whole.
    pub whole: usize,
    /// Conversations saved up to some turn: which, and how many turns.
    pub cut: Vec<(ConversationId, usize)>,
    /// Conversations that have a key and of which nothing could be read.
    pub lost: Vec<ConversationId>,
    /// How many half megabytes of the log are spoilt among those written last. Whatever was written at
    /// the spoilt places is missing, so whole conversations may have gone on for longer; none where
    /// nothing tells, since the folder was not closed.
    pub spoilt_segments: Option<usize>,
    /// How many of the last writes the database does not know any more. Each was of one turn or of
    /// several, so with any missing, whole conversations may have gone on for longer, and others may
    /// have been begun.
    pub missing_writes: u64,
}

/// Saves what can be read in `damaged` to a new folder.
///
/// # Errors
/// When `new` or the folder beside it for the copy is not empty or cannot be written, or the damaged
/// folder is in use or has no database.
pub fn salvage(damaged: &Path, new: &Path) -> Result<Salvaged, StoreError> {
    if fs::read_dir(new).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(StoreError::Foreign {
            folder: new.to_owned(),
        });
    }
    folder::refuse_if_in_use(damaged)?;
    // Without a slash at the end, which would put the copy inside.
    let mut copy = new.components().as_path().as_os_str().to_owned();
    copy.push(".copy");
    let copy = PathBuf::from(copy);
    if copy.exists() {
        return Err(StoreError::Foreign { folder: copy });
    }
    let result = from_copy(damaged, &copy, new);
    folder::remove(&copy).map_err(|error| not_writable(&copy, error))?;
    result
}

fn from_copy(damaged: &Path, copy: &Path, new: &Path) -> Result<Salvaged, StoreError> {
    let engine = opened(damaged, copy)?;
    let mark = fs::read_to_string(damaged.join("mark")).unwrap_or_default();
    let result = save(engine, new, mark.trim().parse().unwrap_or(0));
    let spoilt_segments = seal::spoilt(&damaged.join("seal"), &damaged.join("turns"));
    result.map(|salvaged| Salvaged {
        spoilt_segments,
        ..salvaged
    })
}

/// The database of a damaged folder, opened in a copy: first with bridges over what is spoilt, then as it
/// is, and each, where it contradicts its own snapshot, so that it reads its whole log.
fn opened(damaged: &Path, copy: &Path) -> Result<Embedded, StoreError> {
    let mut tried = Err(StoreError::Stopped);
    for (bridged, anew) in [(true, false), (true, true), (false, false), (false, true)] {
        tried = attempt(damaged, copy, (bridged, anew));
        if tried.is_ok() {
            break;
        }
    }
    tried
}

fn attempt(
    damaged: &Path,
    copy: &Path,
    (bridged, anew): (bool, bool),
) -> Result<Embedded, StoreError> {
    let (refused, database) = (|error| not_writable(copy, error), copy.join("turns"));
    folder::remove(copy).map_err(refused)?;
    take(damaged, copy)?;
    if bridged {
        bridge::bridge(&database).map_err(refused)?;
    }
    if anew {
        whole::drop_snapshots(&database).map_err(refused)?;
    }
    Embedded::unproven(copy)
}

/// Copies what is to be read: opening a store writes to it.
fn take(damaged: &Path, copy: &Path) -> Result<(), StoreError> {
    let (database, keys) = (damaged.join("turns"), damaged.join("keys"));
    folder::copy(&database, &copy.join("turns")).map_err(|e| not_writable(&database, e))?;
    let copied = fs::copy(&keys, copy.join("keys"));
    copied.map(drop).map_err(|error| not_writable(&keys, error))
}

fn save(engine: Embedded, new: &Path, writes: u64) -> Result<Salvaged, StoreError> {
    let known = engine.syncs();
    let empty = engine.last(Tree::Homes, &[])?.is_none();
    let keys = Keys::open(&engine.keys(), empty)?;
    let source = Ledger::new(engine, keys);
    let store = Store::open(new)?;
    let begin = Line::Begin {
        v: backup::VERSION,
        secret: backup::hex(&source.secret()),
    };
    let bring =
        |line: Line| {
            wait(store.owner.write(move |ledger| {
                backup::bring(ledger, &line, "a salvaged conversation").map(drop)
            }))
        };
    bring(begin)?;
    let mut salvaged = Salvaged {
        missing_writes: writes.saturating_sub(known),
        ..Salvaged::default()
    };
    let known_homes = index::all(source.engine())?;
    for of in known_homes.iter().copied() {
        // The database panics over some kinds of damage.
        let read = panic::catch_unwind(AssertUnwindSafe(|| readable(&source, of)));
        let Some((whole, all)) = read.unwrap_or(None) else {
            continue;
        };
        let turns = whole.replies.len();
        match bring(Line::Conversation(Box::new(whole))) {
            Ok(()) if all => salvaged.whole += 1,
            Ok(()) => salvaged.cut.push((of, turns)),
            Err(StoreError::Backup { .. } | StoreError::Damaged { .. }) => {}
            Err(other) => return Err(other),
        }
    }
    let saved = wait(store.all())?;
    let had = source.with_keys()?.into_iter().chain(known_homes);
    let lost: BTreeSet<_> = had.filter(|of| saved.binary_search(of).is_err()).collect();
    salvaged.lost = lost.into_iter().collect();
    for line in backup::rest(&source).unwrap_or_default() {
        bring(line)?;
    }
    Ok(salvaged)
}

/// Waits for the owner's answer on this thread.
fn wait<T>(work: impl Future<Output = Result<T, StoreError>>) -> Result<T, StoreError> {
    tokio::runtime::Builder::new_current_thread()
        .build()
        .map_err(|_| StoreError::Stopped)?
        .block_on(work)
}

/// The unbroken beginning of a conversation, and whether that is all of it.
fn readable(source: &Ledger, of: ConversationId) -> Option<(Whole, bool)> {
    let (mut whole, mut all) = backup::readable(source, of).ok().flatten()?;
    let turn_of = |value: &Value| value.get("turn").and_then(Value::as_u64);
    let events = whole.events.len();
    whole.events = unbroken(std::mem::take(&mut whole.events));
    all &= events == whole.events.len();
    // Only turns with both their events and their reply count.
    let last = whole.events.last().and_then(turn_of);
    let turns = whole.replies.len().min(usize::try_from(last? + 1).ok()?);
    all &= turns == whole.replies.len() && turn_of(whole.events.last()?) == Some(turns as u64 - 1);
    whole.replies.truncate(turns);
    whole
        .events
        .retain(|event| turn_of(event).is_some_and(|turn| turn < turns as u64));
    (turns > 0).then_some((whole, all))
}

/// Events up to the first that is no record of this version.
fn unbroken(events: Vec<Value>) -> Vec<Value> {
    let good = |event: &Value| {
        let bytes = serde_json::to_vec(event).unwrap_or_default();
        record::read_event(&bytes, "").is_ok()
    };
    events.into_iter().take_while(good).collect()
}
