//! Forgetting: every row of a conversation goes, and the key that could open what the file still holds.

use super::engine::{Batch, Op, Tree};
use super::index;
use super::layout::{self, numbered};
use super::ledger::{Ledger, key_of};
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

/// Forgets all conversations of a rider. The message that asked for it is remembered by its
/// pseudonym alone, so that its second delivery opens nothing.
pub(super) fn rider(
    ledger: &mut Ledger,
    rider: &Rider,
    message: Option<&MessageId>,
    at: Timestamp,
) -> Result<Erased, StoreError> {
    let conversations = index::of_rider(ledger, rider)?;
    let mut erased = Erased::default();
    for of in &conversations {
        erased += conversation(ledger, *of, at)?;
    }
    if let (Some(message), Some(last)) = (message, conversations.last()) {
        let key = ledger.message(message).to_vec();
        let op = Op::Put(Tree::Messages, key, numbered(*last, u32::MAX));
        ledger.apply(&Batch(vec![op]))?;
    }
    Ok(erased)
}

/// Forgets a conversation. Nothing happens where there is none.
pub(super) fn conversation(
    ledger: &mut Ledger,
    of: ConversationId,
    at: Timestamp,
) -> Result<Erased, StoreError> {
    let Some(slot) = ledger.slot(of)? else {
        return Ok(Erased::default());
    };
    let mut erased = counted(ledger, of);
    let home = ledger.home(of)?;
    let mut ops = index::forgotten(ledger, of, home.as_ref(), at)?;
    if home.is_none() {
        ops.extend(index::pointing_at(ledger.engine(), of)?);
    }
    ops.push(Op::Remove(Tree::Homes, key_of(of).to_vec()));
    for tree in [Tree::Events, Tree::Replies, Tree::Outbox] {
        ledger.engine().scan(tree, &key_of(of), &mut |key, _| {
            erased.replies += usize::from(tree == Tree::Replies);
            ops.push(Op::Remove(tree, key.to_vec()));
            Ok(())
        })?;
    }
    ledger.apply(&Batch(ops))?;
    ledger.doom_key(slot);
    Ok(erased)
}

/// What is about to be erased; a conversation that cannot be read is erased uncounted.
fn counted(ledger: &Ledger, of: ConversationId) -> Erased {
    let mut erased = Erased {
        conversations: 1,
        ..Erased::default()
    };
    for kept in layout::load(ledger, of).unwrap_or_default() {
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
