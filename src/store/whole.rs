//! Files that are written whole or not at all, whenever the process is killed.

use super::segment::SNAPSHOT;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// How the database ends the name of a snapshot it is still writing.
const GENERATING: &str = ".generating";

/// Where a file is written before it takes its place.
#[must_use]
pub fn part(path: &Path) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(".part");
    PathBuf::from(name)
}

/// Writes a file beside its place, syncs it, and puts it there.
///
/// # Errors
/// When it cannot be written or put in place.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let part = part(path);
    let mut file = File::create(&part)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    fs::rename(part, path)?;
    path.parent().map_or(Ok(()), sync_folder)
}

/// Makes it durable which files are in a folder.
///
/// # Errors
/// When the system cannot.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    // Elsewhere a folder cannot be opened as a file, and need not be.
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Removes snapshots that the database was killed over. It would take the half of one for a whole one
/// and read it as damage; its log, and the snapshot before, hold all that is in them.
///
/// # Errors
/// When the folder cannot be read or one cannot be removed.
pub fn drop_half_snapshots(database: &Path) -> io::Result<()> {
    drop_files(database, |name| {
        name.starts_with(SNAPSHOT) && name.ends_with(GENERATING)
    })
}

/// Removes every snapshot: the database will read its whole log.
///
/// # Errors
/// When the folder cannot be read or one cannot be removed.
pub fn drop_snapshots(database: &Path) -> io::Result<()> {
    drop_files(database, |name| name.starts_with(SNAPSHOT))
}

fn drop_files(database: &Path, which: fn(&str) -> bool) -> io::Result<()> {
    let entries = match fs::read_dir(database) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        entries => entries?,
    };
    for entry in entries {
        let entry = entry?;
        if which(&entry.file_name().to_string_lossy()) {
            fs::remove_file(entry.path())?;
        }
    }
    Ok(())
}
