//! The default engine: an embedded database in one folder, used as an append-only log.
//!
//! Its background flushing is off. `sync` flushes synchronously and then syncs the database file
//! itself, since the database's own flush leaves metadata and the disk's cache to chance.

use super::engine::{Applied, Batch, Engine, Op, Tree, Visit};
use super::folder::{Folder, Mark};
use super::problem::StoreError;
use sled::transaction::{
    ConflictableTransactionError, TransactionError, Transactional, TransactionalTree,
};
use std::fs::File;
use std::path::Path;

/// The key in [`Tree::Meta`] under which syncs are counted.
const SYNCS: &[u8] = b"syncs";

/// An open database.
pub struct Embedded {
    // Declared before the folder, so that it is closed first.
    database: sled::Db,
    trees: Vec<sled::Tree>,
    file: File,
    folder: Folder,
    mark: Mark,
    syncs: u64,
}

impl Embedded {
    /// Opens the database in a folder, which is made if it is not there.
    ///
    /// # Errors
    /// When the folder is in use, damaged, not writable, not a data folder, or of a newer form.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let folder = Folder::prepare(path)?;
        let database = open_database(&folder)?;
        let trees = Tree::ALL
            .iter()
            .map(|tree| database.open_tree(tree.name()))
            .collect::<Result<Vec<_>, _>>()
            .map_err(|error| folder.damaged(&error))?;
        let file = folder.database_file()?;
        let mark = folder.mark()?;
        let syncs = count(&folder, &trees)?;
        folder.compare(&mark, syncs)?;
        Ok(Self {
            database,
            trees,
            file,
            folder,
            mark,
            syncs,
        })
    }

    fn tree(&self, tree: Tree) -> &sled::Tree {
        &self.trees[tree as usize]
    }
}

fn open_database(folder: &Folder) -> Result<sled::Db, StoreError> {
    sled::Config::new()
        .path(folder.database())
        .flush_every_ms(None)
        .open()
        .map_err(|error| folder.unopened(&error))
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
    fn apply(&mut self, batch: &Batch) -> Result<Applied, StoreError> {
        let done = self
            .trees
            .as_slice()
            .transaction(|trees| perform(trees, batch));
        match done {
            Ok(()) => Ok(Applied::Whole),
            Err(TransactionError::Abort((tree, key))) => Ok(Applied::Refused(tree, key)),
            Err(TransactionError::Storage(error)) => Err(self.folder.unwritten(&error)),
        }
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        let next = self.syncs + 1;
        self.tree(Tree::Meta)
            .insert(SYNCS, &next.to_be_bytes())
            .and_then(|_| self.database.flush())
            .map_err(|error| self.folder.unwritten(&error))?;
        self.file
            .sync_data()
            .map_err(|error| self.folder.unwritten(&error))?;
        self.syncs = next;
        self.mark
            .raise(next)
            .map_err(|error| self.folder.unwritten(&error))
    }

    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        let value = self.tree(tree).get(key);
        let value = value.map_err(|error| self.folder.damaged(&error))?;
        Ok(value.map(|value| value.to_vec()))
    }

    fn last(&self, tree: Tree, prefix: &[u8]) -> Result<Option<(Vec<u8>, Vec<u8>)>, StoreError> {
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
