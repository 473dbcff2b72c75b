//! A backup: every conversation as a line of JSON, compressed, written while the store is in use.
//!
//! ```text
//! {"begin":{"v":1,"secret":"..."}}
//! {"conversation":{"id":"...","address":"...","rider":"...","events":[...],"replies":[...], ...}}
//! {"forgotten":{"id":"...","at":1700000000000}}
//! {"row":{"key":"...","value":"..."}}                 settings of groups, acts of moderators
//! {"end":{"conversations":1}}                         without it, the file is cut short
//! ```
//!
//! Each conversation is whole: all of its turns up to one moment. The file is plain text inside, so
//! it must be kept as safe as the people in it would wish. What was forgotten is not in it, and
//! bringing it back brings back nothing that the store knows to be forgotten.

use super::cipher::Lock;
use super::engine::{Batch, Op, Tree};
use super::keys::KEY;
use super::layout::{self, numbered};
use super::ledger::{Home, Ledger, key_of};
use super::name::{Address, ConversationId, Rider, Status};
use super::problem::{StoreError, misshapen};
use super::{index, log, record};
use crate::conversation::event::Turn;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::fmt::Write as _;

/// The version written, and the newest that can be read.
pub const VERSION: u32 = 1;
/// Rows of [`Tree::Meta`] that belong into a backup, by the start of their keys.
const ROWS: [&[u8]; 2] = [b"group/", b"act/"];

/// One line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Line {
    /// The first.
    Begin {
        /// The version of the form.
        v: u32,
        /// The secret of the pseudonyms, in hexadecimal.
        secret: String,
    },
    /// A conversation.
    Conversation(Box<Whole>),
    /// A conversation that was forgotten.
    Forgotten {
        /// Which.
        id: String,
        /// When, in milliseconds since 1970.
        at: i64,
    },
    /// A fact about the store itself.
    Row {
        /// Its key, in hexadecimal.
        key: String,
        /// Its value, in hexadecimal.
        value: String,
    },
    /// The last.
    End {
        /// How many conversations came before.
        conversations: usize,
    },
}

/// A conversation with all that belongs to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Whole {
    /// Its id.
    pub id: String,
    /// Where it is held.
    pub address: Address,
    /// By whom.
    pub rider: Rider,
    /// How many conversations were opened there before it.
    pub ordinal: u32,
    /// Whether anything is left to do.
    pub status: Status,
    /// When it last had a turn, in milliseconds since 1970.
    pub last: i64,
    /// Its events, as records.
    pub events: Vec<Value>,
    /// Its replies.
    pub replies: Vec<Said>,
}

/// A reply with what belongs to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Said {
    /// The pseudonym of the message it answers, in hexadecimal.
    pub message: Option<String>,
    /// Whether it is known to be sent.
    pub sent: bool,
    /// What was said, as a record.
    pub said: Value,
}

/// Bytes in hexadecimal.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("a string takes all");
        text
    })
}

/// Bytes out of hexadecimal.
#[must_use]
pub fn unhex(text: &str) -> Option<Vec<u8>> {
    let digits: Option<Vec<u8>> = text
        .chars()
        .map(|c| c.to_digit(16).and_then(|digit| u8::try_from(digit).ok()))
        .collect();
    let digits = digits.filter(|digits| digits.len().is_multiple_of(2))?;
    Some(
        digits
            .chunks(2)
            .map(|pair| pair[0] << 4 | pair[1])
            .collect(),
    )
}

/// A conversation, to be backed up; none if it is not there any more.
pub(super) fn whole(ledger: &Ledger, of: ConversationId) -> Result<Option<Whole>, StoreError> {
    match readable(ledger, of)? {
        Some((_, false)) => Err(StoreError::Damaged {
            place: format!("conversation {of}"),
            what: "a record in it cannot be read".to_owned(),
        }),
        found => Ok(found.map(|(whole, _)| whole)),
    }
}

/// What can be read of a conversation up to the first spoilt event and the first spoilt reply, and
/// whether that is all; none if it is not there.
pub(super) fn readable(
    ledger: &Ledger,
    of: ConversationId,
) -> Result<Option<(Whole, bool)>, StoreError> {
    let (home, lock) = (ledger.home(of)?, ledger.lock(of)?);
    let standing = index::standing(ledger.engine(), of)?;
    let (Some(home), Some(lock), Some((status, last))) = (home, lock, standing) else {
        return Ok(None);
    };
    let (events, events_whole) = events(ledger, &lock, of);
    let (replies, replies_whole) = replies(ledger, &lock, of)?;
    let replies = replies.into_iter().map(|(key, message, said)| {
        Ok(Said {
            message: (message != [0; 16]).then(|| hex(&message)),
            sent: ledger.engine().get(Tree::Outbox, &key)?.is_none(),
            said,
        })
    });
    let whole = Whole {
        id: of.to_string(),
        ordinal: index::ordinal(ledger, &home.address, of)?,
        address: home.address,
        rider: home.rider,
        status,
        last: last.as_millisecond(),
        events,
        replies: replies.collect::<Result<_, StoreError>>()?,
    };
    Ok(Some((whole, events_whole && replies_whole)))
}

/// The events of a conversation up to the first that is missing or spoilt, and whether that is all.
fn events(ledger: &Ledger, lock: &Lock, of: ConversationId) -> (Vec<Value>, bool) {
    let mut events = Vec::new();
    let read = log::scan(ledger, lock, of, &mut |record| {
        let value =
            serde_json::from_slice(record).map_err(|error| bad("an event", &misshapen(&error)));
        events.push(value?);
        Ok(())
    });
    let whole = read.is_ok();
    (events, whole)
}

/// A row's key, the pseudonym of the message before a reply, and the record.
type Row = (Vec<u8>, [u8; 16], Value);

/// The replies of a conversation up to the first that is missing or spoilt, and whether that is all.
fn replies(
    ledger: &Ledger,
    lock: &Lock,
    of: ConversationId,
) -> Result<(Vec<Row>, bool), StoreError> {
    let (mut rows, mut whole) = (Vec::new(), true);
    let prefix = key_of(of);
    ledger
        .engine()
        .scan(Tree::Replies, &prefix, &mut |key, value| {
            let next = u32::try_from(rows.len()).is_ok_and(|next| key == numbered(of, next));
            let split = value.split_first_chunk::<16>();
            let read = split.and_then(|(message, sealed)| {
                let plain = lock.open(Tree::Replies, key, sealed)?;
                Some((*message, serde_json::from_slice(&plain).ok()?))
            });
            match read {
                Some((message, value)) if next && whole => {
                    rows.push((key.to_vec(), message, value));
                }
                _ => whole = false,
            }
            Ok(())
        })?;
    Ok((rows, whole))
}

/// What is kept beside conversations.
pub(super) fn rest(ledger: &Ledger) -> Result<Vec<Line>, StoreError> {
    let mut lines = Vec::new();
    ledger
        .engine()
        .scan(Tree::Forgotten, &[], &mut |key, value| {
            let of = layout::conversation(Tree::Forgotten, key)?;
            let at = value.first_chunk().map(|bytes| i64::from_be_bytes(*bytes));
            lines.push(Line::Forgotten {
                id: of.to_string(),
                at: at.unwrap_or_default(),
            });
            Ok(())
        })?;
    for prefix in ROWS {
        ledger
            .engine()
            .scan(Tree::Meta, prefix, &mut |key, value| {
                let (key, value) = (hex(key), hex(value));
                lines.push(Line::Row { key, value });
                Ok(())
            })?;
    }
    Ok(lines)
}

/// What became of a line brought back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Brought {
    /// It is there now.
    Back,
    /// It was there already, as it is.
    There,
    /// It was forgotten since, and stays so.
    Forgotten,
}

/// Brings a line back. Durable after the next sync.
pub(super) fn bring(ledger: &mut Ledger, line: &Line, place: &str) -> Result<Brought, StoreError> {
    match line {
        Line::Begin { v, secret } => begin(ledger, *v, secret, place),
        Line::Conversation(whole) => conversation(ledger, whole, place),
        Line::Forgotten { id, at } => {
            let of = id.parse().map_err(|what: String| bad(place, &what))?;
            let at = moment(*at, place)?;
            if !index::is_forgotten(ledger.engine(), of)? {
                let ops = index::forgotten(ledger, of, None, at)?;
                super::forget::conversation(ledger, of, at)?;
                ledger.apply(&Batch(ops))?;
            }
            Ok(Brought::Back)
        }
        Line::Row { key, value } => {
            let (Some(key), Some(value)) = (unhex(key), unhex(value)) else {
                return Err(bad(place, "the row is not in hexadecimal"));
            };
            ledger.apply(&Batch(vec![Op::Put(Tree::Meta, key, value)]))?;
            Ok(Brought::Back)
        }
        Line::End { .. } => Ok(Brought::Back),
    }
}

fn begin(ledger: &mut Ledger, v: u32, secret: &str, place: &str) -> Result<Brought, StoreError> {
    if v > VERSION {
        return Err(StoreError::Newer {
            place: place.to_owned(),
            found: v,
            known: VERSION,
        });
    }
    let secret = unhex(secret).and_then(|bytes| <[u8; KEY]>::try_from(bytes).ok());
    let secret = secret.ok_or_else(|| bad(place, "the secret of the pseudonyms is cut"))?;
    if secret == ledger.secret() {
        return Ok(Brought::There);
    }
    if !index::all(ledger.engine())?.is_empty() {
        return Err(bad(
            place,
            "it is of another store, and this one has conversations of its own. \
             Name a new folder with --data. Nothing was changed.",
        ));
    }
    ledger.adopt(secret)?;
    Ok(Brought::Back)
}

fn conversation(ledger: &mut Ledger, whole: &Whole, place: &str) -> Result<Brought, StoreError> {
    let of: ConversationId = whole.id.parse().map_err(|what: String| bad(place, &what))?;
    if index::is_forgotten(ledger.engine(), of)? {
        return Ok(Brought::Forgotten);
    }
    if ledger.slot(of)?.is_some() {
        return Ok(Brought::There);
    }
    let rows = turns_of(&whole.events, place)?;
    let Some(opened) = rows.first().map(|row| row.at) else {
        return Err(bad(place, "a conversation without events"));
    };
    if whole.replies.is_empty() {
        return Err(bad(place, "a conversation without replies"));
    }
    let (slot, lock) = ledger.make_key(of)?;
    let home = Home {
        address: whole.address.clone(),
        rider: whole.rider.clone(),
    };
    let mut ops = Vec::new();
    let mut after = 0;
    for row in &rows {
        ops.extend(log::row(&lock, (of, after), &row.records)?);
        after += u32::try_from(row.records.len()).unwrap_or(u32::MAX);
    }
    for (turn, said) in (0..).zip(&whole.replies) {
        let plain = serde_json::to_vec(&said.said).expect("a value has a stored form");
        record::read_reply(&plain, place)?;
        ops.extend(reply_ops((of, turn), said, &lock, &plain)?);
    }
    let ordinal = index::free_ordinal(ledger, &home.address, Some(whole.ordinal))?;
    ops.extend(layout::opening_ops(
        ledger,
        (of, opened),
        (&home, ordinal),
        (slot, &lock),
    )?);
    let at = moment(whole.last, place)?;
    ops.extend(index::moved(ledger.engine(), of, whole.status, at)?);
    layout::take(ledger, of, ops, Some(slot))?;
    Ok(Brought::Back)
}

/// Events that stood together.
struct Together {
    at: Timestamp,
    turn: Turn,
    records: Vec<Vec<u8>>,
}

/// Events, those of each turn and moment together, as they were kept.
fn turns_of(events: &[Value], place: &str) -> Result<Vec<Together>, StoreError> {
    let mut rows: Vec<Together> = Vec::new();
    for event in events {
        let plain = serde_json::to_vec(event).expect("a value has a stored form");
        let (at, logged) = record::read_event(&plain, place)?;
        match rows.last_mut() {
            Some(row) if (row.at, row.turn) == (at, logged.turn) => row.records.push(plain),
            _ => rows.push(Together {
                at,
                turn: logged.turn,
                records: vec![plain],
            }),
        }
    }
    Ok(rows)
}

fn reply_ops(
    (of, turn): (ConversationId, Turn),
    said: &Said,
    lock: &Lock,
    plain: &[u8],
) -> Result<Vec<Op>, StoreError> {
    let key = numbered(of, turn);
    let message = said.message.as_deref().and_then(unhex);
    let message = message.and_then(|bytes| <[u8; 16]>::try_from(bytes).ok());
    let value = layout::seal_reply(lock, &key, message, plain)?;
    let mut ops = vec![Op::Add(Tree::Replies, key.clone(), value)];
    if !said.sent {
        ops.push(Op::Put(Tree::Outbox, key.clone(), Vec::new()));
    }
    if let Some(message) = message {
        ops.push(Op::Put(Tree::Messages, message.to_vec(), key));
    }
    Ok(ops)
}

fn moment(milliseconds: i64, place: &str) -> Result<Timestamp, StoreError> {
    Timestamp::from_millisecond(milliseconds).map_err(|error| bad(place, &error.to_string()))
}

fn bad(place: &str, what: &str) -> StoreError {
    StoreError::Backup {
        place: place.to_owned(),
        what: what.to_owned(),
    }
}
