//! Conversations as they are kept: events, replies, outbox and indices, durable before anyone sees them.
//!
//! [`Store`] is a handle to the one thread that owns the engine. Work waits in line for it; all
//! writes that wait together share one sync, and no answer of that round, reads included, leaves
//! before the sync has returned. So nothing that could still be lost is ever seen.
//!
//! - [`engine`]: what a storage engine must do; [`embedded`] and [`memory`] do it.
//! - [`record`]: the versioned stored form of events and replies.
//! - [`name`]: what conversations, addresses and messages are called.
//! - [`problem`]: what can go wrong, and what to do about it.
//!
//! Deliberately absent: what an event means. The store never folds a conversation.

mod check;
pub mod embedded;
pub mod engine;
mod folder;
mod layout;
mod mark;
pub mod memory;
pub mod name;
mod owner;
pub mod problem;
pub mod record;
mod seal;

use crate::conversation::event::{Logged, Turn};
use crate::reply::Reply;
use embedded::Embedded;
use engine::Engine;
use jiff::Timestamp;
use memory::Memory;
use name::{Address, ConversationId, MessageId, Status};
use owner::Owner;
pub use problem::StoreError;
use std::path::Path;
use std::sync::Arc;

/// One turn to be kept, whole or not at all.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The conversation.
    pub conversation: ConversationId,
    /// Where it is held; given by the turn that opens it, and only by that one.
    pub opens: Option<Address>,
    /// When it happened.
    pub at: Timestamp,
    /// How many events the conversation had before: the sequence number of the first new one.
    pub after: u32,
    /// What happened.
    pub events: Vec<Logged>,
    /// The channel's id of the message answered.
    pub message: Option<MessageId>,
    /// What is to be said; it waits in the outbox until it is marked sent.
    pub reply: Reply,
}

/// An event as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// When it was kept.
    pub at: Timestamp,
    /// The event and its turn.
    pub logged: Logged,
}

/// A reply with where it belongs.
#[derive(Debug, Clone, PartialEq)]
pub struct Outgoing {
    /// The conversation.
    pub conversation: ConversationId,
    /// Where it is held.
    pub address: Address,
    /// The turn.
    pub turn: Turn,
    /// When it was kept.
    pub at: Timestamp,
    /// What to say.
    pub reply: Reply,
}

/// What is known when a message comes.
#[derive(Debug, Clone, PartialEq)]
pub enum Before {
    /// No conversation was ever opened at the address.
    Nothing,
    /// The conversation opened last there, with all its events in order.
    Events(ConversationId, Vec<Kept>),
    /// The message was answered already, with this.
    Answered(Box<Outgoing>),
}

/// A handle to the kept conversations; clones share them.
#[derive(Clone)]
pub struct Store {
    owner: Arc<Owner>,
}

impl Store {
    /// Opens the conversations in a folder, which is made if it is not there.
    ///
    /// # Errors
    /// When the folder is in use, damaged, not writable, not a data folder, or of a newer form.
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        let path = folder.to_owned();
        Self::over(move || {
            let engine = Embedded::open(&path)?;
            if engine.crashed() {
                check::all(&engine)?;
                engine.accept()?;
            }
            Ok(engine)
        })
    }

    /// Keeps conversations only as long as the handle lives.
    ///
    /// # Errors
    /// When the system has no thread to spare.
    pub fn in_memory() -> Result<Self, StoreError> {
        Self::over(|| Ok(Memory::default()))
    }

    /// Keeps conversations in an engine, made on the thread that will own it.
    ///
    /// # Errors
    /// As `make` says, or when the system has no thread to spare.
    pub fn over<E, F>(make: F) -> Result<Self, StoreError>
    where
        E: Engine + 'static,
        F: FnOnce() -> Result<E, StoreError> + Send + 'static,
    {
        let owner = Arc::new(Owner::start(make)?);
        Ok(Self { owner })
    }

    /// Keeps a turn; when this returns, it is durable.
    ///
    /// # Errors
    /// [`StoreError::Overtaken`] when the conversation has other events than `after` says, or the
    /// message was answered already: nothing is kept. Else when the medium fails.
    pub async fn append(&self, entry: Entry) -> Result<(), StoreError> {
        self.owner
            .write(move |engine| layout::append(engine, &entry))
            .await
    }

    /// All that a message at an address needs, read at once.
    ///
    /// # Errors
    /// When something is missing, damaged, or of a newer version.
    pub async fn before(
        &self,
        address: Address,
        message: Option<MessageId>,
    ) -> Result<Before, StoreError> {
        self.owner
            .read(move |engine| layout::before(engine, &address, message.as_ref()))
            .await
    }

    /// All events of a conversation, in order; none if it is not known.
    ///
    /// # Errors
    /// When one is missing, damaged, or of a newer version.
    pub async fn load(&self, conversation: ConversationId) -> Result<Vec<Kept>, StoreError> {
        self.owner
            .read(move |engine| layout::load(engine, conversation))
            .await
    }

    /// What was said in a turn.
    ///
    /// # Errors
    /// When it is damaged or of a newer version.
    pub async fn said(
        &self,
        conversation: ConversationId,
        turn: Turn,
    ) -> Result<Option<Outgoing>, StoreError> {
        self.owner
            .read(move |engine| layout::said(engine, conversation, turn))
            .await
    }

    /// What a message was answered with, if it was.
    ///
    /// # Errors
    /// When it is damaged or of a newer version.
    pub async fn answered(&self, message: MessageId) -> Result<Option<Outgoing>, StoreError> {
        self.owner
            .read(move |engine| layout::answered(engine, &message))
            .await
    }

    /// The conversation opened last at an address.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn latest(&self, address: Address) -> Result<Option<ConversationId>, StoreError> {
        self.owner
            .read(move |engine| layout::latest(engine, &address))
            .await
    }

    /// All conversations of a status.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn with_status(&self, status: Status) -> Result<Vec<ConversationId>, StoreError> {
        self.owner
            .read(move |engine| layout::with_status(engine, status))
            .await
    }

    /// The status of a conversation; none if it is not known.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn status(&self, conversation: ConversationId) -> Result<Option<Status>, StoreError> {
        self.owner
            .read(move |engine| layout::status(engine, conversation))
            .await
    }

    /// Replies not known to be sent, in the order they were said within each conversation.
    ///
    /// # Errors
    /// When one is damaged or of a newer version.
    pub async fn unsent(&self) -> Result<Vec<Outgoing>, StoreError> {
        self.owner.read(layout::unsent).await
    }

    /// Takes a reply out of the outbox.
    ///
    /// # Errors
    /// When the medium fails.
    pub async fn mark_sent(
        &self,
        conversation: ConversationId,
        turn: Turn,
    ) -> Result<(), StoreError> {
        self.owner
            .write(move |engine| layout::mark_sent(engine, conversation, turn))
            .await
    }
}
