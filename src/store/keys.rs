//! The keys of conversations, kept apart from what they lock, so that one can be destroyed.
//!
//! What is removed from the database stays readable in its file for a long time. So everything that
//! a person wrote is sealed under a key of its conversation, and the keys stand in a file of their
//! own, each in a slot that is overwritten when the conversation is to be forgotten. The file may be
//! a link to one on another disk.
//!
//! ```text
//! slot 0      "floatbwl" | secret for pseudonyms | checksum
//! slot n      conversation | key | checksum          all zero: destroyed
//! ```

use super::folder::not_writable;
use super::name::ConversationId;
use super::problem::StoreError;
use std::fmt::Display;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Bytes of a slot: a name of 8, a key of 32, a checksum of 4, and 4 to spare.
const SLOT: usize = 48;
/// Bytes of a key.
pub const KEY: usize = 32;
/// What stands in place of a conversation in the first slot.
const TITLE: [u8; 8] = *b"floatbwl";

/// A slot in use.
type Bytes = [u8; SLOT];

/// Where a key is kept.
pub type Slot = u32;

/// What a slot holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Held {
    /// A key.
    Key([u8; KEY]),
    /// Nothing any more: it was overwritten.
    Destroyed,
}

/// All keys, and the secret that makes pseudonyms.
pub struct Keys {
    medium: Medium,
    secret: [u8; KEY],
    next: Slot,
    dirty: bool,
}

enum Medium {
    File(File, PathBuf),
    Memory(Vec<u8>),
}

impl Keys {
    /// The slot of the secret.
    pub const SECRET: Slot = 0;

    /// Every slot there is, that of the secret among them.
    pub fn slots(&self) -> impl Iterator<Item = Slot> + use<> {
        Self::SECRET..self.next
    }

    /// Every conversation that has a key, as far as the keys are whole: with or without rows.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn conversations(&mut self) -> Result<Vec<ConversationId>, StoreError> {
        let bytes = self.all()?;
        let slots = bytes.chunks_exact(SLOT).skip(1);
        let held = slots.filter(|slot| whole(slot) && slot.iter().any(|byte| *byte != 0));
        let names = held.filter_map(|slot| slot.first_chunk());
        Ok(names
            .map(|name| ConversationId(u64::from_be_bytes(*name)))
            .collect())
    }

    /// Keys that are gone with the process.
    ///
    /// # Errors
    /// When the system has no randomness.
    pub fn in_memory() -> Result<Self, StoreError> {
        Self::begin(Medium::Memory(Vec::new()), random()?)
    }

    /// Opens the file of keys. A new one is made only for a database that is new as well.
    ///
    /// # Errors
    /// When it is missing, damaged, or cannot be read or written.
    pub fn open(path: &Path, new: bool) -> Result<Self, StoreError> {
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(new);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let file = options.open(path).map_err(|error| unopened(path, &error))?;
        let length = file.metadata().map_err(|e| not_writable(path, e))?.len();
        let medium = Medium::File(file, path.to_owned());
        if length < SLOT as u64 && new {
            return Self::begin(medium, random()?);
        }
        Self::resume(medium, length)
    }

    fn begin(medium: Medium, secret: [u8; KEY]) -> Result<Self, StoreError> {
        let mut keys = Self {
            medium,
            secret,
            next: 1,
            dirty: true,
        };
        keys.write(0, &slot(TITLE, &secret))?;
        keys.sync()?;
        Ok(keys)
    }

    fn resume(medium: Medium, length: u64) -> Result<Self, StoreError> {
        let slots = length / SLOT as u64;
        let mut keys = Self {
            medium,
            secret: [0; KEY],
            // A last slot that was torn is left behind: no conversation can refer to it.
            next: Slot::try_from(slots + u64::from(!length.is_multiple_of(SLOT as u64)))
                .map_err(|_| damaged(0, "it is too long"))?,
            dirty: false,
        };
        match keys.read(0, TITLE)? {
            Held::Key(secret) => keys.secret = secret,
            Held::Destroyed => return Err(damaged(0, "the secret is missing")),
        }
        Ok(keys)
    }

    /// Slots whose bytes are not the ones written: damage, or a key whose writing was cut short.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn spoilt(&mut self) -> Result<Vec<Slot>, StoreError> {
        let bytes = self.all()?;
        let slots = (0..).zip(bytes.chunks_exact(SLOT));
        Ok(slots
            .filter(|(_, bytes)| !whole(bytes))
            .map(|(at, _)| at)
            .collect())
    }

    fn all(&mut self) -> Result<Vec<u8>, StoreError> {
        let mut all = Vec::new();
        match &mut self.medium {
            Medium::Memory(bytes) => all.clone_from(bytes),
            Medium::File(file, path) => {
                let read = file
                    .seek(SeekFrom::Start(0))
                    .and_then(|_| file.read_to_end(&mut all));
                read.map_err(|error| not_writable(path, error))?;
            }
        }
        Ok(all)
    }

    /// The secret that makes pseudonyms.
    #[must_use]
    pub fn secret(&self) -> &[u8; KEY] {
        &self.secret
    }

    /// Takes over the secret of another store; only while there is no conversation.
    ///
    /// # Errors
    /// When the medium fails.
    pub fn adopt(&mut self, secret: [u8; KEY]) -> Result<(), StoreError> {
        self.write(0, &slot(TITLE, &secret))?;
        self.secret = secret;
        Ok(())
    }

    /// Makes a key for a conversation. Durable after the next sync.
    ///
    /// # Errors
    /// When the medium fails or the system has no randomness.
    pub fn make(&mut self, conversation: ConversationId) -> Result<(Slot, [u8; KEY]), StoreError> {
        let (at, key) = (self.next, random()?);
        self.write(at, &slot(conversation.0.to_be_bytes(), &key))?;
        self.next += 1;
        Ok((at, key))
    }

    /// The key of a conversation.
    ///
    /// # Errors
    /// When the slot is damaged or belongs to another conversation.
    pub fn key(&mut self, at: Slot, conversation: ConversationId) -> Result<Held, StoreError> {
        self.read(at, conversation.0.to_be_bytes())
    }

    /// Overwrites a key. Durable after the next sync.
    ///
    /// # Errors
    /// When the medium fails.
    pub fn destroy(&mut self, at: Slot) -> Result<(), StoreError> {
        self.write(at, &[0; SLOT])
    }

    /// Makes everything so far survive a loss of power.
    ///
    /// # Errors
    /// When the medium fails.
    pub fn sync(&mut self) -> Result<(), StoreError> {
        if let (Medium::File(file, path), true) = (&self.medium, self.dirty) {
            file.sync_data().map_err(|error| unwritten(path, &error))?;
        }
        self.dirty = false;
        Ok(())
    }

    fn write(&mut self, at: Slot, bytes: &Bytes) -> Result<(), StoreError> {
        self.dirty = true;
        let from = SLOT * at as usize;
        match &mut self.medium {
            Medium::Memory(all) => {
                all.resize(all.len().max(from + SLOT), 0);
                all[from..from + SLOT].copy_from_slice(bytes);
                Ok(())
            }
            Medium::File(file, path) => {
                let written = file
                    .seek(SeekFrom::Start(from as u64))
                    .and_then(|_| file.write_all(bytes));
                written.map_err(|error| unwritten(path, &error))
            }
        }
    }

    fn read(&mut self, at: Slot, name: [u8; 8]) -> Result<Held, StoreError> {
        let mut bytes = [0; SLOT];
        let from = SLOT * at as usize;
        let found = match &mut self.medium {
            Medium::Memory(all) => all
                .get(from..from + SLOT)
                .map(|found| bytes.copy_from_slice(found))
                .ok_or_else(|| io::Error::from(io::ErrorKind::UnexpectedEof)),
            Medium::File(file, _) => file
                .seek(SeekFrom::Start(from as u64))
                .and_then(|_| file.read_exact(&mut bytes)),
        };
        found.map_err(|error| damaged(at, &error))?;
        if bytes == [0; SLOT] {
            return Ok(Held::Destroyed);
        }
        let mut key = [0; KEY];
        key.copy_from_slice(&bytes[8..8 + KEY]);
        if bytes != slot(name, &key) {
            return Err(damaged(at, "its bytes are not the ones written"));
        }
        Ok(Held::Key(key))
    }
}

/// Whether a slot holds what was written to it: a key with its checksum, or nothing any more.
fn whole(bytes: &[u8]) -> bool {
    let sum = crc32fast::hash(&bytes[..8 + KEY]).to_be_bytes();
    bytes.iter().all(|byte| *byte == 0) || bytes[8 + KEY..12 + KEY] == sum
}

/// A key with its name and checksum.
fn slot(name: [u8; 8], key: &[u8; KEY]) -> Bytes {
    let mut bytes = [0; SLOT];
    bytes[..8].copy_from_slice(&name);
    bytes[8..8 + KEY].copy_from_slice(key);
    let sum = crc32fast::hash(&bytes[..8 + KEY]);
    bytes[8 + KEY..12 + KEY].copy_from_slice(&sum.to_be_bytes());
    bytes
}

/// Bytes nobody can guess.
fn random() -> Result<[u8; KEY], StoreError> {
    let mut bytes = [0; KEY];
    getrandom::fill(&mut bytes).map_err(|error| StoreError::NoRandomness {
        what: error.to_string(),
    })?;
    Ok(bytes)
}

fn damaged(at: Slot, what: impl Display) -> StoreError {
    StoreError::Damaged {
        place: format!("key {at} in the file of keys"),
        what: what.to_string(),
    }
}

fn unwritten(path: &Path, error: &io::Error) -> StoreError {
    StoreError::WriteFailed {
        place: path.display().to_string(),
        what: error.to_string(),
    }
}

fn unopened(path: &Path, error: &io::Error) -> StoreError {
    if error.kind() == io::ErrorKind::NotFound {
        return StoreError::Damaged {
            place: path.display().to_string(),
            what: "the keys are missing; without them nothing in the folder can be read".to_owned(),
        };
    }
    not_writable(path, error)
}
