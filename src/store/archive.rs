//! Backups as files: compressed JSON Lines, written out and brought back without stopping the store.

use super::backup::{Brought, Line, VERSION, bring, hex, rest, whole};
use super::index;
use super::name::ConversationId;
use super::problem::{StoreError, misshapen};
use super::{Ledger, Store};
use std::io::{self, BufRead, BufReader, Read, Write};

/// Conversations read or written in one go; turns get in between.
const AT_ONCE: usize = 64;
/// How hard the compressor tries: its own default.
const EFFORT: i32 = 3;
/// What a compressed file begins with (RFC 8878, section 3.1.1).
const MAGIC: [u8; 4] = [0x28, 0xb5, 0x2f, 0xfd];

/// How a backup was brought back.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Restored {
    /// Conversations that are there now and were not before.
    pub back: usize,
    /// Conversations that were there already.
    pub there: usize,
    /// Conversations left out, since they were forgotten after the backup was made.
    pub forgotten: usize,
}

impl Store {
    /// Writes a backup; how many conversations are in it.
    ///
    /// # Errors
    /// When something is damaged, or `out` fails.
    pub async fn back_up(&self, out: &mut dyn Write) -> Result<usize, StoreError> {
        let mut out = zstd::Encoder::new(out, EFFORT).map_err(|error| failed(&error))?;
        let (secret, all) = self
            .owner
            .read(|ledger| Ok((ledger.secret(), index::all(ledger.engine())?)))
            .await?;
        let begin = Line::Begin {
            v: VERSION,
            secret: hex(&secret),
        };
        put(&mut out, &begin)?;
        let mut conversations = 0;
        for some in all.chunks(AT_ONCE) {
            let some = some.to_vec();
            for line in self.owner.read(move |ledger| lines(ledger, &some)).await? {
                put(&mut out, &line)?;
                conversations += 1;
            }
        }
        for line in self.owner.read(rest).await? {
            put(&mut out, &line)?;
        }
        put(&mut out, &Line::End { conversations })?;
        out.finish().map_err(|error| failed(&error))?;
        Ok(conversations)
    }

    /// Brings a backup back. The whole file is read and checked before anything is written.
    ///
    /// # Errors
    /// When the file is cut short, spoilt, or of another store, or the medium fails.
    pub async fn bring_back(
        &self,
        open: impl Fn() -> io::Result<Box<dyn Read>>,
    ) -> Result<Restored, StoreError> {
        check(open().map_err(|error| failed(&error))?)?;
        let mut restored = Restored::default();
        let mut some = Vec::new();
        for line in read(open().map_err(|error| failed(&error))?)? {
            some.push(line?);
            if some.len() == AT_ONCE {
                self.bring_some(std::mem::take(&mut some), &mut restored)
                    .await?;
            }
        }
        self.bring_some(some, &mut restored).await?;
        Ok(restored)
    }

    async fn bring_some(
        &self,
        some: Vec<(String, Line)>,
        restored: &mut Restored,
    ) -> Result<(), StoreError> {
        let brought = self.owner.write(move |ledger| {
            let mut count = Restored::default();
            for (place, line) in some {
                let brought = bring(ledger, &line, &place)?;
                if matches!(line, Line::Conversation(_)) {
                    match brought {
                        Brought::Back => count.back += 1,
                        Brought::There => count.there += 1,
                        Brought::Forgotten => count.forgotten += 1,
                    }
                }
            }
            Ok(count)
        });
        let count = brought.await?;
        restored.back += count.back;
        restored.there += count.there;
        restored.forgotten += count.forgotten;
        Ok(())
    }
}

/// Reads a backup to its end, and does nothing with it.
///
/// # Errors
/// When it is cut short or spoilt.
pub fn check(file: Box<dyn Read>) -> Result<(), StoreError> {
    let (mut end, mut conversations) = (None, 0);
    for line in read(file)? {
        let (place, line) = line?;
        match (&line, end) {
            (Line::End { conversations }, None) => end = Some(*conversations),
            (_, Some(_)) => return Err(spoilt(&place, "there is more after its end")),
            (Line::Conversation(_), None) => conversations += 1,
            _ => {}
        }
    }
    if end == Some(conversations) {
        return Ok(());
    }
    Err(spoilt(
        "the backup",
        "it is cut short: its last line is missing",
    ))
}

fn lines(ledger: &Ledger, some: &[ConversationId]) -> Result<Vec<Line>, StoreError> {
    let mut lines = Vec::new();
    for of in some {
        // One that was forgotten in the meantime is left out.
        lines.extend(whole(ledger, *of)?.map(|whole| Line::Conversation(Box::new(whole))));
    }
    Ok(lines)
}

fn put(out: &mut dyn Write, line: &Line) -> Result<(), StoreError> {
    let mut text = serde_json::to_vec(line).expect("a line has a stored form");
    text.push(b'\n');
    out.write_all(&text).map_err(|error| failed(&error))
}

type Placed = Result<(String, Line), StoreError>;

/// The lines of a backup, each with its place.
fn read(mut file: Box<dyn Read>) -> Result<impl Iterator<Item = Placed>, StoreError> {
    let mut start = [0; 4];
    let some = file.read(&mut start).map_err(|error| failed(&error))?;
    let whole = io::Cursor::new(start[..some].to_vec()).chain(file);
    let text: Box<dyn Read> = if start == MAGIC {
        Box::new(zstd::Decoder::new(whole).map_err(|error| failed(&error))?)
    } else {
        Box::new(whole)
    };
    Ok((1..)
        .zip(BufReader::new(text).lines())
        .map(|(number, line)| {
            let place = format!("line {number} of the backup");
            let spoilt = |what: String| spoilt(&place, &what);
            let line = line.map_err(|error| spoilt(format!("it cannot be read: {error}")))?;
            let line = serde_json::from_str(&line).map_err(|error| spoilt(misshapen(&error)))?;
            Ok((place, line))
        }))
}

fn failed(error: &io::Error) -> StoreError {
    StoreError::WriteFailed {
        place: "the backup".to_owned(),
        what: error.to_string(),
    }
}

fn spoilt(place: &str, what: &str) -> StoreError {
    StoreError::Backup {
        place: place.to_owned(),
        what: format!("{what}.\nThis is no whole backup: take another one. Nothing was changed."),
    }
}
