//! Which keys a conversation occupies, and the batches and scans over them.

use super::cipher::Lock;
use super::engine::{Applied, Batch, Engine, Op, Tree};
use super::index;
use super::keys::Slot;
use super::ledger::{Home, Ledger, key_of};
use super::name::{Address, ConversationId, MessageId};
use super::problem::StoreError;
use super::{Before, Entry, Note, Outgoing, log, record};
use crate::conversation::event::Turn;
use jiff::Timestamp;

/// Bytes of a message's pseudonym before a stored reply.
const MESSAGE: usize = 16;

/// Conversation, then a sequence or turn number: big-endian, so that bytes sort as numbers do.
pub fn numbered(conversation: ConversationId, number: u32) -> Vec<u8> {
    let mut key = key_of(conversation).to_vec();
    key.extend(number.to_be_bytes());
    key
}

pub(super) fn damaged(tree: Tree, what: &str) -> StoreError {
    StoreError::Damaged {
        place: format!("the tree {:?}", tree.name()),
        what: what.to_owned(),
    }
}

/// The last four bytes of a key as a number.
pub(super) fn number(tree: Tree, key: &[u8]) -> Result<u32, StoreError> {
    let bytes = key.last_chunk().ok_or_else(|| damaged(tree, "short key"))?;
    Ok(u32::from_be_bytes(*bytes))
}

/// A conversation id at the start of some bytes.
pub(super) fn conversation(tree: Tree, bytes: &[u8]) -> Result<ConversationId, StoreError> {
    let bytes = bytes
        .first_chunk()
        .ok_or_else(|| damaged(tree, "short conversation id"))?;
    Ok(ConversationId(u64::from_be_bytes(*bytes)))
}

/// Keeps a turn.
pub(super) fn append(ledger: &mut Ledger, entry: &Entry) -> Result<(), StoreError> {
    let of = entry.conversation;
    log::expect(ledger.engine(), of, entry.after)?;
    let mut made = None;
    let (lock, mut ops) = match &entry.opens {
        None => (known_lock(ledger, of)?, Vec::new()),
        Some(home) => {
            let ordinal = index::free_ordinal(ledger, &home.address, None)?;
            let (slot, lock) = ledger.make_key(of)?;
            made = Some(slot);
            let ops = opening_ops(ledger, (of, entry.at), (home, ordinal), (slot, &lock))?;
            (lock, ops)
        }
    };
    ops.extend(log::added(
        &lock,
        (of, entry.after),
        &entry.events,
        entry.at,
    )?);
    ops.extend(reply_ops(ledger, &lock, entry)?);
    ops.extend(index::moved(ledger.engine(), of, entry.status(), entry.at)?);
    take(ledger, of, ops, made)
}

/// Keeps events that nobody is answered for.
pub(super) fn note(ledger: &mut Ledger, note: &Note) -> Result<(), StoreError> {
    let of = note.conversation;
    let lock = known_lock(ledger, of)?;
    log::expect(ledger.engine(), of, note.after)?;
    let row = log::added(&lock, (of, note.after), &note.events, note.at)?;
    take(ledger, of, row.into_iter().collect(), None)
}

/// Applies a batch; the key made for it goes if it was refused.
pub(super) fn take(
    ledger: &mut Ledger,
    of: ConversationId,
    ops: Vec<Op>,
    made: Option<Slot>,
) -> Result<(), StoreError> {
    match ledger.apply(&Batch(ops))? {
        Applied::Whole => Ok(()),
        Applied::Refused(tree, _) => {
            if let Some(slot) = made {
                ledger.destroy_key(slot)?;
            }
            Err(overtaken(of, tree))
        }
    }
}

pub(super) fn overtaken(conversation: ConversationId, tree: Tree) -> StoreError {
    StoreError::Overtaken {
        place: format!("conversation {conversation}, {}", tree.name()),
    }
}

/// The lock of a conversation that is there; one that was forgotten takes nothing more.
fn known_lock(ledger: &Ledger, of: ConversationId) -> Result<Lock, StoreError> {
    let lock = ledger.lock(of)?;
    lock.ok_or_else(|| overtaken(of, Tree::Homes))
}

fn reply_ops(ledger: &Ledger, lock: &Lock, entry: &Entry) -> Result<Vec<Op>, StoreError> {
    let key = numbered(entry.conversation, entry.reply.turn);
    let said = record::write_reply(&entry.reply, entry.at);
    let message = entry.message.as_ref().map(|id| ledger.message(id));
    let mut ops = vec![
        Op::Add(
            Tree::Replies,
            key.clone(),
            seal_reply(lock, &key, message, &said)?,
        ),
        Op::Add(Tree::Outbox, key.clone(), Vec::new()),
    ];
    if let Some(message) = message {
        ops.push(Op::Add(Tree::Messages, message.to_vec(), key));
    }
    Ok(ops)
}

/// A reply as it stands in its tree; all zeros where no message had an id.
pub(super) fn seal_reply(
    lock: &Lock,
    key: &[u8],
    message: Option<[u8; MESSAGE]>,
    said: &[u8],
) -> Result<Vec<u8>, StoreError> {
    let mut value = message.unwrap_or_default().to_vec();
    value.extend(lock.seal(Tree::Replies, key, said)?);
    Ok(value)
}

/// What a new conversation occupies beside its first turn, at the so-manieth place of its address.
pub(super) fn opening_ops(
    ledger: &Ledger,
    (of, at): (ConversationId, Timestamp),
    (home, ordinal): (&Home, u32),
    (slot, lock): (Slot, &Lock),
) -> Result<Vec<Op>, StoreError> {
    let prefix = ledger.address(&home.address);
    let key = [prefix.as_slice(), &ordinal.to_be_bytes()].concat();
    let mut ops = vec![
        Op::Add(Tree::Addresses, key, key_of(of).to_vec()),
        Op::Add(
            Tree::Homes,
            key_of(of).to_vec(),
            Ledger::seal_home(of, slot, lock, home)?,
        ),
    ];
    ops.extend(index::opened(ledger, of, home, at));
    Ok(ops)
}

/// Opens a record, or says that it is damaged.
pub(super) fn unseal(
    lock: &Lock,
    (tree, key): (Tree, &[u8]),
    sealed: &[u8],
    place: &str,
) -> Result<Vec<u8>, StoreError> {
    let plain = lock.open(tree, key, sealed);
    plain.ok_or_else(|| StoreError::Damaged {
        place: place.to_owned(),
        what: "its seal is broken".to_owned(),
    })
}

/// How many replies a conversation has.
pub(super) fn replies(engine: &dyn Engine, of: ConversationId) -> Result<Turn, StoreError> {
    let mut next = 0;
    engine.scan(Tree::Replies, &key_of(of), &mut |key, _| {
        if number(Tree::Replies, key)? != next {
            return Err(StoreError::Damaged {
                place: format!("conversation {of}"),
                what: format!("reply {next} is missing"),
            });
        }
        next += 1;
        Ok(())
    })?;
    Ok(next)
}

/// What was said in a turn.
pub(super) fn said(
    ledger: &Ledger,
    conversation: ConversationId,
    turn: Turn,
) -> Result<Option<Outgoing>, StoreError> {
    let key = numbered(conversation, turn);
    let Some(value) = ledger.engine().get(Tree::Replies, &key)? else {
        return Ok(None);
    };
    let (Some(home), Some(lock)) = (ledger.home(conversation)?, ledger.lock(conversation)?) else {
        return Ok(None);
    };
    let place = format!("reply {turn} of conversation {conversation}");
    let sealed = value.get(MESSAGE..).unwrap_or_default();
    let plain = unseal(&lock, (Tree::Replies, &key), sealed, &place)?;
    let (at, reply) = record::read_reply(&plain, &place)?;
    Ok(Some(Outgoing {
        conversation,
        address: home.address,
        turn,
        at,
        reply,
    }))
}

/// The conversation and turn that answered a message.
pub(super) fn answer_of(
    ledger: &Ledger,
    message: &MessageId,
) -> Result<Option<(ConversationId, Turn)>, StoreError> {
    let key = ledger
        .engine()
        .get(Tree::Messages, &ledger.message(message))?;
    key.map(|key| {
        Ok((
            conversation(Tree::Messages, &key)?,
            number(Tree::Messages, &key)?,
        ))
    })
    .transpose()
}

/// What a message was answered with.
pub(super) fn answered(
    ledger: &Ledger,
    message: &MessageId,
) -> Result<Option<Outgoing>, StoreError> {
    match answer_of(ledger, message)? {
        Some((of, turn)) => said(ledger, of, turn),
        None => Ok(None),
    }
}

/// All that a message at an address needs.
pub(super) fn before(
    ledger: &Ledger,
    address: &Address,
    message: Option<&MessageId>,
) -> Result<Before, StoreError> {
    if let Some(message) = message
        && let Some((of, turn)) = answer_of(ledger, message)?
    {
        return Ok(match said(ledger, of, turn)? {
            Some(outgoing) => Before::Answered(Box::new(outgoing)),
            None if index::is_forgotten(ledger.engine(), of)? => Before::Forgotten,
            None => {
                return Err(damaged(
                    Tree::Messages,
                    "it points to a reply that is not there",
                ));
            }
        });
    }
    match index::latest(ledger, address)? {
        Some(conversation) => {
            let kept = log::load(ledger, conversation)?;
            if kept.is_empty() {
                return Err(damaged(
                    Tree::Addresses,
                    "it points to a conversation that is not there",
                ));
            }
            Ok(Before::Events(conversation, kept))
        }
        None => Ok(Before::Nothing),
    }
}

/// Replies not known to be sent.
pub(super) fn unsent(ledger: &Ledger) -> Result<Vec<Outgoing>, StoreError> {
    let mut found = Vec::new();
    ledger.engine().scan(Tree::Outbox, &[], &mut |key, _| {
        let (of, turn) = (conversation(Tree::Outbox, key)?, number(Tree::Outbox, key)?);
        let outgoing = said(ledger, of, turn)?;
        let missing = || damaged(Tree::Outbox, "it points to a reply that is not there");
        found.push(outgoing.ok_or_else(missing)?);
        Ok(())
    })?;
    Ok(found)
}

/// Takes a reply out of the outbox.
pub(super) fn mark_sent(
    ledger: &mut Ledger,
    conversation: ConversationId,
    turn: Turn,
) -> Result<(), StoreError> {
    let ops = vec![Op::Remove(Tree::Outbox, numbered(conversation, turn))];
    ledger.apply(&Batch(ops)).map(drop)
}
