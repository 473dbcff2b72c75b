//! A data folder on disk: what belongs in it, which form it has, and how damage shows.
//!
//! ```text
//! FOLDER/FORM         "floatbowl 1": read before anything is opened
//! FOLDER/lock         locked by the process that uses the folder
//! FOLDER/turns/       the database
//! FOLDER/keys         the keys of the conversations; see `keys`
//! FOLDER/seal         what the database's files were when it was closed; see `seal`
//! FOLDER/mark         how many syncs the database is known to have completed
//! FOLDER/untouched/   the database as a crash left it, until it has been opened and checked
//! ```

use super::mark::Mark;
use super::problem::StoreError;
use super::segment::LOG;
use super::whole;
use std::fmt::Display;
use std::fs::{self, DirBuilder, File, TryLockError};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// The newest form of data folder this program knows.
const FORM: u32 = 1;
/// What the form file starts with.
const TITLE: &str = "floatbowl ";

/// A folder that is ours to use.
#[derive(Debug, Clone)]
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// Makes or recognises a data folder. A folder with something else in it is left alone.
    ///
    /// # Errors
    /// When it is no folder, not ours, not writable, or of a newer form.
    pub fn prepare(path: &Path) -> Result<Self, StoreError> {
        let folder = Self {
            path: path.to_owned(),
        };
        if path.exists() && !path.is_dir() {
            return Err(StoreError::NotFolder { path: folder.path });
        }
        private()
            .create(path)
            .map_err(|error| not_writable(path, error))?;
        match fs::read_to_string(folder.form()) {
            Ok(text) => folder.recognise(&text)?,
            Err(error) if error.kind() == ErrorKind::NotFound => folder.found()?,
            Err(error) => return Err(not_writable(&folder.form(), error)),
        }
        Ok(folder)
    }

    /// A folder taken as it is.
    #[must_use]
    pub fn unproven(path: &Path) -> Self {
        Self {
            path: path.to_owned(),
        }
    }

    fn form(&self) -> PathBuf {
        self.path.join("FORM")
    }

    /// Takes the folder for this process, until the file is dropped.
    ///
    /// # Errors
    /// When another process has it, or it cannot be written to.
    pub fn lock(&self) -> Result<File, StoreError> {
        let path = self.path.join("lock");
        let file = File::create(&path).map_err(|error| not_writable(&path, error))?;
        match file.try_lock() {
            Ok(()) => Ok(file),
            Err(TryLockError::WouldBlock) => Err(StoreError::Locked {
                folder: self.path.clone(),
            }),
            Err(TryLockError::Error(error)) => Err(not_writable(&path, error)),
        }
    }

    /// Where the database lives.
    #[must_use]
    pub fn database(&self) -> PathBuf {
        self.path.join("turns")
    }

    fn recognise(&self, text: &str) -> Result<(), StoreError> {
        let form = text.strip_prefix(TITLE).map(|rest| rest.trim().parse());
        match form {
            Some(Ok(form)) if form > FORM => Err(StoreError::Newer {
                place: self.form().display().to_string(),
                found: form,
                known: FORM,
            }),
            Some(Ok(_)) => Ok(()),
            _ => Err(StoreError::Damaged {
                place: self.form().display().to_string(),
                what: format!("it should read \"{TITLE}{FORM}\""),
            }),
        }
    }

    /// Turns an empty folder into a data folder.
    fn found(&self) -> Result<(), StoreError> {
        let half_made = whole::part(&self.form());
        for entry in fs::read_dir(&self.path).map_err(|e| not_writable(&self.path, e))? {
            if entry.map_or(true, |entry| entry.path() != half_made) {
                return Err(StoreError::Foreign {
                    folder: self.path.clone(),
                });
            }
        }
        let written = whole::write(&self.form(), format!("{TITLE}{FORM}\n").as_bytes());
        written.map_err(|error| not_writable(&self.form(), error))
    }

    /// The database's own file, to be synced.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub fn database_file(&self) -> Result<File, StoreError> {
        let path = self.database().join(LOG);
        File::open(&path).map_err(|error| not_writable(&path, error))
    }

    /// Where the keys live.
    #[must_use]
    pub fn keys(&self) -> PathBuf {
        self.path.join("keys")
    }

    /// Where the seal lives.
    #[must_use]
    pub fn seal(&self) -> PathBuf {
        self.path.join("seal")
    }

    fn untouched(&self) -> PathBuf {
        self.path.join("untouched")
    }

    /// Copies a database that was not closed, since opening it will mend it. An older copy, left
    /// by an opening that failed, is worth more and stays.
    ///
    /// # Errors
    /// When it cannot be copied.
    pub fn set_aside(&self) -> Result<(), StoreError> {
        let (from, to) = (self.database(), self.untouched());
        if !from.exists() || to.exists() {
            return Ok(());
        }
        let half = whole::part(&to);
        let copied = remove(&half)
            .and_then(|()| copy(&from, &half))
            .and_then(|()| fs::rename(&half, &to));
        copied.map_err(|error| not_writable(&to, error))
    }

    /// Drops the copy: the database has been opened and checked.
    ///
    /// # Errors
    /// When it cannot be removed.
    pub fn accept(&self) -> Result<(), StoreError> {
        let path = self.untouched();
        let half = whole::part(&path);
        if path.exists() {
            // Half a copy must not look like one when a crash comes in between.
            let gone = remove(&half).and_then(|()| fs::rename(&path, &half));
            gone.map_err(|error| not_writable(&path, error))?;
        }
        remove(&half).map_err(|error| not_writable(&half, error))
    }

    /// Makes it durable that the files are there.
    ///
    /// # Errors
    /// When the system cannot.
    pub fn sync(&self) -> Result<(), StoreError> {
        for folder in [self.database(), self.path.clone()] {
            whole::sync_folder(&folder).map_err(|error| not_writable(&folder, error))?;
        }
        Ok(())
    }

    /// Takes the seal away while the database is open, and one that was half written.
    ///
    /// # Errors
    /// When it cannot be removed.
    pub fn unseal(&self) -> Result<(), StoreError> {
        for path in [self.seal(), whole::part(&self.seal())] {
            match fs::remove_file(&path) {
                Err(error) if error.kind() != ErrorKind::NotFound => {
                    return Err(not_writable(&path, error));
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Clears away what the database was killed over and would trip on.
    ///
    /// # Errors
    /// When it cannot be removed.
    pub fn drop_half_snapshots(&self) -> Result<(), StoreError> {
        let database = self.database();
        whole::drop_half_snapshots(&database).map_err(|error| not_writable(&database, error))
    }

    /// Where the mark stands, as far as it can be read.
    #[must_use]
    pub fn syncs_known(&self) -> u64 {
        let text = fs::read_to_string(self.path.join("mark"));
        text.map_or(0, |text| text.trim().parse().unwrap_or(0))
    }

    /// Opens the mark.
    ///
    /// # Errors
    /// When it cannot be read or is no number.
    pub fn mark(&self) -> Result<Mark, StoreError> {
        Mark::open(&self.path.join("mark"))
    }

    /// Sees to it that the database is not behind the mark.
    ///
    /// # Errors
    /// When it is: something that was stored is gone.
    pub fn compare(&self, mark: &Mark, syncs: u64) -> Result<(), StoreError> {
        let known = mark.syncs();
        if syncs >= known {
            return Ok(());
        }
        let lost = known - syncs;
        let what = format!("the last {lost} of {known} writes are missing from it");
        Err(self.damaged(&what))
    }

    /// The error for a database that would not open.
    #[must_use]
    pub fn unopened(&self, error: &sled::Error) -> StoreError {
        match error {
            sled::Error::Io(io) if is_refusal(io.kind()) => not_writable(&self.database(), io),
            other => self.damaged(other),
        }
    }

    /// The error for something that cannot be read.
    #[must_use]
    pub fn damaged(&self, what: &dyn Display) -> StoreError {
        let aside = self.untouched();
        let what = if aside.exists() {
            format!("{what} (as it was found, it is in {})", aside.display())
        } else {
            what.to_string()
        };
        StoreError::Damaged {
            place: self.database().display().to_string(),
            what,
        }
    }

    /// The error for something that could not be written.
    #[must_use]
    pub fn unwritten(&self, what: &dyn Display) -> StoreError {
        StoreError::WriteFailed {
            place: self.database().display().to_string(),
            what: what.to_string(),
        }
    }
}

/// Makes folders that nobody else may look into: people's words are kept there.
fn private() -> DirBuilder {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder
}

/// Sees to it that no process has a folder, and changes nothing in it.
///
/// # Errors
/// When one has.
pub fn refuse_if_in_use(path: &Path) -> Result<(), StoreError> {
    let lock = File::open(path.join("lock"));
    match lock.map(|file| file.try_lock()) {
        Ok(Err(TryLockError::WouldBlock)) => Err(StoreError::Locked {
            folder: path.to_owned(),
        }),
        _ => Ok(()),
    }
}

/// Removes a folder and what is in it, if it is there.
///
/// # Errors
/// When it cannot be removed.
pub fn remove(folder: &Path) -> io::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// Copies a folder and what is in it.
pub fn copy(from: &Path, to: &Path) -> io::Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let path = entry?.path();
        let target = to.join(path.file_name().unwrap_or_default());
        if path.is_dir() {
            copy(&path, &target)?;
        } else {
            fs::copy(&path, &target)?;
        }
    }
    Ok(())
}

fn is_refusal(kind: ErrorKind) -> bool {
    matches!(
        kind,
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem | ErrorKind::StorageFull
    )
}

pub(super) fn not_writable(path: &Path, error: impl Display) -> StoreError {
    StoreError::NotWritable {
        path: path.to_owned(),
        what: error.to_string(),
    }
}
