//! The ways to a conversation: by address, status, time, group and rider.

use super::cipher::Pseudonym;
use super::engine::{Engine, Op, Tree};
use super::layout::{conversation, damaged, number};
use super::ledger::{Home, Ledger, key_of};
use super::name::{Address, ConversationId, Group, Rider, Status};
use super::problem::StoreError;
use jiff::Timestamp;

/// The indices by name.
pub(super) const NAMED: [Tree; 3] = [Tree::Addresses, Tree::Groups, Tree::Riders];

/// Milliseconds since 1970, big-endian, so that bytes sort as times do.
fn moment(at: Timestamp) -> [u8; 8] {
    u64::try_from(at.as_millisecond())
        .unwrap_or(0)
        .to_be_bytes()
}

/// A moment in some bytes.
fn read_moment(tree: Tree, bytes: &[u8]) -> Result<Timestamp, StoreError> {
    let bytes = bytes.first_chunk();
    let number = bytes.map(|bytes| u64::from_be_bytes(*bytes));
    let number = number.and_then(|number| i64::try_from(number).ok());
    number
        .and_then(|number| Timestamp::from_millisecond(number).ok())
        .ok_or_else(|| damaged(tree, "it holds no time"))
}

fn letter(status: Status) -> u8 {
    match status {
        Status::Unfinished => 1,
        Status::HandedOver => 2,
        Status::Closed => 3,
        Status::Resting => 4,
    }
}

fn read_letter(letter: u8) -> Option<Status> {
    Status::ALL
        .into_iter()
        .find(|status| self::letter(*status) == letter)
}

fn status_key(status: Status, at: [u8; 8], of: ConversationId) -> Vec<u8> {
    [[letter(status)].as_slice(), &at, &key_of(of)].concat()
}

/// What changes when a conversation has a turn.
pub(super) fn moved(
    engine: &dyn Engine,
    of: ConversationId,
    status: Status,
    at: Timestamp,
) -> Result<Vec<Op>, StoreError> {
    let at = moment(at);
    let value = [[letter(status)].as_slice(), &at].concat();
    let mut ops = removed(engine, of)?;
    ops.push(Op::Put(
        Tree::Statuses,
        status_key(status, at, of),
        Vec::new(),
    ));
    ops.push(Op::Put(Tree::Moments, key_of(of).to_vec(), value));
    Ok(ops)
}

/// Takes a conversation out of its place by status and time.
fn removed(engine: &dyn Engine, of: ConversationId) -> Result<Vec<Op>, StoreError> {
    let Some(old) = engine.get(Tree::Moments, &key_of(of))? else {
        return Ok(Vec::new());
    };
    let key = [old.as_slice(), &key_of(of)].concat();
    Ok(vec![Op::Remove(Tree::Statuses, key)])
}

/// What a new conversation occupies.
pub(super) fn opened(ledger: &Ledger, of: ConversationId, home: &Home, at: Timestamp) -> Vec<Op> {
    vec![
        Op::Add(
            Tree::Groups,
            under(ledger.group(&home.address.group()), of),
            moment(at).to_vec(),
        ),
        Op::Add(
            Tree::Riders,
            under(ledger.rider(&home.rider), of),
            Vec::new(),
        ),
    ]
}

fn under(pseudonym: Pseudonym, of: ConversationId) -> Vec<u8> {
    [pseudonym.as_slice(), &key_of(of)].concat()
}

/// Takes a conversation out of every index and leaves a mark that it was there.
pub(super) fn forgotten(
    ledger: &Ledger,
    of: ConversationId,
    home: Option<&Home>,
    at: Timestamp,
) -> Result<Vec<Op>, StoreError> {
    let mut ops = removed(ledger.engine(), of)?;
    ops.push(Op::Remove(Tree::Moments, key_of(of).to_vec()));
    ops.push(Op::Put(
        Tree::Forgotten,
        key_of(of).to_vec(),
        moment(at).to_vec(),
    ));
    if let Some(home) = home {
        let group = ledger.group(&home.address.group());
        ops.push(Op::Remove(Tree::Groups, under(group, of)));
        ops.push(Op::Remove(
            Tree::Riders,
            under(ledger.rider(&home.rider), of),
        ));
        let prefix = ledger.address(&home.address);
        ledger
            .engine()
            .scan(Tree::Addresses, &prefix, &mut |key, value| {
                if value == key_of(of) {
                    ops.push(Op::Remove(Tree::Addresses, key.to_vec()));
                }
                Ok(())
            })?;
    }
    Ok(ops)
}

/// Takes a conversation out of every index that names are needed for, whatever the names were: the
/// key that could read them is gone.
pub(super) fn pointing_at(engine: &dyn Engine, of: ConversationId) -> Result<Vec<Op>, StoreError> {
    let mut ops = Vec::new();
    for tree in NAMED {
        engine.scan(tree, &[], &mut |key, value| {
            if pointee(tree, key, value)? == of {
                ops.push(Op::Remove(tree, key.to_vec()));
            }
            Ok(())
        })?;
    }
    Ok(ops)
}

/// The conversation that a row of an index by names points to.
pub(super) fn pointee(tree: Tree, key: &[u8], value: &[u8]) -> Result<ConversationId, StoreError> {
    if tree == Tree::Addresses {
        return conversation(tree, value);
    }
    conversation(tree, key.get(size_of::<Pseudonym>()..).unwrap_or_default())
}

/// Whether a conversation was there once and was forgotten.
pub(super) fn is_forgotten(engine: &dyn Engine, of: ConversationId) -> Result<bool, StoreError> {
    Ok(engine.get(Tree::Forgotten, &key_of(of))?.is_some())
}

/// The status of a conversation, and when it last had a turn.
pub(super) fn standing(
    engine: &dyn Engine,
    of: ConversationId,
) -> Result<Option<(Status, Timestamp)>, StoreError> {
    let Some(value) = engine.get(Tree::Moments, &key_of(of))? else {
        return Ok(None);
    };
    let status = value.first().and_then(|letter| read_letter(*letter));
    let status = status.ok_or_else(|| damaged(Tree::Moments, "it holds no status"))?;
    Ok(Some((status, read_moment(Tree::Moments, &value[1..])?)))
}

/// The conversation opened last at an address.
pub(super) fn latest(
    ledger: &Ledger,
    address: &Address,
) -> Result<Option<ConversationId>, StoreError> {
    match ledger
        .engine()
        .last(Tree::Addresses, &ledger.address(address))?
    {
        Some((_, id)) => conversation(Tree::Addresses, &id).map(Some),
        None => Ok(None),
    }
}

/// How many conversations were opened at its address before this one.
pub(super) fn ordinal(
    ledger: &Ledger,
    address: &Address,
    of: ConversationId,
) -> Result<u32, StoreError> {
    let (mut ordinal, prefix) = (None, ledger.address(address));
    ledger
        .engine()
        .scan(Tree::Addresses, &prefix, &mut |key, value| {
            if value == key_of(of) {
                ordinal = Some(number(Tree::Addresses, key)?);
            }
            Ok(())
        })?;
    ordinal.ok_or_else(|| damaged(Tree::Addresses, "a conversation is missing from it"))
}

/// A place for one more conversation at an address: the one wished for if nothing is there, else the
/// next.
pub(super) fn free_ordinal(
    ledger: &Ledger,
    address: &Address,
    wished: Option<u32>,
) -> Result<u32, StoreError> {
    let prefix = ledger.address(address);
    if let Some(wished) = wished {
        let key = [prefix.as_slice(), &wished.to_be_bytes()].concat();
        if ledger.engine().get(Tree::Addresses, &key)?.is_none() {
            return Ok(wished);
        }
    }
    match ledger.engine().last(Tree::Addresses, &prefix)? {
        Some((key, _)) => Ok(number(Tree::Addresses, &key)?.saturating_add(1)),
        None => Ok(0),
    }
}

/// All conversations of a status with the time of their last turn, the longest silent first.
pub(super) fn with_status(
    engine: &dyn Engine,
    status: Status,
) -> Result<Vec<(ConversationId, Timestamp)>, StoreError> {
    let mut found = Vec::new();
    engine.scan(Tree::Statuses, &[letter(status)], &mut |key, _| {
        let at = read_moment(Tree::Statuses, &key[1..])?;
        let of = key.get(9..).unwrap_or_default();
        found.push((conversation(Tree::Statuses, of)?, at));
        Ok(())
    })?;
    Ok(found)
}

/// All conversations of a rider.
pub(super) fn of_rider(ledger: &Ledger, rider: &Rider) -> Result<Vec<ConversationId>, StoreError> {
    below(ledger.engine(), Tree::Riders, ledger.rider(rider))
}

/// All conversations of a group.
pub(super) fn of_group(ledger: &Ledger, group: &Group) -> Result<Vec<ConversationId>, StoreError> {
    below(ledger.engine(), Tree::Groups, ledger.group(group))
}

fn below(
    engine: &dyn Engine,
    tree: Tree,
    prefix: Pseudonym,
) -> Result<Vec<ConversationId>, StoreError> {
    let mut found = Vec::new();
    engine.scan(tree, &prefix, &mut |key, _| {
        let of = key.get(prefix.len()..).unwrap_or_default();
        found.push(conversation(tree, of)?);
        Ok(())
    })?;
    Ok(found)
}

/// All conversations there are, by id.
pub(super) fn all(engine: &dyn Engine) -> Result<Vec<ConversationId>, StoreError> {
    let mut homes = Vec::new();
    engine.scan(Tree::Homes, &[], &mut |key, _| {
        homes.push(conversation(Tree::Homes, key)?);
        Ok(())
    })?;
    Ok(homes)
}
