//! Which keys a conversation occupies, and the batches and scans over them.

use super::engine::{Applied, Batch, Engine, Op, Tree};
use super::name::{Address, ConversationId, MessageId, Status};
use super::problem::StoreError;
use super::{Before, Entry, Kept, Outgoing, record};
use crate::conversation::event::Turn;

/// Conversation, then a sequence or turn number: big-endian, so that bytes sort as numbers do.
fn numbered(conversation: ConversationId, number: u32) -> Vec<u8> {
    let mut key = conversation.0.to_be_bytes().to_vec();
    key.extend(number.to_be_bytes());
    key
}

/// The address and a NUL, so that no address is a prefix of another one's keys.
fn address_prefix(address: &Address) -> Vec<u8> {
    let mut key = address.as_str().as_bytes().to_vec();
    key.push(0);
    key
}

fn status_prefix(status: Status) -> u8 {
    match status {
        Status::Unfinished => 1,
        Status::HandedOver => 2,
        Status::Closed => 3,
    }
}

fn status_key(status: Status, conversation: ConversationId) -> Vec<u8> {
    let mut key = vec![status_prefix(status)];
    key.extend(conversation.0.to_be_bytes());
    key
}

fn damaged(tree: Tree, what: &str) -> StoreError {
    StoreError::Damaged {
        place: format!("the tree {:?}", tree.name()),
        what: what.to_owned(),
    }
}

/// The last four bytes of a key as a number.
fn number(tree: Tree, key: &[u8]) -> Result<u32, StoreError> {
    let bytes = key.last_chunk().ok_or_else(|| damaged(tree, "short key"))?;
    Ok(u32::from_be_bytes(*bytes))
}

/// A conversation id at the start of some bytes.
pub fn conversation(tree: Tree, bytes: &[u8]) -> Result<ConversationId, StoreError> {
    let bytes = bytes
        .first_chunk()
        .ok_or_else(|| damaged(tree, "short conversation id"))?;
    Ok(ConversationId(u64::from_be_bytes(*bytes)))
}

/// Keeps a turn.
pub fn append(engine: &mut dyn Engine, entry: &Entry) -> Result<(), StoreError> {
    let mut ops = event_ops(engine, entry)?;
    ops.extend(reply_ops(entry));
    ops.extend(opening_ops(engine, entry)?);
    ops.extend(status_ops(engine, entry)?);
    match engine.apply(&Batch(ops))? {
        Applied::Whole => Ok(()),
        Applied::Refused(tree, _) => Err(overtaken(entry.conversation, tree)),
    }
}

fn overtaken(conversation: ConversationId, tree: Tree) -> StoreError {
    StoreError::Overtaken {
        place: format!("conversation {conversation}, {}", tree.name()),
    }
}

fn event_ops(engine: &dyn Engine, entry: &Entry) -> Result<Vec<Op>, StoreError> {
    let gap = match entry.after.checked_sub(1) {
        None => false,
        Some(before) => {
            let key = numbered(entry.conversation, before);
            engine.get(Tree::Events, &key)?.is_none()
        }
    };
    if gap {
        return Err(overtaken(entry.conversation, Tree::Events));
    }
    let events = (entry.after..).zip(&entry.events);
    Ok(events
        .map(|(sequence, logged)| {
            let key = numbered(entry.conversation, sequence);
            Op::Add(Tree::Events, key, record::write_event(logged, entry.at))
        })
        .collect())
}

fn reply_ops(entry: &Entry) -> Vec<Op> {
    let key = numbered(entry.conversation, entry.reply.turn);
    let said = record::write_reply(&entry.reply, entry.at);
    let mut ops = vec![
        Op::Add(Tree::Replies, key.clone(), said),
        Op::Add(Tree::Outbox, key.clone(), Vec::new()),
    ];
    if let Some(message) = &entry.message {
        let id = message.as_str().as_bytes().to_vec();
        ops.push(Op::Add(Tree::Messages, id, key));
    }
    ops
}

fn opening_ops(engine: &dyn Engine, entry: &Entry) -> Result<Vec<Op>, StoreError> {
    let Some(address) = &entry.opens else {
        return Ok(Vec::new());
    };
    let prefix = address_prefix(address);
    let ordinal = match engine.last(Tree::Addresses, &prefix)? {
        Some((key, _)) => number(Tree::Addresses, &key)? + 1,
        None => 0,
    };
    let mut key = prefix;
    key.extend(ordinal.to_be_bytes());
    let id = entry.conversation.0.to_be_bytes().to_vec();
    let home = address.as_str().as_bytes().to_vec();
    Ok(vec![
        Op::Add(Tree::Addresses, key, id.clone()),
        Op::Add(Tree::Homes, id, home),
    ])
}

fn status_ops(engine: &dyn Engine, entry: &Entry) -> Result<Vec<Op>, StoreError> {
    let new = Status::of(entry.reply.phase);
    let old = status(engine, entry.conversation)?;
    if old == Some(new) {
        return Ok(Vec::new());
    }
    let mut ops = vec![Op::Put(
        Tree::Statuses,
        status_key(new, entry.conversation),
        Vec::new(),
    )];
    if let Some(old) = old {
        let key = status_key(old, entry.conversation);
        ops.push(Op::Remove(Tree::Statuses, key));
    }
    Ok(ops)
}

/// The status of a conversation.
pub fn status(
    engine: &dyn Engine,
    conversation: ConversationId,
) -> Result<Option<Status>, StoreError> {
    for status in Status::ALL {
        let key = status_key(status, conversation);
        if engine.get(Tree::Statuses, &key)?.is_some() {
            return Ok(Some(status));
        }
    }
    Ok(None)
}

/// All events of a conversation.
pub fn load(engine: &dyn Engine, conversation: ConversationId) -> Result<Vec<Kept>, StoreError> {
    let mut events = Vec::new();
    let prefix = conversation.0.to_be_bytes();
    engine.scan(Tree::Events, &prefix, &mut |key, value| {
        let sequence = number(Tree::Events, key)?;
        let place = format!("event {sequence} of conversation {conversation}");
        if usize::try_from(sequence) != Ok(events.len()) {
            return Err(StoreError::Damaged {
                place,
                what: format!("event {} before it is missing", events.len()),
            });
        }
        let (at, logged) = record::read_event(value, &place)?;
        events.push(Kept { at, logged });
        Ok(())
    })?;
    Ok(events)
}

/// What was said in a turn.
pub fn said(
    engine: &dyn Engine,
    conversation: ConversationId,
    turn: Turn,
) -> Result<Option<Outgoing>, StoreError> {
    let key = numbered(conversation, turn);
    let Some(value) = engine.get(Tree::Replies, &key)? else {
        return Ok(None);
    };
    let place = format!("reply {turn} of conversation {conversation}");
    let (at, reply) = record::read_reply(&value, &place)?;
    Ok(Some(Outgoing {
        conversation,
        address: home(engine, conversation)?,
        turn,
        at,
        reply,
    }))
}

fn home(engine: &dyn Engine, conversation: ConversationId) -> Result<Address, StoreError> {
    let value = engine.get(Tree::Homes, &conversation.0.to_be_bytes())?;
    let text = value.and_then(|bytes| String::from_utf8(bytes).ok());
    let text = text.ok_or_else(|| damaged(Tree::Homes, "a conversation has no address"))?;
    Ok(Address::new(&text))
}

/// What a message was answered with.
pub fn answered(engine: &dyn Engine, message: &MessageId) -> Result<Option<Outgoing>, StoreError> {
    match engine.get(Tree::Messages, message.as_str().as_bytes())? {
        Some(key) => said_under(engine, Tree::Messages, &key).map(Some),
        None => Ok(None),
    }
}

/// The reply under a key that an index points to; it must be there.
fn said_under(engine: &dyn Engine, tree: Tree, key: &[u8]) -> Result<Outgoing, StoreError> {
    let found = said(engine, conversation(tree, key)?, number(tree, key)?)?;
    found.ok_or_else(|| damaged(tree, "it points to a reply that is not there"))
}

/// All that a message at an address needs.
pub fn before(
    engine: &dyn Engine,
    address: &Address,
    message: Option<&MessageId>,
) -> Result<Before, StoreError> {
    if let Some(message) = message
        && let Some(outgoing) = answered(engine, message)?
    {
        return Ok(Before::Answered(Box::new(outgoing)));
    }
    match latest(engine, address)? {
        Some(conversation) => {
            let kept = load(engine, conversation)?;
            Ok(Before::Events(conversation, kept))
        }
        None => Ok(Before::Nothing),
    }
}

/// The conversation opened last at an address.
pub fn latest(
    engine: &dyn Engine,
    address: &Address,
) -> Result<Option<ConversationId>, StoreError> {
    match engine.last(Tree::Addresses, &address_prefix(address))? {
        Some((_, id)) => conversation(Tree::Addresses, &id).map(Some),
        None => Ok(None),
    }
}

/// All conversations of a status.
pub fn with_status(engine: &dyn Engine, status: Status) -> Result<Vec<ConversationId>, StoreError> {
    let mut found = Vec::new();
    engine.scan(Tree::Statuses, &[status_prefix(status)], &mut |key, _| {
        found.push(conversation(Tree::Statuses, &key[1..])?);
        Ok(())
    })?;
    Ok(found)
}

/// Replies not known to be sent.
pub fn unsent(engine: &dyn Engine) -> Result<Vec<Outgoing>, StoreError> {
    let mut found = Vec::new();
    engine.scan(Tree::Outbox, &[], &mut |key, _| {
        found.push(said_under(engine, Tree::Outbox, key)?);
        Ok(())
    })?;
    Ok(found)
}

/// Takes a reply out of the outbox.
pub fn mark_sent(
    engine: &mut dyn Engine,
    conversation: ConversationId,
    turn: Turn,
) -> Result<(), StoreError> {
    let ops = vec![Op::Remove(Tree::Outbox, numbered(conversation, turn))];
    engine.apply(&Batch(ops)).map(drop)
}
