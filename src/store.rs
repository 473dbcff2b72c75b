//! Conversations as they are kept: events, replies, outbox and indices, durable before anyone sees them.
//!
//! [`Store`] is a handle to the one thread that owns the engine. Work waits in line for it; all
//! writes that wait together share one sync, and no answer of that round, reads included, leaves
//! before the sync has returned. So nothing that could still be lost is ever seen.
//!
//! What a person wrote is sealed under a key of its conversation, so that it can be forgotten.
//!
//! - [`engine`]: what a storage engine must do; [`embedded`] and [`memory`] do it.
//! - [`record`]: the versioned stored form of events and replies.
//! - [`name`]: what conversations, addresses, riders and messages are called.
//! - [`keys`], `cipher`, `pack`, `ledger`: keys apart from what they lock; pseudonyms; both under one roof.
//! - `layout`, `log`, `index`: the rows of a conversation, and the ways to it.
//! - [`setting`], `keeping`, [`mod@forget`]: what groups allow; what is done over all conversations.
//! - [`mod@backup`], [`archive`], [`check`], [`salvage`]: out of the store and back, and after damage.
//! - `seal`, `segment`, `bridge`: what the database's files were, and ways over what is spoilt in them.
//! - [`problem`]: what can go wrong, and what to do about it.
//!
//! Deliberately absent: what an event means. The store never folds a conversation.

pub mod archive;
pub mod backup;
mod bridge;
pub mod check;
mod cipher;
pub mod embedded;
pub mod engine;
mod folder;
pub mod forget;
mod index;
mod keeping;
pub mod keys;
mod layout;
mod ledger;
mod log;
mod mark;
pub mod memory;
pub mod name;
mod owner;
mod pack;
pub mod problem;
pub mod record;
pub mod salvage;
mod seal;
mod segment;
pub mod setting;
mod whole;

use crate::conversation::event::{Logged, Turn};
use crate::reply::Reply;
use embedded::Embedded;
use engine::Engine;
use jiff::Timestamp;
use keys::Keys;
pub use ledger::Home;
use ledger::Ledger;
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
    /// Where it is held and by whom; given by the turn that opens it, and only by that one.
    pub opens: Option<Home>,
    /// When it happened.
    pub at: Timestamp,
    /// How many events the conversation had before: the sequence number of the first new one.
    pub after: u32,
    /// What happened.
    pub events: Vec<Logged>,
    /// The channel's id of the message answered.
    pub message: Option<MessageId>,
    /// Whether it was closed for silence only, and goes on with the rider's next message.
    pub resting: bool,
    /// What is to be said; it waits in the outbox until it is marked sent.
    pub reply: Reply,
}

impl Entry {
    fn status(&self) -> Status {
        if self.resting {
            Status::Resting
        } else {
            Status::of(self.reply.phase)
        }
    }
}

/// Events that nobody is answered for: what a volunteer or the rider said about a conversation.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// The conversation.
    pub conversation: ConversationId,
    /// When.
    pub at: Timestamp,
    /// How many events the conversation had before.
    pub after: u32,
    /// What is noted, each under the conversation's last turn.
    pub events: Vec<Logged>,
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
    /// The message was answered already, and all of it has been forgotten.
    Forgotten,
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
            let new = engine.last(engine::Tree::Homes, &[])?.is_none();
            let keys = Keys::open(&engine.keys(), new)?;
            let (crashed, accept) = (engine.crashed(), engine.acceptance());
            let mut ledger = Ledger::new(engine, keys);
            ledger.check_keys()?;
            if crashed {
                forget::finish(&mut ledger, Timestamp::now())?;
                check::all(&ledger)?;
                accept()?;
            }
            Ok(ledger)
        })
    }

    /// Keeps conversations only as long as the handle lives.
    ///
    /// # Errors
    /// When the system has no thread to spare, or no randomness.
    pub fn in_memory() -> Result<Self, StoreError> {
        Self::over(|| Ok(Ledger::new(Memory::default(), Keys::in_memory()?)))
    }

    /// Keeps conversations in any engine, made with its keys on the thread that will own them.
    ///
    /// # Errors
    /// As `make` says, or when the system has no thread to spare.
    pub fn over_engine<E, F>(make: F) -> Result<Self, StoreError>
    where
        E: Engine + 'static,
        F: FnOnce() -> Result<(E, Keys), StoreError> + Send + 'static,
    {
        Self::over(move || make().map(|(ledger, keys)| Ledger::new(ledger, keys)))
    }

    fn over<F>(make: F) -> Result<Self, StoreError>
    where
        F: FnOnce() -> Result<Ledger, StoreError> + Send + 'static,
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
            .write(move |ledger| layout::append(ledger, &entry))
            .await
    }

    /// Keeps events that nobody is answered for.
    ///
    /// # Errors
    /// As [`Store::append`].
    pub async fn note(&self, note: Note) -> Result<(), StoreError> {
        self.owner
            .write(move |ledger| layout::note(ledger, &note))
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
            .read(move |ledger| layout::before(ledger, &address, message.as_ref()))
            .await
    }

    /// All events of a conversation, in order; none if it is not known.
    ///
    /// # Errors
    /// When one is missing, damaged, or of a newer version.
    pub async fn load(&self, conversation: ConversationId) -> Result<Vec<Kept>, StoreError> {
        self.owner
            .read(move |ledger| log::load(ledger, conversation))
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
            .read(move |ledger| layout::said(ledger, conversation, turn))
            .await
    }

    /// What a message was answered with, if it was.
    ///
    /// # Errors
    /// When it is damaged or of a newer version.
    pub async fn answered(&self, message: MessageId) -> Result<Option<Outgoing>, StoreError> {
        self.owner
            .read(move |ledger| layout::answered(ledger, &message))
            .await
    }

    /// The conversation opened last at an address.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn latest(&self, address: Address) -> Result<Option<ConversationId>, StoreError> {
        self.owner
            .read(move |ledger| index::latest(ledger, &address))
            .await
    }

    /// All conversations of a status, the longest silent first.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn with_status(&self, status: Status) -> Result<Vec<ConversationId>, StoreError> {
        self.owner
            .read(move |ledger| index::with_status(ledger.engine(), status))
            .await
            .map(|found| found.into_iter().map(|(id, _)| id).collect())
    }

    /// The status of a conversation; none if it is not known.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn status(&self, conversation: ConversationId) -> Result<Option<Status>, StoreError> {
        self.owner
            .read(move |ledger| index::standing(ledger.engine(), conversation))
            .await
            .map(|standing| standing.map(|(status, _)| status))
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
            .write(move |ledger| layout::mark_sent(ledger, conversation, turn))
            .await
    }
}
