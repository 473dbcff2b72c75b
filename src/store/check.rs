//! Whether all that is kept fits together: run after a crash, before anything is trusted.

use super::engine::{Engine, Tree};
use super::layout;
use super::name::ConversationId;
use super::problem::StoreError;

/// Reads every conversation and compares its events, replies, address and status.
///
/// # Errors
/// The first contradiction found.
pub fn all(engine: &dyn Engine) -> Result<(), StoreError> {
    let mut homes = Vec::new();
    engine.scan(Tree::Homes, &[], &mut |key, _| {
        homes.push(layout::conversation(Tree::Homes, key)?);
        Ok(())
    })?;
    for conversation in &homes {
        one(engine, *conversation)?;
    }
    // A conversation whose home is lost is found by its events.
    owned(engine, Tree::Events, &homes)?;
    owned(engine, Tree::Replies, &homes)?;
    layout::unsent(engine).map(drop)
}

fn one(engine: &dyn Engine, conversation: ConversationId) -> Result<(), StoreError> {
    let kept = layout::load(engine, conversation)?;
    let last = kept.last().map(|kept| kept.logged.turn);
    let Some(last) = last else {
        return Err(lost(conversation, "its events are missing"));
    };
    for turn in 0..=last {
        if layout::said(engine, conversation, turn)?.is_none() {
            return Err(lost(conversation, "a reply is missing"));
        }
    }
    if layout::said(engine, conversation, last + 1)?.is_some() {
        return Err(lost(conversation, "its last events are missing"));
    }
    match layout::status(engine, conversation)? {
        Some(_) => Ok(()),
        None => Err(lost(conversation, "its status is missing")),
    }
}

fn owned(engine: &dyn Engine, tree: Tree, homes: &[ConversationId]) -> Result<(), StoreError> {
    engine.scan(tree, &[], &mut |key, _| {
        let conversation = layout::conversation(tree, key)?;
        match homes.binary_search(&conversation) {
            Ok(_) => Ok(()),
            Err(_) => Err(lost(conversation, "its address is missing")),
        }
    })
}

fn lost(conversation: ConversationId, what: &str) -> StoreError {
    StoreError::Damaged {
        place: format!("conversation {conversation}"),
        what: what.to_owned(),
    }
}
