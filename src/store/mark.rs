//! How many syncs a database is known to have completed, so that a loss shows.
//!
//! The mark is written after each sync and never synced itself, so it can lag behind the database
//! but never run ahead of it. A database that knows of fewer syncs than the mark has lost some.

use super::folder::not_writable;
use super::problem::StoreError;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// The open mark file.
#[derive(Debug)]
pub struct Mark {
    file: File,
    syncs: u64,
}

impl Mark {
    /// Opens the mark, or makes one that stands at nothing.
    ///
    /// # Errors
    /// When it cannot be read or is no number.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let mut options = OpenOptions::new();
        let options = options.read(true).write(true).create(true).truncate(false);
        let mut file = options.open(path).map_err(|e| not_writable(path, e))?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)
            .map_err(|error| not_writable(path, error))?;
        let text = String::from_utf8_lossy(&bytes);
        // Empty: made just now, or the power went before the first number reached the disk.
        let syncs = match text.trim_matches(['\0', '\n', ' ']) {
            "" => 0,
            digits => digits.parse().map_err(|_| StoreError::Damaged {
                place: path.display().to_string(),
                what: "it should hold one number".to_owned(),
            })?,
        };
        Ok(Self { file, syncs })
    }

    /// Where it stands.
    #[must_use]
    pub fn syncs(&self) -> u64 {
        self.syncs
    }

    /// Writes the number of syncs completed.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn raise(&mut self, syncs: u64) -> io::Result<()> {
        self.syncs = syncs;
        self.file.seek(SeekFrom::Start(0))?;
        // Fixed width, so that a shorter number never leaves digits of a longer one behind.
        self.file.write_all(format!("{syncs:020}\n").as_bytes())
    }
}
