//! `floatbowl backup` and `floatbowl restore`: every conversation to a file, and back.

use super::Failure;
use super::data::{Data, wait};
use super::door::{OverStore, World, perform};
use crate::store::{Store, StoreError, archive};
use clap::Args;
use std::fs::{self, File, OpenOptions};
use std::io::{BufWriter, Read, Write};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(super) struct Backup {
    /// The file to write; it must not be there yet.
    file: PathBuf,
    #[command(flatten)]
    data: Data,
}

#[derive(Debug, Args)]
pub(super) struct Restore {
    /// The file to read: a backup, compressed or plain.
    file: PathBuf,
    #[command(flatten)]
    data: Data,
}

impl OverStore for Backup {
    fn folder(&self) -> PathBuf {
        self.data.folder()
    }

    fn perform(&self, world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure> {
        wait(world.store.back_up(out))??;
        Ok(())
    }
}

/// Writes beside the file first, so that a backup is there whole or not at all.
pub(super) fn run(backup: &Backup, knowledge: Option<&Path>) -> Result<(), Failure> {
    if backup.file.exists() {
        return Err(Failure::Unknown(format!(
            "{} is there already; name a file that is not. Nothing was overwritten.",
            backup.file.display()
        )));
    }
    let mut part = backup.file.clone().into_os_string();
    part.push(".part");
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let unwritten = |error: std::io::Error| StoreError::WriteFailed {
        place: backup.file.display().to_string(),
        what: error.to_string(),
    };
    let file = options.open(&part).map_err(unwritten)?;
    let mut out = BufWriter::new(&file);
    let written = perform(backup, knowledge, &mut out)
        .and_then(|()| out.flush().map_err(unwritten).map_err(Failure::from));
    drop(out);
    if let Err(failure) = written {
        fs::remove_file(&part)?;
        return Err(failure);
    }
    file.sync_all().map_err(unwritten)?;
    fs::rename(&part, &backup.file).map_err(unwritten)?;
    let bytes = file.metadata()?.len();
    anstream::println!("{} bytes in {}", bytes, backup.file.display());
    Ok(())
}

/// Brings a backup back to a folder that nobody has open.
pub(super) fn restore(restore: &Restore) -> Result<(), Failure> {
    let unread = |error: std::io::Error| {
        let file = restore.file.display();
        Failure::Unknown(format!("cannot read {file}: {error}; give a backup's file"))
    };
    // Before the folder is made, if it is not there.
    archive::check(Box::new(File::open(&restore.file).map_err(unread)?))?;
    let store = Store::open(&restore.data.folder())?;
    let open = || -> std::io::Result<Box<dyn Read>> { Ok(Box::new(File::open(&restore.file)?)) };
    let restored = wait(store.bring_back(open))??;
    anstream::println!(
        "{} conversations brought back, {} were there already, {} left out since they were forgotten",
        restored.back,
        restored.there,
        restored.forgotten
    );
    Ok(())
}
