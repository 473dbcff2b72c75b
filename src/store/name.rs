//! What conversations, the places where they are held, and messages are called.

use crate::reply::Phase;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A conversation, by a number that says nothing about whose it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct ConversationId(pub u64);

impl fmt::Display for ConversationId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

impl FromStr for ConversationId {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let number = u64::from_str_radix(text, 16);
        number
            .map(Self)
            .map_err(|_| format!("{text:?} is no conversation; they look like 00c0ffee12345678"))
    }
}

/// Where a conversation is held: the channel, then whatever tells its places apart, with slashes,
/// the wider place first (`terminal`, `discord/GUILD/THREAD`), so that a prefix names a group.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Address(String);

impl Address {
    /// An address; a NUL in it, which would end it early in the index, becomes a replacement mark.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self(text.replace('\0', "\u{fffd}"))
    }

    /// The address as given.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl Address {
    /// The group that the place belongs to: everything before the last slash, or all of it.
    #[must_use]
    pub fn group(&self) -> Group {
        let wider = self.0.rsplit_once('/').map_or(&*self.0, |(wider, _)| wider);
        Group(wider.to_owned())
    }
}

/// A set of places under the same rules: `terminal`, `discord/GUILD`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Group(String);

impl Group {
    /// A group by its name.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// The name as given.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Whose a conversation is: the channel, then its own id of the person (`discord/USER`).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Rider(String);

impl Rider {
    /// A rider by the channel's id.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// The id as given.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// A channel's id of a message, unique over all that the store holds: the channel puts its own
/// name before the id (`discord/1234`).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct MessageId(String);

impl MessageId {
    /// A message id.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// The id as given.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Whether anything is left to do in a conversation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// The rider's next message goes on with it.
    Unfinished,
    /// A person has taken over.
    HandedOver,
    /// It has ended.
    Closed,
    /// It was closed after a long silence; the rider's next message goes on with it.
    Resting,
}

impl Status {
    /// Every status.
    pub const ALL: [Status; 4] = [
        Status::Unfinished,
        Status::HandedOver,
        Status::Closed,
        Status::Resting,
    ];

    /// The status of a conversation in a phase.
    #[must_use]
    pub fn of(phase: Phase) -> Self {
        match phase {
            Phase::Intake
            | Phase::Surroundings
            | Phase::Profile
            | Phase::Testing
            | Phase::Repair
            | Phase::Proof
            | Phase::Refit
            | Phase::Halted => Status::Unfinished,
            Phase::HandedOver => Status::HandedOver,
            Phase::Closed => Status::Closed,
        }
    }
}
