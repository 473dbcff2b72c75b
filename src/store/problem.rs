//! What can go wrong with stored conversations, each with what it means and what to do.

use serde_json::error::Category;
use std::path::PathBuf;

/// Why a text is no record, without any of the text: it may be what a person wrote, and errors end up in
/// logs.
#[must_use]
pub fn misshapen(error: &serde_json::Error) -> String {
    match error.classify() {
        Category::Data => format!(
            "it has not the form it should have, from column {} on",
            error.column()
        ),
        Category::Io | Category::Syntax | Category::Eof => error.to_string(),
    }
}

/// Why the store could not do what it was asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// Another process has the folder open.
    #[error(
        "the data folder {folder} is in use by another floatbowl.\n\
         Two programs must not write to the same conversations. Close the other one, or name \
         another folder with --data. Nothing was changed."
    )]
    Locked {
        /// The folder.
        folder: PathBuf,
    },
    /// The path is there but is no folder.
    #[error(
        "{path} is a file, not a folder.\n\
         Conversations are kept in a folder of their own. Name a folder with --data. \
         Nothing was changed."
    )]
    NotFolder {
        /// The path.
        path: PathBuf,
    },
    /// The folder holds something else.
    #[error(
        "the folder {folder} is not empty and holds no floatbowl conversations.\n\
         Name an empty or a new folder with --data. Nothing was changed."
    )]
    Foreign {
        /// The folder.
        folder: PathBuf,
    },
    /// This process may not write there.
    #[error(
        "cannot write to {path}: {what}.\n\
         Conversations cannot be kept there. Give yourself permission to write to it, or name \
         another folder with --data."
    )]
    NotWritable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        what: String,
    },
    /// A newer version of this program wrote it.
    #[error(
        "{place} was written by a newer floatbowl (form {found}; this one knows up to {known}).\n\
         Use the newer program. Nothing was changed."
    )]
    Newer {
        /// The file or record.
        place: String,
        /// The version found.
        found: u32,
        /// The newest version known.
        known: u32,
    },
    /// What is stored cannot be what was written.
    #[error(
        "{place} is damaged: {what}.\n\
         Make a copy of the data folder before anything else, then bring back a backup with \
         `floatbowl restore`, or what can still be read with `floatbowl store salvage`. Nothing was \
         thrown away."
    )]
    Damaged {
        /// The file or record.
        place: String,
        /// What is wrong with it.
        what: String,
    },
    /// Someone else wrote to the conversation in between.
    #[error(
        "another message of the same conversation was being answered ({place}).\n\
         Nothing was stored. Send the message again."
    )]
    Overtaken {
        /// The record that was already there.
        place: String,
    },
    /// Writing failed: disk full, device gone.
    #[error(
        "writing to {place} failed: {what}.\n\
         The last message has no answer. Make room on the disk, see that it is still there, then \
         start again and say it once more: everything answered so far is kept."
    )]
    WriteFailed {
        /// The file or folder.
        place: String,
        /// What the system said.
        what: String,
    },
    /// The system gives no random numbers, so nothing can be sealed.
    #[error(
        "this system gives no random numbers ({what}), so nothing can be kept safely.\n\
         Nothing was stored. Start floatbowl where /dev/urandom can be read."
    )]
    NoRandomness {
        /// What the system said.
        what: String,
    },
    /// A backup cannot be brought back as it is.
    #[error("{place}: {what}")]
    Backup {
        /// The file, with the line.
        place: String,
        /// What is wrong, and what to do.
        what: String,
    },
    /// The store stopped after an earlier failure.
    #[error(
        "the store has stopped after an earlier failure.\n\
         Start floatbowl again: everything answered so far is kept."
    )]
    Stopped,
}
