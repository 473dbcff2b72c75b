//! What a storage engine must be able to do: ordered keys in named trees, whole batches, one sync.
//!
//! An engine knows nothing of conversations. Keys and values are bytes; what they mean is the
//! business of `layout` and `record`. The contract, tested on every engine alike:
//!
//! - [`Engine::apply`] takes a batch whole or not at all;
//! - an [`Op::Add`] whose key exists refuses the whole batch, which is how two writers of one
//!   conversation find out about each other;
//! - after [`Engine::sync`] returned, everything applied before it survives a crash of the process
//!   and of the machine;
//! - scans are in ascending order of the key's bytes.

use super::problem::StoreError;

/// A named, ordered collection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tree {
    /// Conversation and sequence: an event, sealed.
    Events,
    /// Conversation and turn: the pseudonym of the message answered, and what was said, sealed.
    Replies,
    /// Conversation and turn of replies not known to be sent.
    Outbox,
    /// A message's pseudonym: the conversation and turn that answered it.
    Messages,
    /// An address's pseudonym and ordinal: a conversation held there.
    Addresses,
    /// Conversation: where its key is, and its address and rider, sealed. Raw ids occur here only.
    Homes,
    /// Status, time of the last turn, and conversation.
    Statuses,
    /// Conversation: its status and the time of its last turn.
    Moments,
    /// A group's pseudonym and conversation: when it was opened.
    Groups,
    /// A rider's pseudonym and conversation.
    Riders,
    /// Conversation that was forgotten: when.
    Forgotten,
    /// Facts about the store itself.
    Meta,
}

impl Tree {
    /// Every tree, in the order an engine numbers them.
    pub const ALL: [Tree; 12] = [
        Tree::Events,
        Tree::Replies,
        Tree::Outbox,
        Tree::Messages,
        Tree::Addresses,
        Tree::Homes,
        Tree::Statuses,
        Tree::Moments,
        Tree::Groups,
        Tree::Riders,
        Tree::Forgotten,
        Tree::Meta,
    ];

    /// The name an engine keeps it under.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Tree::Events => "events",
            Tree::Replies => "replies",
            Tree::Outbox => "outbox",
            Tree::Messages => "messages",
            Tree::Addresses => "addresses",
            Tree::Homes => "homes",
            Tree::Statuses => "statuses",
            Tree::Moments => "moments",
            Tree::Groups => "groups",
            Tree::Riders => "riders",
            Tree::Forgotten => "forgotten",
            Tree::Meta => "meta",
        }
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Op {
    /// A new key; if it exists, the whole batch is refused.
    Add(Tree, Vec<u8>, Vec<u8>),
    /// A key, whether or not it exists.
    Put(Tree, Vec<u8>, Vec<u8>),
    /// Away with a key, whether or not it exists.
    Remove(Tree, Vec<u8>),
}

/// Changes that happen together or not at all, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Batch(pub Vec<Op>);

/// What became of a batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Applied {
    /// All of it is in place, durable after the next sync.
    Whole,
    /// None of it: this key to be added exists already.
    Refused(Tree, Vec<u8>),
}

/// A key and its value.
pub type Row = (Vec<u8>, Vec<u8>);

/// Called with each key and value of a scan; an error ends it.
pub type Visit<'a> = &'a mut dyn FnMut(&[u8], &[u8]) -> Result<(), StoreError>;

/// An ordered store of bytes, owned by one thread.
pub trait Engine: Send {
    /// Takes a batch whole or not at all.
    ///
    /// # Errors
    /// When the medium fails; the engine must not be used afterwards.
    fn apply(&mut self, batch: &Batch) -> Result<Applied, StoreError>;

    /// Makes everything applied so far survive a loss of power.
    ///
    /// # Errors
    /// When the medium fails; the engine must not be used afterwards.
    fn sync(&mut self) -> Result<(), StoreError>;

    /// The value of a key.
    ///
    /// # Errors
    /// When the medium fails or is damaged.
    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError>;

    /// The last key with a prefix, and its value.
    ///
    /// # Errors
    /// When the medium fails or is damaged.
    fn last(&self, tree: Tree, prefix: &[u8]) -> Result<Option<Row>, StoreError>;

    /// Every key with a prefix, in ascending order.
    ///
    /// # Errors
    /// When the medium fails or is damaged, or as `visit` says.
    fn scan(&self, tree: Tree, prefix: &[u8], visit: Visit<'_>) -> Result<(), StoreError>;

    /// Something read was not what was written: what there is now must not be vouched for.
    fn doubt(&self) {}
}
