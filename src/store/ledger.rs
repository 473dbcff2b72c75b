//! An engine together with the keys of what it holds: the two that must be durable together.

use super::cipher::{Lock, Pseudonym, pseudonym};
use super::engine::{Applied, Batch, Engine, Tree};
use super::keys::{Held, KEY, Keys, Slot};
use super::name::{Address, ConversationId, Group, MessageId, Rider};
use super::problem::StoreError;
use serde::{Deserialize, Serialize};
use std::cell::RefCell;
use std::collections::BTreeSet;

/// Rows and keys, owned by one thread.
pub struct Ledger {
    engine: Box<dyn Engine>,
    /// Reading a key moves the place in its file.
    keys: RefCell<Keys>,
    /// Keys to be overwritten once it is durable that nothing needs them any more.
    doomed: Vec<Slot>,
}

/// Where a conversation is held and by whom: the only place where their own names stand, sealed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Home {
    /// Where.
    pub address: Address,
    /// By whom.
    pub rider: Rider,
}

impl Ledger {
    /// A ledger of an engine and its keys.
    pub fn new(engine: impl Engine + 'static, keys: Keys) -> Self {
        Self {
            engine: Box::new(engine),
            keys: RefCell::new(keys),
            doomed: Vec::new(),
        }
    }

    /// The rows.
    pub fn engine(&self) -> &dyn Engine {
        &*self.engine
    }

    /// Takes a batch whole or not at all.
    pub fn apply(&mut self, batch: &Batch) -> Result<Applied, StoreError> {
        self.engine.apply(batch)
    }

    /// Makes everything so far durable: new keys first and doomed ones last, since rows without their
    /// key are lost, while a key without rows is nothing.
    pub fn sync(&mut self) -> Result<(), StoreError> {
        let keys = self.keys.get_mut();
        keys.sync()?;
        self.engine.sync()?;
        for slot in self.doomed.drain(..) {
            keys.destroy(slot)?;
        }
        keys.sync()
    }

    /// Sees to it that no conversation has a damaged key.
    pub fn check_keys(&mut self) -> Result<(), StoreError> {
        let spoilt = self.keys.get_mut().spoilt()?;
        if spoilt.is_empty() {
            return Ok(());
        }
        let mut keys = self.keys.borrow_mut();
        self.engine.scan(Tree::Homes, &[], &mut |key, value| {
            let of = super::layout::conversation(Tree::Homes, key)?;
            let (slot, _) = split_home(of, value)?;
            if spoilt.contains(&slot) {
                keys.key(slot, of)?;
            }
            Ok(())
        })
    }

    /// Every conversation that has a key, whether or not it has rows.
    pub fn with_keys(&self) -> Result<Vec<ConversationId>, StoreError> {
        self.keys.borrow_mut().conversations()
    }

    /// Makes the key of a new conversation.
    pub fn make_key(&mut self, conversation: ConversationId) -> Result<(Slot, Lock), StoreError> {
        let (slot, key) = self.keys.get_mut().make(conversation)?;
        Ok((slot, Lock::of(&key)))
    }

    /// Overwrites a key that no row was kept under.
    pub fn destroy_key(&mut self, slot: Slot) -> Result<(), StoreError> {
        self.keys.get_mut().destroy(slot)
    }

    /// Overwrites a key with the next sync, after the rows that were kept under it are gone for good.
    pub fn doom_key(&mut self, slot: Slot) {
        self.doomed.push(slot);
    }

    /// Dooms every key that belongs to no conversation: a crash came before its rows were kept, or
    /// after they were removed.
    pub fn doom_orphans(&mut self) -> Result<(), StoreError> {
        let mut owned = BTreeSet::from([Keys::SECRET]);
        self.engine.scan(Tree::Homes, &[], &mut |key, value| {
            let of = super::layout::conversation(Tree::Homes, key)?;
            owned.insert(split_home(of, value)?.0);
            Ok(())
        })?;
        let slots = self.keys.get_mut().slots();
        self.doomed
            .extend(slots.filter(|slot| !owned.contains(slot)));
        Ok(())
    }

    /// Where the key of a conversation is; none if the conversation is not known.
    pub fn slot(&self, conversation: ConversationId) -> Result<Option<Slot>, StoreError> {
        let home = self.engine.get(Tree::Homes, &key_of(conversation))?;
        home.map(|bytes| Ok(split_home(conversation, &bytes)?.0))
            .transpose()
    }

    /// The lock of a conversation; none if it is not known, or its key was destroyed.
    pub fn lock(&self, conversation: ConversationId) -> Result<Option<Lock>, StoreError> {
        let Some(slot) = self.slot(conversation)? else {
            return Ok(None);
        };
        self.lock_at(slot, conversation)
    }

    fn lock_at(&self, slot: Slot, of: ConversationId) -> Result<Option<Lock>, StoreError> {
        match self.keys.borrow_mut().key(slot, of)? {
            Held::Key(key) => Ok(Some(Lock::of(&key))),
            Held::Destroyed => Ok(None),
        }
    }

    /// The value that names a conversation's home.
    pub fn seal_home(
        of: ConversationId,
        slot: Slot,
        lock: &Lock,
        home: &Home,
    ) -> Result<Vec<u8>, StoreError> {
        let text = serde_json::to_vec(home).expect("two texts have a stored form");
        let sealed = lock.seal(Tree::Homes, &key_of(of), &text)?;
        Ok([slot.to_be_bytes().as_slice(), &sealed].concat())
    }

    /// Where a conversation is held and by whom; none if it is not known, or forgotten.
    pub fn home(&self, conversation: ConversationId) -> Result<Option<Home>, StoreError> {
        let key = key_of(conversation);
        let Some(bytes) = self.engine.get(Tree::Homes, &key)? else {
            return Ok(None);
        };
        let (slot, sealed) = split_home(conversation, &bytes)?;
        let Some(lock) = self.lock_at(slot, conversation)? else {
            return Ok(None);
        };
        let text = lock.open(Tree::Homes, &key, sealed);
        let home = text.and_then(|text| serde_json::from_slice(&text).ok());
        home.map(Some).ok_or_else(|| unreadable(conversation))
    }

    /// What an address is called in the index.
    pub fn address(&self, address: &Address) -> Pseudonym {
        self.pseudonym("address", address.as_str())
    }

    /// What a group is called in the index.
    pub fn group(&self, group: &Group) -> Pseudonym {
        self.pseudonym("group", group.as_str())
    }

    /// What a rider is called in the index.
    pub fn rider(&self, rider: &Rider) -> Pseudonym {
        self.pseudonym("rider", rider.as_str())
    }

    /// What a message is called in the index.
    pub fn message(&self, message: &MessageId) -> Pseudonym {
        self.pseudonym("message", message.as_str())
    }

    fn pseudonym(&self, kind: &str, name: &str) -> Pseudonym {
        pseudonym(self.keys.borrow().secret(), kind, name)
    }

    /// The secret of the pseudonyms, for a backup.
    pub fn secret(&self) -> [u8; KEY] {
        *self.keys.borrow().secret()
    }

    /// Takes over the secret of a backup; only while there is no conversation.
    pub fn adopt(&mut self, secret: [u8; KEY]) -> Result<(), StoreError> {
        self.keys.get_mut().adopt(secret)
    }
}

/// The key of a conversation in every tree that has one row of it.
pub fn key_of(conversation: ConversationId) -> [u8; 8] {
    conversation.0.to_be_bytes()
}

fn split_home(of: ConversationId, bytes: &[u8]) -> Result<(Slot, &[u8]), StoreError> {
    let (slot, sealed) = bytes.split_first_chunk().ok_or_else(|| unreadable(of))?;
    Ok((Slot::from_be_bytes(*slot), sealed))
}

fn unreadable(conversation: ConversationId) -> StoreError {
    StoreError::Damaged {
        place: format!("conversation {conversation}"),
        what: "its address cannot be read".to_owned(),
    }
}
