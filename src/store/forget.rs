//! Forgetting: every row of a conversation goes, and the key that could open what the file still holds.

use super::engine::{Batch, Op, Tree};
use super::index;
use super::layout::numbered;
use super::ledger::{Ledger, key_of};
use super::log;
use super::name::{ConversationId, MessageId, Rider};
use super::problem::StoreError;
use crate::conversation::event::Event;
use jiff::Timestamp;
use std::ops::AddAssign;

/// How much was erased.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Erased {
    /// Conversations.
    pub conversations: usize,
    /// What the rider wrote or picked.
    pub messages: usize,
    /// What the rider's messages told: results, readings, facts.
    pub findings: usize,
    /// Replies.
    pub replies: usize,
}

impl AddAssign for Erased {
    fn add_assign(&mut self, other: Self) {
        self.conversations += other.conversations;
        self.messages += other.messages;
        self.findings += other.findings;
        self.replies += other.replies;
    }
}

/// Forgets all conversations of a rider, whole or not at all. The message that asked for it is
/// remembered by its pseudonym alone, so that its second delivery opens nothing.
pub(super) fn rider(
    ledger: &mut Ledger,
    rider: &Rider,
    message: Option<&MessageId>,
    at: Timestamp,
) -> Result<Erased, StoreError> {
    let conversations = index::of_rider(ledger, rider)?;
    let mut ops = Vec::new();
    if let (Some(message), Some(last)) = (message, conversations.last()) {
        let key = ledger.message(message).to_vec();
        ops.push(Op::Put(Tree::Messages, key, numbered(*last, u32::MAX)));
    }
    all(ledger, &conversations, ops, at)
}

/// Forgets a conversation. Nothing happens where there is none.
pub(super) fn conversation(
    ledger: &mut Ledger,
    of: ConversationId,
    at: Timestamp,
) -> Result<Erased, StoreError> {
    all(ledger, &[of], Vec::new(), at)
}

fn all(
    ledger: &mut Ledger,
    conversations: &[ConversationId],
    mut ops: Vec<Op>,
    at: Timestamp,
) -> Result<Erased, StoreError> {
    let (mut erased, mut slots) = (Erased::default(), Vec::new());
    for of in conversations {
        if let Some(slot) = ledger.slot(*of)? {
            let counted = counted(ledger, *of);
            let (removed, replies) = removed(ledger, *of, at)?;
            erased += Erased { replies, ..counted };
            ops.extend(removed);
            slots.push(slot);
        }
    }
    ledger.apply(&Batch(ops))?;
    for slot in slots {
        ledger.doom_key(slot);
    }
    Ok(erased)
}

/// What takes every row of a conversation away, and how many replies are among them.
fn removed(
    ledger: &Ledger,
    of: ConversationId,
    at: Timestamp,
) -> Result<(Vec<Op>, usize), StoreError> {
    let home = ledger.home(of)?;
    let mut ops = index::forgotten(ledger, of, home.as_ref(), at)?;
    if home.is_none() {
        ops.extend(index::pointing_at(ledger.engine(), of)?);
    }
    ops.push(Op::Remove(Tree::Homes, key_of(of).to_vec()));
    let mut replies = 0;
    for tree in [Tree::Events, Tree::Replies, Tree::Outbox] {
        ledger.engine().scan(tree, &key_of(of), &mut |key, _| {
            replies += usize::from(tree == Tree::Replies);
            ops.push(Op::Remove(tree, key.to_vec()));
            Ok(())
        })?;
    }
    Ok((ops, replies))
}

/// What is about to be erased; a conversation that cannot be read is erased uncounted.
fn counted(ledger: &Ledger, of: ConversationId) -> Erased {
    let mut erased = Erased {
        conversations: 1,
        ..Erased::default()
    };
    for kept in log::load(ledger, of).unwrap_or_default() {
        match kept.logged.event {
            Event::Heard(_) => erased.messages += 1,
            Event::Found(_) | Event::LeadsRead(_) | Event::SpecTold(_) | Event::MeterTold(_) => {
                erased.findings += 1;
            }
            _ => {}
        }
    }
    erased
}

/// Finishes what a crash interrupted: keys whose rows are gone, and rows whose key is.
pub(super) fn finish(ledger: &mut Ledger, at: Timestamp) -> Result<(), StoreError> {
    for of in index::all(ledger.engine())? {
        if ledger.lock(of)?.is_none() {
            conversation(ledger, of, at)?;
        }
    }
    ledger.doom_orphans()?;
    ledger.sync()
}
