//! Proof that what the database may mend as it opens is what it closed with.
//!
//! The database mends its log while opening: what it cannot read it takes for the end of a torn write
//! and cuts off. So damage there has to be found before. At closing, the checksums of every file and of
//! every segment of the log are written to `FOLDER/seal`; at opening they are compared, and the seal is
//! taken away until the next closing.
//!
//! Of the log, only what was written after the last snapshot is read by the opening database, and so
//! only that can be mended away; all of it is compared. What is older does not change until it is
//! written anew, and every read of it is checked, by the database and by the cipher. It may be far more
//! than can be read before a rider waits: so of that, each opening compares a share, the next one
//! another. Its checksum is taken once and handed on from seal to seal, so that what is spoilt while
//! nobody looks is never sealed as it is.

use super::problem::StoreError;
use super::segment::{self, LOG};
use super::whole;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io;
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread;

/// How many old segments are compared at each opening: 256 MB, about a tenth of a second.
const SHARE: usize = 512;

/// What a closed database consisted of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// The files beside the log.
    files: Vec<Sealed>,
    /// Bytes of the log.
    length: u64,
    /// From which number on the database reads the log as it opens.
    floor: u64,
    /// The number and the checksum of each segment of the log.
    segments: Vec<(Option<u64>, u32)>,
}

/// One file as it was closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Sealed {
    name: String,
    length: u64,
    crc32: u32,
}

impl Seal {
    /// The last segment written to, which goes on being written to.
    fn tip(&self) -> Option<u64> {
        self.segments.iter().filter_map(|(number, _)| *number).max()
    }

    /// The checksum of a segment that cannot have changed since.
    fn settled(&self, at: usize, number: Option<u64>) -> Option<u32> {
        let (was, crc32) = *self.segments.get(at)?;
        (was.is_some() && was == number && was < self.tip()).then_some(crc32)
    }

    /// The segments to be compared at an opening: all that may be mended, and a share of the others.
    fn to_compare(&self, opening: u64, share: usize) -> Vec<usize> {
        let old = |at: &usize| {
            self.segments[*at]
                .0
                .is_some_and(|number| number < self.floor)
        };
        let (old, mut chosen): (Vec<usize>, Vec<usize>) = (0..self.segments.len()).partition(old);
        if !old.is_empty() && share > 0 {
            let shares = old.len().div_ceil(share) as u64;
            let from = usize::try_from(opening % shares).unwrap_or(0) * share;
            chosen.extend(old.iter().skip(from).take(share));
        }
        chosen
    }
}

/// Compares the files of a database with their seal, reading only. `opening` chooses the share of what
/// is old. None where there is no seal: the database was not closed, or is new.
///
/// # Errors
/// When they differ, or cannot be read.
pub fn compare(seal: &Path, database: &Path, opening: u64) -> Result<Option<Seal>, StoreError> {
    compare_share(seal, database, (opening, SHARE))
}

fn compare_share(
    seal: &Path,
    database: &Path,
    (opening, share): (u64, usize),
) -> Result<Option<Seal>, StoreError> {
    let text = match fs::read(seal) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(damaged(seal, &error.to_string())),
    };
    let sealed: Seal =
        serde_json::from_slice(&text).map_err(|error| damaged(seal, &error.to_string()))?;
    for file in &sealed.files {
        let path = database.join(&file.name);
        let found = examine(&path).map_err(|error| damaged(&path, &error.to_string()))?;
        same_length(&path, file.length, found.length)?;
        if found.crc32 != file.crc32 {
            return Err(damaged(&path, CHANGED));
        }
    }
    let log = database.join(LOG);
    let found = fs::metadata(&log).map_err(|error| damaged(&log, &error.to_string()))?;
    same_length(&log, sealed.length, found.len())?;
    let chosen = sealed.to_compare(opening, share);
    let differs = differing(&log, &sealed, &chosen);
    match differs.map_err(|error| damaged(&log, &error.to_string()))? {
        Some(at) => {
            let from = at * segment::SIZE;
            Err(damaged(
                &log,
                &format!("{CHANGED}, in the half megabyte from {from} on"),
            ))
        }
        None => Ok(Some(sealed)),
    }
}

/// How many segments that an opening database reads differ from the seal, or are gone; none where there
/// is no seal to tell.
#[must_use]
pub fn spoilt(seal: &Path, database: &Path) -> Option<usize> {
    let sealed: Seal = serde_json::from_slice(&fs::read(seal).ok()?).ok()?;
    let log = File::open(database.join(LOG)).ok()?;
    let read_first = sealed.to_compare(0, 0);
    let same =
        |at: &usize| segment::checksum(&log, *at).is_ok_and(|is| is == sealed.segments[*at].1);
    Some(read_first.into_iter().filter(|at| !same(at)).count())
}

const CHANGED: &str = "its bytes are not the ones it was closed with";

fn same_length(path: &Path, was: u64, is: u64) -> Result<(), StoreError> {
    if was == is {
        return Ok(());
    }
    let what = format!("it has {is} bytes and was closed with {was}");
    Err(damaged(path, &what))
}

/// The first of some segments that is not as it was, looked for by as many threads as can run.
fn differing(log: &Path, sealed: &Seal, chosen: &[usize]) -> io::Result<Option<usize>> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    let some = chosen.len().div_ceil(threads).max(1);
    thread::scope(|scope| {
        let looking: Vec<_> = chosen
            .chunks(some)
            .map(|chosen| scope.spawn(move || first_differing(log, sealed, chosen)))
            .collect();
        for found in looking {
            let found = found.join().expect("looking does not panic")?;
            if found.is_some() {
                return Ok(found);
            }
        }
        Ok(None)
    })
}

fn first_differing(log: &Path, sealed: &Seal, chosen: &[usize]) -> io::Result<Option<usize>> {
    let log = File::open(log)?;
    for at in chosen {
        if segment::checksum(&log, *at)? != sealed.segments[*at].1 {
            return Ok(Some(*at));
        }
    }
    Ok(None)
}

/// Seals the files of a database that has been closed; `before` is the seal it was opened with.
///
/// # Errors
/// When one cannot be read, or the seal not written.
pub fn write(seal: &Path, database: &Path, before: Option<&Seal>) -> io::Result<()> {
    let mut files = files(database)?;
    files.sort();
    let path = database.join(LOG);
    let log = File::open(&path)?;
    let beside = files.iter().filter(|file| **file != path);
    let segments = segment::numbers(&log)?.into_iter().enumerate();
    let segments = segments.map(|(at, number)| {
        let settled = before.and_then(|before| before.settled(at, number));
        let crc32 = settled.map_or_else(|| segment::checksum(&log, at), Ok)?;
        Ok((number, crc32))
    });
    let sealed = Seal {
        files: beside
            .map(|path| examine(path))
            .collect::<io::Result<_>>()?,
        length: log.metadata()?.len(),
        floor: segment::floor(database)?,
        segments: segments.collect::<io::Result<_>>()?,
    };
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
    let bytes = fs::read(path)?;
    let name = path.file_name().unwrap_or_default();
    Ok(Sealed {
        name: name.to_string_lossy().into_owned(),
        length: bytes.len() as u64,
        crc32: crc32fast::hash(&bytes),
    })
}

fn damaged(path: &Path, what: &str) -> StoreError {
    StoreError::Damaged {
        place: path.display().to_string(),
        what: what.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// Six segments; from 300 on the database reads, and the fourth was never written.
    fn sealed() -> Seal {
        let numbers = [Some(0), Some(400), Some(100), None, Some(300), Some(200)];
        Seal {
            files: Vec::new(),
            length: 6 * segment::SIZE as u64,
            floor: 300,
            segments: numbers.into_iter().zip(10..).collect(),
        }
    }

    #[test]
    fn what_may_be_mended_is_always_compared_and_the_rest_in_turn() {
        for (share, openings) in [(1, 3), (2, 2), (3, 1), (100, 1)] {
            let mut all = BTreeSet::new();
            for opening in 7..7 + openings {
                let chosen = sealed().to_compare(opening, share);
                assert!([1, 3, 4].iter().all(|at| chosen.contains(at)), "{chosen:?}");
                assert!(chosen.len() <= 3 + share, "{chosen:?}");
                all.extend(chosen);
            }
            assert_eq!(all, (0..6).collect(), "in shares of {share}");
        }
    }

    #[test]
    fn a_checksum_is_handed_on_only_for_what_cannot_have_changed() {
        let sealed = sealed();
        assert_eq!(sealed.settled(0, Some(0)), Some(10));
        assert_eq!(sealed.settled(2, Some(100)), Some(12));
        assert_eq!(sealed.settled(2, Some(500)), None, "written anew");
        assert_eq!(sealed.settled(1, Some(400)), None, "still being written to");
        assert_eq!(sealed.settled(3, None), None, "without a number");
        assert_eq!(sealed.settled(0, None), None, "its number is gone");
        assert_eq!(sealed.settled(6, Some(0)), None, "was not there");
    }
}
