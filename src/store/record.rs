//! The stored form of events and replies: types of their own, versioned, never changed in place.
//!
//! Each record says in which version it was written. Samples of every shape ever written are kept
//! in `tests/records/`, and a test reads them all.
//!
//! | version | what changed |
//! | --- | --- |
//! | 1 | the first |

mod event;
mod number;
mod reply;
mod step;

use super::problem::{StoreError, misshapen};
use crate::conversation::event::Logged;
use crate::reply::Reply;
use jiff::Timestamp;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// The version written, and the newest that can be read.
pub const VERSION: u32 = 1;

/// The only part of a record that every version shares.
#[derive(Deserialize)]
struct Header {
    v: u32,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EventRecord {
    v: u32,
    /// Milliseconds since 1970.
    at: i64,
    turn: u32,
    event: event::Event,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ReplyRecord {
    v: u32,
    /// Milliseconds since 1970.
    at: i64,
    reply: reply::Reply,
}

/// An event, stored.
///
/// # Panics
/// Never: the stored form has no maps and no numbers that JSON cannot hold.
#[must_use]
pub fn write_event(logged: &Logged, at: Timestamp) -> Vec<u8> {
    let Logged { turn, event } = logged.clone();
    let record = EventRecord {
        v: VERSION,
        at: at.as_millisecond(),
        turn,
        event: event.into(),
    };
    serde_json::to_vec(&record).expect("an event has a stored form")
}

/// An event, read back with the moment it was stored.
///
/// # Errors
/// When it is of a newer version or no event; `place` names it.
pub fn read_event(bytes: &[u8], place: &str) -> Result<(Timestamp, Logged), StoreError> {
    let record: EventRecord = read(bytes, place)?;
    let logged = Logged {
        turn: record.turn,
        event: record.event.into(),
    };
    Ok((moment(record.at, place)?, logged))
}

/// A reply, stored.
///
/// # Panics
/// Never: the stored form has no maps and no numbers that JSON cannot hold.
#[must_use]
pub fn write_reply(reply: &Reply, at: Timestamp) -> Vec<u8> {
    let record = ReplyRecord {
        v: VERSION,
        at: at.as_millisecond(),
        reply: reply.clone().into(),
    };
    serde_json::to_vec(&record).expect("a reply has a stored form")
}

/// A reply, read back with the moment it was stored.
///
/// # Errors
/// When it is of a newer version or no reply; `place` names it.
pub fn read_reply(bytes: &[u8], place: &str) -> Result<(Timestamp, Reply), StoreError> {
    let record: ReplyRecord = read(bytes, place)?;
    let reply = Reply::try_from(record.reply).map_err(|what| damaged(place, what))?;
    Ok((moment(record.at, place)?, reply))
}

fn read<T: DeserializeOwned>(bytes: &[u8], place: &str) -> Result<T, StoreError> {
    let parse = |error: serde_json::Error| damaged(place, misshapen(&error));
    let header: Header = serde_json::from_slice(bytes).map_err(parse)?;
    if header.v > VERSION {
        return Err(StoreError::Newer {
            place: place.to_owned(),
            found: header.v,
            known: VERSION,
        });
    }
    serde_json::from_slice(bytes).map_err(parse)
}

fn moment(milliseconds: i64, place: &str) -> Result<Timestamp, StoreError> {
    Timestamp::from_millisecond(milliseconds).map_err(|error| damaged(place, error.to_string()))
}

fn damaged(place: &str, what: String) -> StoreError {
    StoreError::Damaged {
        place: place.to_owned(),
        what,
    }
}
