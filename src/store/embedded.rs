//! The default engine: an embedded database in one folder, used as an append-only log.
//!
//! Its background flushing is off. `sync` flushes synchronously and then syncs the database file
//! itself, since the database's own flush leaves metadata and the disk's cache to chance.
//!
//! The database mends what it cannot read, so it is opened only over files that are proven to be
//! the ones it closed, or, after a crash, with a copy set aside.

use super::engine::{Applied, Batch, Engine, Op, Row, Tree, Visit};
use super::folder::Folder;
use super::mark::Mark;
use super::problem::StoreError;
use super::seal::{self, Seal};
use super::segment;
use sled::transaction::{
    ConflictableTransactionError, TransactionError, Transactional, TransactionalTree,
};
use std::cell::Cell;
use std::fmt::Display;
use std::fs::{File, TryLockError};
use std::io;
use std::panic::{self, AssertUnwindSafe};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

/// Bytes of pages kept in memory; conversations that rest should not cost any.
const CACHE: u64 = 64 << 20;
/// How long the database's threads may take to finish after it is closed. They have nothing left to
/// write but what is in a buffer, so only a disk that hangs takes this long.
const LETTING_GO: Duration = Duration::from_secs(30);
/// How many segments of the log may be left for the next opening to read: 64 MB.
const UNSETTLED: usize = 128;
/// The key in [`Tree::Meta`] under which syncs are counted.
const SYNCS: &[u8] = b"syncs";

/// A database in its folder.
pub struct Embedded {
    /// Gone only while the engine is being dropped.
    open: Option<Open>,
    folder: Folder,
    mark: Mark,
    syncs: u64,
    /// What the database was closed with the last time; none if it was not closed.
    seal: Option<Seal>,
    crashed: bool,
    broken: bool,
    /// Whether something read was damaged: without a seal, the next opening keeps a copy.
    doubted: Cell<bool>,
    /// Held until the seal is written.
    _lock: File,
}

struct Open {
    database: sled::Db,
    trees: Vec<sled::Tree>,
    file: File,
}

impl Open {
    /// Closes the database and waits until its own threads have let go of its file, which they hold
    /// locked: till then they may write to it, and nobody can open it again.
    fn close(self) -> io::Result<()> {
        let Self {
            database,
            trees,
            file,
        } = self;
        drop((trees, database));
        let until = Instant::now() + LETTING_GO;
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(()),
                Err(TryLockError::WouldBlock) if Instant::now() < until => {
                    thread::sleep(Duration::from_millis(1));
                }
                Err(error) => return Err(error.into()),
            }
        }
    }
}

impl Embedded {
    /// Opens the database in a folder, which is made if it is not there.
    ///
    /// # Errors
    /// When the folder is in use, damaged, not writable, not a data folder, or of a newer form.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let folder = Folder::prepare(path)?;
        let lock = folder.lock()?;
        let seal = seal::compare(&folder.seal(), &folder.database(), folder.syncs_known())?;
        let crashed = seal.is_none();
        if crashed {
            folder.set_aside()?;
        }
        folder.unseal()?;
        let open = open(&folder)?;
        let mark = folder.mark()?;
        let syncs = count(&folder, &open.trees)?;
        folder.compare(&mark, syncs)?;
        folder.sync()?;
        Ok(Self {
            open: Some(open),
            folder,
            mark,
            syncs,
            seal,
            crashed,
            broken: false,
            doubted: Cell::new(false),
            _lock: lock,
        })
    }

    /// Opens a copy of a database for reading, as it is: without the seal and without the mark. What
    /// it cannot read it may throw away, so it must be a copy.
    ///
    /// # Errors
    /// When there is nothing that can be opened.
    pub fn unproven(path: &Path) -> Result<Self, StoreError> {
        let folder = Folder::unproven(path);
        let lock = folder.lock()?;
        let open = open(&folder)?;
        Ok(Self {
            syncs: count(&folder, &open.trees)?,
            open: Some(open),
            mark: folder.mark()?,
            folder,
            seal: None,
            crashed: true,
            broken: true,
            doubted: Cell::new(true),
            _lock: lock,
        })
    }

    /// Whether the database was not closed the last time. What it holds should then be checked
    /// before [`Embedded::acceptance`].
    #[must_use]
    pub fn crashed(&self) -> bool {
        self.crashed
    }

    /// How many syncs the database knows of.
    #[must_use]
    pub fn syncs(&self) -> u64 {
        self.syncs
    }

    /// What ends the doubt: it drops the copy made before opening.
    pub fn acceptance(&self) -> impl FnOnce() -> Result<(), StoreError> + use<> {
        let folder = self.folder.clone();
        move || folder.accept()
    }

    /// Where the keys of the conversations are kept.
    #[must_use]
    pub fn keys(&self) -> std::path::PathBuf {
        self.folder.keys()
    }

    fn parts(&self) -> &Open {
        self.open.as_ref().expect("open until dropped")
    }

    fn tree(&self, tree: Tree) -> &sled::Tree {
        &self.parts().trees[tree as usize]
    }

    fn breakage(&mut self, what: &dyn Display) -> StoreError {
        self.broken = true;
        self.folder.unwritten(what)
    }
}

impl Drop for Embedded {
    fn drop(&mut self) {
        let closed = self.open.take().map_or(Ok(()), Open::close);
        if self.broken || self.doubted.get() {
            return;
        }
        let (seal, database) = (self.folder.seal(), self.folder.database());
        let sealed = closed
            .and_then(|()| settle(&self.folder))
            .and_then(|()| seal::write(&seal, &database, self.seal.as_ref()));
        if let Err(error) = sealed {
            // Without a seal the next opening takes it for a crash: slower, and as safe.
            tracing::warn!(%error, "the database could not be sealed");
        }
    }
}

/// Lets the database take a snapshot, which it does as it opens and at no other time, where so much was
/// written that the next opening would take long to read it.
fn settle(folder: &Folder) -> io::Result<()> {
    if segment::since_snapshot(&folder.database())? > UNSETTLED {
        open(folder).map_err(io::Error::other)?.close()?;
    }
    Ok(())
}

fn open(folder: &Folder) -> Result<Open, StoreError> {
    folder.drop_half_snapshots()?;
    // The database panics over some kinds of damage.
    let opened = panic::catch_unwind(AssertUnwindSafe(|| open_database(folder)));
    opened.unwrap_or_else(|_| Err(folder.damaged(&"the database cannot make sense of it")))
}

fn open_database(folder: &Folder) -> Result<Open, StoreError> {
    let database = sled::Config::new()
        .path(folder.database())
        .flush_every_ms(None)
        .cache_capacity(CACHE)
        .segment_size(segment::SIZE)
        .open()
        .map_err(|error| folder.unopened(&error))?;
    let trees = Tree::ALL.iter().map(|tree| database.open_tree(tree.name()));
    let trees = trees
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| folder.damaged(&error))?;
    let file = folder.database_file()?;
    Ok(Open {
        database,
        trees,
        file,
    })
}

fn count(folder: &Folder, trees: &[sled::Tree]) -> Result<u64, StoreError> {
    let value = trees[Tree::Meta as usize]
        .get(SYNCS)
        .map_err(|error| folder.damaged(&error))?;
    let Some(value) = value else { return Ok(0) };
    let bytes = value
        .as_ref()
        .try_into()
        .map_err(|_| folder.damaged(&"the count of writes is no number"))?;
    Ok(u64::from_be_bytes(bytes))
}

/// Why a transaction was given up: this key exists already.
type Taken = (Tree, Vec<u8>);

fn perform(
    trees: &[TransactionalTree],
    batch: &Batch,
) -> Result<(), ConflictableTransactionError<Taken>> {
    for op in &batch.0 {
        match op {
            Op::Add(tree, key, value) => {
                let before = trees[*tree as usize].insert(key.as_slice(), value.as_slice())?;
                if before.is_some() {
                    let taken = (*tree, key.clone());
                    return Err(ConflictableTransactionError::Abort(taken));
                }
            }
            Op::Put(tree, key, value) => {
                trees[*tree as usize].insert(key.as_slice(), value.as_slice())?;
            }
            Op::Remove(tree, key) => {
                trees[*tree as usize].remove(key.as_slice())?;
            }
        }
    }
    Ok(())
}

impl Engine for Embedded {
    fn doubt(&self) {
        self.doubted.set(true);
    }

    fn apply(&mut self, batch: &Batch) -> Result<Applied, StoreError> {
        let trees = self.parts().trees.as_slice();
        match trees.transaction(|trees| perform(trees, batch)) {
            Ok(()) => Ok(Applied::Whole),
            Err(TransactionError::Abort((tree, key))) => Ok(Applied::Refused(tree, key)),
            Err(TransactionError::Storage(error)) => Err(self.breakage(&error)),
        }
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        if self.broken {
            // A write that failed half way may still be seen; nothing that rests on it may go out.
            return Err(self.folder.unwritten(&"a write before it failed"));
        }
        let next = self.syncs + 1;
        let flushed = self
            .tree(Tree::Meta)
            .insert(SYNCS, &next.to_be_bytes())
            .and_then(|_| self.parts().database.flush());
        flushed.map_err(|error| self.breakage(&error))?;
        let synced = self.parts().file.sync_data();
        synced.map_err(|error| self.breakage(&error))?;
        self.syncs = next;
        let marked = self.mark.raise(next);
        marked.map_err(|error| self.breakage(&error))
    }

    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        let value = self.tree(tree).get(key);
        let value = value.map_err(|error| self.folder.damaged(&error))?;
        Ok(value.map(|value| value.to_vec()))
    }

    fn last(&self, tree: Tree, prefix: &[u8]) -> Result<Option<Row>, StoreError> {
        let row = self.tree(tree).scan_prefix(prefix).next_back().transpose();
        let row = row.map_err(|error| self.folder.damaged(&error))?;
        Ok(row.map(|(key, value)| (key.to_vec(), value.to_vec())))
    }

    fn scan(&self, tree: Tree, prefix: &[u8], visit: Visit<'_>) -> Result<(), StoreError> {
        for row in self.tree(tree).scan_prefix(prefix) {
            let (key, value) = row.map_err(|error| self.folder.damaged(&error))?;
            visit(&key, &value)?;
        }
        Ok(())
    }
}
