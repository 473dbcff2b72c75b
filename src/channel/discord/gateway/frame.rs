//! Gateway payloads: what Discord sends, and what we send.

use super::session::Session;
use serde::Deserialize;
use serde_json::{Value, json};

/// The version of the interface spoken.
pub const VERSION: u8 = 10;

/// A payload from Discord.
#[derive(Debug, Clone, PartialEq)]
pub enum Frame {
    /// Something happened; numbered.
    Dispatch {
        /// The number, to resume after.
        seq: u64,
        /// What sort of thing: `MESSAGE_CREATE`.
        name: String,
        /// What.
        data: Value,
    },
    /// A heartbeat is wanted now.
    Heartbeat,
    /// Connect again and resume.
    Reconnect,
    /// The session is not valid.
    InvalidSession {
        /// Whether resuming may be tried again.
        resumable: bool,
    },
    /// The first payload of a connection.
    Hello {
        /// Milliseconds between heartbeats.
        heartbeat_interval: u64,
    },
    /// A heartbeat was heard.
    Acknowledged,
    /// Anything else.
    Unknown,
}

#[derive(Deserialize)]
struct Payload {
    op: u8,
    #[serde(default)]
    d: Value,
    #[serde(default)]
    s: Option<u64>,
    #[serde(default)]
    t: Option<String>,
}

impl Frame {
    /// Reads a payload. Whatever cannot be read is [`Frame::Unknown`]: one odd payload is no reason
    /// to give a connection up.
    ///
    /// Source: Discord developer documentation, Gateway Events, Payload Structure.
    #[must_use]
    pub fn read(text: &str) -> Self {
        let Ok(Payload { op, d, s, t }) = serde_json::from_str(text) else {
            return Self::Unknown;
        };
        match (op, s, t) {
            (0, Some(seq), Some(name)) => Self::Dispatch { seq, name, data: d },
            (1, ..) => Self::Heartbeat,
            (7, ..) => Self::Reconnect,
            (9, ..) => Self::InvalidSession {
                resumable: d.as_bool().unwrap_or(false),
            },
            (10, ..) => match d["heartbeat_interval"].as_u64() {
                Some(heartbeat_interval) => Self::Hello { heartbeat_interval },
                None => Self::Unknown,
            },
            (11, ..) => Self::Acknowledged,
            _ => Self::Unknown,
        }
    }
}

/// The heartbeat after a number.
#[must_use]
pub fn heartbeat(seq: Option<u64>) -> Value {
    json!({"op": 1, "d": seq})
}

/// Asks for a new session.
#[must_use]
pub fn identify(token: &str, intents: u64, shard: [u32; 2]) -> Value {
    json!({"op": 2, "d": {
        "token": token,
        "intents": intents,
        "shard": shard,
        "properties": {
            "os": std::env::consts::OS,
            "browser": "floatbowl",
            "device": "floatbowl",
        },
    }})
}

/// Asks for what a session has missed.
#[must_use]
pub fn resume(token: &str, session: &Session) -> Value {
    json!({"op": 6, "d": {
        "token": token,
        "session_id": session.id,
        "seq": session.seq,
    }})
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(r#"{"op":10,"d":{"heartbeat_interval":41250}}"#, Frame::Hello { heartbeat_interval: 41250 })]
    #[case(r#"{"op":11}"#, Frame::Acknowledged)]
    #[case(r#"{"op":7,"d":null}"#, Frame::Reconnect)]
    #[case(r#"{"op":9,"d":true}"#, Frame::InvalidSession { resumable: true })]
    #[case(r#"{"op":9,"d":false}"#, Frame::InvalidSession { resumable: false })]
    #[case(r#"{"op":1,"d":3}"#, Frame::Heartbeat)]
    #[case(r#"{"op":0,"s":4,"t":"RESUMED","d":{}}"#, Frame::Dispatch { seq: 4, name: "RESUMED".into(), data: json!({}) })]
    #[case(r#"{"op":0,"t":"NO_NUMBER","d":{}}"#, Frame::Unknown)]
    #[case(r#"{"op":10,"d":{}}"#, Frame::Unknown)]
    #[case("not json", Frame::Unknown)]
    #[case("", Frame::Unknown)]
    fn payloads_are_read(#[case] text: &str, #[case] expected: Frame) {
        assert_eq!(Frame::read(text), expected);
    }
}
