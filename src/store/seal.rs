//! Proof that the database's files are the ones that were closed.
//!
//! The database mends its files while opening them: what it cannot read it takes for the end of a
//! torn write and cuts off. So damage has to be found before it is opened. At closing, the length
//! and checksum of every file is written to `FOLDER/seal`; at opening they are compared, and the
//! seal is taken away until the next closing.

use super::problem::StoreError;
use super::whole;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// One file as it was closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Sealed {
    name: String,
    length: u64,
    crc32: u32,
}

/// What a seal says about a database.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Every file is as it was closed.
    Whole,
    /// There is no seal: it was not closed, or is new.
    Unsealed,
}

/// Compares the files of a database with its seal, reading only.
///
/// # Errors
/// When they differ, or cannot be read.
pub fn compare(seal: &Path, database: &Path) -> Result<Verdict, StoreError> {
    let text = match fs::read(seal) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Verdict::Unsealed),
        Err(error) => return Err(damaged(seal, &error.to_string())),
    };
    let sealed: Vec<Sealed> =
        serde_json::from_slice(&text).map_err(|error| damaged(seal, &error.to_string()))?;
    for sealed in &sealed {
        let path = database.join(&sealed.name);
        let found = examine(&path).map_err(|error| damaged(&path, &error.to_string()))?;
        if found.length != sealed.length {
            let (was, is) = (sealed.length, found.length);
            let what = format!("it has {is} bytes and was closed with {was}");
            return Err(damaged(&path, &what));
        }
        if found.crc32 != sealed.crc32 {
            return Err(damaged(
                &path,
                "its bytes are not the ones it was closed with",
            ));
        }
    }
    Ok(Verdict::Whole)
}

/// Seals the files of a database that has been closed.
///
/// # Errors
/// When one cannot be read, or the seal not written.
pub fn write(seal: &Path, database: &Path) -> io::Result<()> {
    let mut files = files(database)?;
    files.sort();
    let sealed = files.iter().map(|path| examine(path));
    let sealed = sealed.collect::<io::Result<Vec<_>>>()?;
    whole::write(seal, &serde_json::to_vec(&sealed)?)
}

/// Files directly in a folder.
fn files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            // Values too large for the log stand alone there; the database checks them itself.
            continue;
        }
        found.push(path);
    }
    Ok(found)
}

fn examine(path: &Path) -> io::Result<Sealed> {
    let mut file = File::open(path)?;
    let mut hasher = crc32fast::Hasher::new();
    let mut piece = vec![0; 1 << 18];
    let mut length = 0;
    loop {
        let read = file.read(&mut piece)?;
        if read == 0 {
            break;
        }
        hasher.update(&piece[..read]);
        length += read as u64;
    }
    let name = path.file_name().unwrap_or_default();
    Ok(Sealed {
        name: name.to_string_lossy().into_owned(),
        length,
        crc32: hasher.finalize(),
    })
}

fn damaged(path: &Path, what: &str) -> StoreError {
    StoreError::Damaged {
        place: path.display().to_string(),
        what: what.to_owned(),
    }
}
