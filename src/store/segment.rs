//! The segments of the database's log: what bytes each has, and where it stands in the order of writing.
//!
//! A segment begins with the number of the first byte written to it since the log began (sled 0.34:
//! checksum, number, newest number known to be stable, each little-endian and turned). Once the log has
//! gone on to the next segment, its bytes stay until it is written anew, under a higher number. What
//! the log holds up to some number is also in a snapshot, whose file is named after it.

use std::fs::{self, File};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

/// The file of the log.
pub const LOG: &str = "db";
/// Bytes of a segment.
pub const SIZE: usize = 512 << 10;
/// Bytes before the first record of a segment.
pub const HEADER: usize = 20;
/// What numbers are stored turned by, so that no zero is mistaken for one.
const TURNED: u64 = 0x7fff_ffff_ffff_ffff;
/// How the file of a snapshot begins.
pub const SNAPSHOT: &str = "snap.";

/// The number a segment begins with; none where nothing was written, or its beginning is spoilt.
#[must_use]
pub fn number(header: &[u8]) -> Option<u64> {
    let (sum, rest) = header.get(..HEADER)?.split_first_chunk()?;
    let number = rest.first_chunk().map(|bytes| u64::from_le_bytes(*bytes))?;
    let whole = crc32fast::hash(rest) == !u32::from_le_bytes(*sum);
    whole.then_some(number ^ TURNED)
}

/// What a segment begins with.
#[must_use]
pub fn header(number: u64) -> [u8; HEADER] {
    let mut header = [0; HEADER];
    let stable = number.saturating_sub(1);
    header[4..12].copy_from_slice(&(number ^ TURNED).to_le_bytes());
    header[12..].copy_from_slice(&(stable ^ TURNED).to_le_bytes());
    let sum = !crc32fast::hash(&header[4..]);
    header[..4].copy_from_slice(&sum.to_le_bytes());
    header
}

/// The number of each segment of a log, in the order they stand in the file.
///
/// # Errors
/// When the file cannot be read.
pub fn numbers(log: &File) -> io::Result<Vec<Option<u64>>> {
    let segments = log.metadata()?.len().div_ceil(SIZE as u64);
    let mut header = [0; HEADER];
    let numbers = (0..segments).map(|at| {
        let held = fill(log, at * SIZE as u64, &mut header)?;
        Ok(number(&header[..held]))
    });
    numbers.collect()
}

/// The checksum of the segment that stands at some place of a log.
///
/// # Errors
/// When it cannot be read.
pub fn checksum(log: &File, at: usize) -> io::Result<u32> {
    let mut bytes = vec![0; SIZE];
    let held = fill(log, (at * SIZE) as u64, &mut bytes)?;
    Ok(crc32fast::hash(&bytes[..held]))
}

/// Reads from a place until there is no more room or nothing more; how much was read.
fn fill(mut log: &File, from: u64, bytes: &mut [u8]) -> io::Result<usize> {
    log.seek(SeekFrom::Start(from))?;
    let mut held = 0;
    loop {
        let read = log.read(&mut bytes[held..])?;
        if read == 0 {
            return Ok(held);
        }
        held += read;
    }
}

/// From which number on the database will read its log when it is opened, and mend what it cannot read:
/// the segment that its last snapshot ends in.
///
/// # Errors
/// When the folder cannot be read.
pub fn floor(database: &Path) -> io::Result<u64> {
    let mut newest = 0;
    for entry in fs::read_dir(database)? {
        let name = entry?.file_name();
        let number = name.to_str().and_then(|name| name.strip_prefix(SNAPSHOT));
        let number = number.and_then(|number| u64::from_str_radix(number, 16).ok());
        newest = newest.max(number.unwrap_or(0));
    }
    Ok(newest / SIZE as u64 * SIZE as u64)
}

/// How many segments hold what is in no snapshot.
///
/// # Errors
/// When the log or the folder cannot be read.
pub fn since_snapshot(database: &Path) -> io::Result<usize> {
    let floor = floor(database)?;
    let numbers = numbers(&File::open(database.join(LOG))?)?;
    Ok(numbers
        .iter()
        .flatten()
        .filter(|number| **number >= floor)
        .count())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_tells_its_number_and_a_spoilt_one_nothing() {
        for number in [0, SIZE as u64, 1 << 40] {
            let whole = header(number);
            assert_eq!(self::number(&whole), Some(number));
            for at in 0..HEADER {
                let mut spoilt = whole;
                spoilt[at] ^= 1;
                assert_eq!(self::number(&spoilt), None, "{at}");
            }
        }
        assert_eq!(number(&[0; HEADER]), None);
        assert_eq!(number(&[]), None);
    }
}
