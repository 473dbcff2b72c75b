//! Bridges over spoilt places in the copy of a log, so that the database reads on behind them.
//!
//! At the first message that it cannot read, the database takes the rest of the log for a torn write.
//! Here each spoilt place is covered by a message that says "nothing here", up to the next message that
//! is whole, and a spoilt beginning of a segment is written anew.
//!
//! ```text
//! message     checksum of all that follows, body first | kind | length | segment | page | body
//! ```
//!
//! The checksum is stored turned, little-endian; length, segment and page as numbers of 1 to 9 bytes
//! (sled 0.34, `serialization.rs` and `pagecache/logger.rs`).

use super::segment::{self, HEADER, LOG, SIZE};
use std::fs::OpenOptions;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Bytes at the end of a segment where no message begins.
const MARGIN: usize = 32;
/// The kind of a message that says "nothing here".
const NOTHING: u8 = 1;
/// The kind of a message after which a segment holds nothing more.
const CAP: u8 = 2;
/// The highest kind there is.
const HIGHEST: u8 = 11;

/// Bridges over what is spoilt in the log of a database that nobody has open; how many places.
///
/// # Errors
/// When the log cannot be read or written.
pub fn bridge(database: &Path) -> io::Result<usize> {
    let mut options = OpenOptions::new();
    let mut log = options.read(true).write(true).open(database.join(LOG))?;
    let (mut bridged, mut from) = (0, 0);
    loop {
        let mut bytes = Vec::with_capacity(SIZE);
        log.seek(SeekFrom::Start(from))?;
        (&mut log).take(SIZE as u64).read_to_end(&mut bytes)?;
        if bytes.is_empty() {
            return Ok(bridged);
        }
        let places = mend(&mut bytes);
        if places > 0 {
            log.seek(SeekFrom::Start(from))?;
            log.write_all(&bytes)?;
        }
        bridged += places;
        from += SIZE as u64;
    }
}

/// Bridges over what is spoilt in a segment; how many places.
fn mend(bytes: &mut [u8]) -> usize {
    let Some((segment, mut places)) = begin(bytes) else {
        return 0;
    };
    let mut at = HEADER;
    while at + MARGIN <= bytes.len() {
        match message(&bytes[at..], segment) {
            Some((CAP, _)) => break,
            Some((_, length)) => at += length,
            None => {
                let Some(next) = next(bytes, at, segment) else {
                    break;
                };
                let Some(nothing) = nothing(next - at, segment) else {
                    break;
                };
                bytes[at..next].copy_from_slice(&nothing);
                places += 1;
                at = next;
            }
        }
    }
    places
}

/// Which segment this is, after its beginning was written anew if it was spoilt, and how often that was;
/// none where there never was one.
fn begin(bytes: &mut [u8]) -> Option<(u64, usize)> {
    let size = SIZE as u64;
    if let Some(number) = segment::number(bytes) {
        return Some((number / size, 0));
    }
    let places = HEADER..bytes.len().saturating_sub(MARGIN);
    let segment = places.take(SIZE / 8).find_map(|at| whole(&bytes[at..]))?;
    bytes[..HEADER].copy_from_slice(&segment::header(segment * size));
    Some((segment, 1))
}

/// Where the next whole message of a segment begins.
fn next(bytes: &[u8], at: usize, segment: u64) -> Option<usize> {
    let mut places = at + 1..bytes.len().saturating_sub(MARGIN);
    places.find(|at| message(&bytes[*at..], segment).is_some())
}

/// The kind and the length of the message that some bytes begin with, if it is whole and of a segment.
fn message(bytes: &[u8], segment: u64) -> Option<(u8, usize)> {
    let read = Message::read(bytes)?;
    (read.segment == segment && read.is_whole(bytes)).then_some((read.kind, read.end))
}

/// The segment of the message that some bytes begin with, if it is whole.
fn whole(bytes: &[u8]) -> Option<u64> {
    let read = Message::read(bytes)?;
    read.is_whole(bytes).then_some(read.segment)
}

struct Message {
    sum: u32,
    kind: u8,
    segment: u64,
    /// Where its body begins.
    body: usize,
    /// Where it ends.
    end: usize,
}

impl Message {
    fn read(bytes: &[u8]) -> Option<Self> {
        let (sum, rest) = bytes.split_first_chunk()?;
        let (kind, mut rest) = rest.split_first()?;
        if !(NOTHING..=HIGHEST).contains(kind) {
            return None;
        }
        let length = usize::try_from(number(&mut rest)?).ok()?;
        let segment = number(&mut rest)?;
        number(&mut rest)?;
        let body = bytes.len() - rest.len();
        (length <= rest.len()).then_some(Self {
            sum: u32::from_le_bytes(*sum),
            kind: *kind,
            segment,
            body,
            end: body + length,
        })
    }

    fn is_whole(&self, bytes: &[u8]) -> bool {
        self.sum == sum(&bytes[4..self.body], &bytes[self.body..self.end])
    }
}

fn sum(header: &[u8], body: &[u8]) -> u32 {
    let mut hasher = crc32fast::Hasher::new();
    hasher.update(body);
    hasher.update(header);
    !hasher.finalize()
}

/// A number at the start of some bytes, which are left behind it.
fn number(bytes: &mut &[u8]) -> Option<u64> {
    let first = *bytes.first()?;
    let more = match first {
        0..=240 => 0,
        241..=248 => 1,
        249 => 2,
        long => usize::from(long) - 247,
    };
    let rest = bytes.get(1..=more)?;
    *bytes = &bytes[1 + more..];
    let of = |at: usize| u64::from(rest[at]);
    Some(match first {
        0..=240 => u64::from(first),
        241..=248 => 240 + 256 * (u64::from(first) - 241) + of(0),
        249 => 2288 + 256 * of(0) + of(1),
        _ => rest
            .iter()
            .rev()
            .fold(0, |number, byte| number << 8 | u64::from(*byte)),
    })
}

/// A message of so many bytes that says nothing; none where there is no room for one.
fn nothing(length: usize, segment: u64) -> Option<Vec<u8>> {
    let (segment, page) = (shortest(segment), [0]);
    let room = length.checked_sub(4 + 1 + segment.len() + page.len())?;
    let short = u8::try_from(room.checked_sub(1)?)
        .ok()
        .filter(|body| *body <= 240);
    // The long form is taken wherever the short one does not do, whatever it says.
    let (says, body) = match short {
        Some(body) => (vec![body], usize::from(body)),
        None => (long(room as u64 - 4), room - 4),
    };
    let header = [&[NOTHING][..], &says, &segment, &page].concat();
    let body = vec![0; body];
    let sum = sum(&header, &body).to_le_bytes();
    Some([&sum[..], &header, &body].concat())
}

fn shortest(number: u64) -> Vec<u8> {
    match u8::try_from(number) {
        Ok(byte @ 0..=240) => vec![byte],
        _ if number < 1 << 24 => long(number),
        _ => [&[255], &number.to_le_bytes()[..]].concat(),
    }
}

/// A number below 2^24 in four bytes.
fn long(number: u64) -> Vec<u8> {
    [&[250], &number.to_le_bytes()[..3]].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The forms of a number, each at both ends of what it is used for (sled 0.34, `serialization.rs`).
    #[test]
    fn numbers_are_read_as_they_are_written() {
        for (bytes, expected) in [
            (&[0][..], 0),
            (&[240], 240),
            (&[241, 0], 240),
            (&[241, 1], 241),
            (&[248, 255], 2287),
            (&[249, 0, 0], 2288),
            (&[249, 255, 255], 67823),
            (&[250, 1, 2, 3], 0x03_02_01),
            (&[251, 1, 2, 3, 4], 0x0403_0201),
            (&[255, 255, 255, 255, 255, 255, 255, 255, 255], u64::MAX),
        ] {
            let mut rest = bytes;
            assert_eq!(number(&mut rest), Some(expected), "{bytes:?}");
            assert!(rest.is_empty(), "{bytes:?}");
            assert_eq!(number(&mut &bytes[..bytes.len() - 1]), None, "{bytes:?}");
        }
    }

    #[test]
    fn a_message_that_says_nothing_is_whole_and_as_long_as_asked() {
        for segment in [0, 77, 240, 241, 70_000, 1 << 24] {
            for length in [17, 18, 240, 248, 249, 256, 257, 258, 300, 5000, 100_000] {
                let bytes = nothing(length, segment).unwrap();
                assert_eq!(bytes.len(), length);
                assert_eq!(message(&bytes, segment), Some((NOTHING, length)));
                assert_eq!(message(&bytes, segment + 1), None);
                assert_eq!(whole(&bytes), Some(segment));
            }
        }
        assert_eq!(nothing(8, 77).map(|bytes| bytes.len()), Some(8));
        assert_eq!(nothing(7, 77), None);
    }
}
