//! Whether all that is kept fits together: run after a crash, before anything is trusted.

use super::engine::Tree;
use super::index;
use super::layout;
use super::ledger::Ledger;
use super::log;
use super::name::ConversationId;
use super::problem::StoreError;
use crate::conversation::event::Turn;
use std::cmp::Ordering;

/// What was found on reading everything.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verdict {
    /// Conversations read.
    pub conversations: usize,
    /// Events read.
    pub events: usize,
    /// Replies read.
    pub replies: usize,
    /// What is wrong, one sentence each; empty if all is well.
    pub problems: Vec<String>,
}

/// Sees to it that no row is missing: every conversation has all its events and replies, its address and
/// its status. Of what is sealed only the last events are read, which say how many replies there must be:
/// after a crash a rider waits for this.
///
/// # Errors
/// The first contradiction found.
pub(super) fn all(ledger: &Ledger) -> Result<(), StoreError> {
    let homes = index::all(ledger.engine())?;
    for conversation in &homes {
        complete(ledger, *conversation)?;
    }
    strays(ledger, &homes)
}

/// Reads some conversations, and goes on after what is wrong.
pub(super) fn some(ledger: &Ledger, conversations: &[ConversationId]) -> Verdict {
    let mut verdict = Verdict::default();
    for conversation in conversations {
        verdict.conversations += 1;
        match one(ledger, *conversation) {
            Ok((events, replies)) => {
                verdict.events += events;
                verdict.replies += replies;
            }
            // Forgotten in the meantime.
            Err(_) if ledger.slot(*conversation) == Ok(None) => verdict.conversations -= 1,
            Err(error) => {
                ledger.engine().doubt();
                verdict.problems.push(plain(&error));
            }
        }
    }
    verdict
}

/// What is wrong beside the conversations.
pub(super) fn beside(ledger: &Ledger) -> Result<Option<String>, StoreError> {
    let homes = index::all(ledger.engine())?;
    Ok(strays(ledger, &homes).err().map(|error| plain(&error)))
}

/// The first line of an error: what is wrong, without what to do.
fn plain(error: &StoreError) -> String {
    let text = error.to_string();
    text.lines().next().unwrap_or_default().to_owned()
}

/// Reads one conversation: how many events and replies it has.
fn one(ledger: &Ledger, conversation: ConversationId) -> Result<(usize, usize), StoreError> {
    let replies = complete(ledger, conversation)?;
    let events = log::load(ledger, conversation)?.len();
    for turn in 0..replies {
        layout::said(ledger, conversation, turn)?;
    }
    Ok((events, replies as usize))
}

/// Sees to it that one conversation has all its rows; how many replies it has.
fn complete(ledger: &Ledger, conversation: ConversationId) -> Result<Turn, StoreError> {
    if ledger.home(conversation)?.is_none() {
        return Err(lost(conversation, "its key was destroyed"));
    }
    let Some(last) = log::last_turn(ledger, conversation)? else {
        return Err(lost(conversation, "its events are missing"));
    };
    let replies = layout::replies(ledger.engine(), conversation)?;
    match replies.cmp(&(last + 1)) {
        Ordering::Less => return Err(lost(conversation, "a reply is missing")),
        Ordering::Greater => return Err(lost(conversation, "its last events are missing")),
        Ordering::Equal => {}
    }
    match index::standing(ledger.engine(), conversation)? {
        Some(_) => Ok(replies),
        None => Err(lost(conversation, "its status is missing")),
    }
}

/// A conversation whose home is lost is found by its events; what waits to be sent must be there.
fn strays(ledger: &Ledger, homes: &[ConversationId]) -> Result<(), StoreError> {
    owned(ledger, Tree::Events, homes)?;
    owned(ledger, Tree::Replies, homes)?;
    for tree in index::NAMED {
        ledger.engine().scan(tree, &[], &mut |key, value| {
            known(index::pointee(tree, key, value)?, homes)
        })?;
    }
    layout::unsent(ledger).map(drop)
}

fn owned(ledger: &Ledger, tree: Tree, homes: &[ConversationId]) -> Result<(), StoreError> {
    ledger.engine().scan(tree, &[], &mut |key, _| {
        known(layout::conversation(tree, key)?, homes)
    })
}

fn known(conversation: ConversationId, homes: &[ConversationId]) -> Result<(), StoreError> {
    match homes.binary_search(&conversation) {
        Ok(_) => Ok(()),
        Err(_) => Err(lost(conversation, "its address is missing")),
    }
}

fn lost(conversation: ConversationId, what: &str) -> StoreError {
    StoreError::Damaged {
        place: format!("conversation {conversation}"),
        what: what.to_owned(),
    }
}
