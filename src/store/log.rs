//! A conversation's events as rows: those of one turn, or of one note, stand together in one.
//!
//! The key of a row carries the numbers of its first and its last event, so that the keys alone say how
//! many events there are, and whether one is missing. The database keeps account of every sixteen rows, in memory and at each opening,
//! so a row for each event would make a large store slow to open.

use super::cipher::Lock;
use super::engine::{Engine, Op, Tree, Visit};
use super::layout::{damaged, number, numbered, overtaken, unseal};
use super::ledger::{Ledger, key_of};
use super::name::ConversationId;
use super::problem::StoreError;
use super::{Kept, record};
use crate::conversation::event::{Logged, Turn};
use jiff::Timestamp;

/// What stands between the records of a row; no record has one inside, since JSON escapes it.
const BETWEEN: u8 = b'\n';
/// Bytes of the number of the last event, at the end of a key.
const LAST: usize = 4;

/// Sees to it that a conversation has so many events and no others.
pub(super) fn expect(
    engine: &dyn Engine,
    of: ConversationId,
    events: u32,
) -> Result<(), StoreError> {
    let last = engine.last(Tree::Events, &key_of(of))?;
    let last = last
        .map(|(key, _)| number(Tree::Events, &key))
        .transpose()?;
    if last == events.checked_sub(1) {
        return Ok(());
    }
    Err(overtaken(of, Tree::Events))
}

/// Events of one moment, to be kept after those there are.
pub(super) fn added(
    lock: &Lock,
    (of, after): (ConversationId, u32),
    events: &[Logged],
    at: Timestamp,
) -> Result<Option<Op>, StoreError> {
    let records = events.iter().map(|logged| record::write_event(logged, at));
    row(lock, (of, after), &records.collect::<Vec<_>>())
}

/// Records, to be kept together after those there are; nothing where there are none.
pub(super) fn row(
    lock: &Lock,
    (of, after): (ConversationId, u32),
    records: &[Vec<u8>],
) -> Result<Option<Op>, StoreError> {
    let Some(more) = records.len().checked_sub(1) else {
        return Ok(None);
    };
    let last = u32::try_from(more)
        .ok()
        .and_then(|more| after.checked_add(more));
    let last = last.ok_or_else(|| damaged(Tree::Events, "more events than can be numbered"))?;
    let key = [numbered(of, after), last.to_be_bytes().to_vec()].concat();
    let value = lock.seal(Tree::Events, &key, &records.join(&BETWEEN))?;
    Ok(Some(Op::Add(Tree::Events, key, value)))
}

/// All events of a conversation.
pub(super) fn load(ledger: &Ledger, of: ConversationId) -> Result<Vec<Kept>, StoreError> {
    let Some(lock) = ledger.lock(of)? else {
        return Ok(Vec::new());
    };
    let mut events = Vec::new();
    scan(ledger, &lock, of, &mut |record| {
        let place = format!("event {} of conversation {of}", events.len());
        let (at, logged) = record::read_event(record, &place)?;
        events.push(Kept { at, logged });
        Ok(())
    })?;
    Ok(events)
}

/// Visits every record of a conversation, in order, up to the first that is missing or spoilt.
pub(super) fn scan(
    ledger: &Ledger,
    lock: &Lock,
    of: ConversationId,
    visit: &mut dyn FnMut(&[u8]) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    rows(ledger.engine(), of, &mut |key, value| {
        let records = unseal(lock, (Tree::Events, key), value, &place(of))?;
        records
            .split(|byte| *byte == BETWEEN)
            .try_for_each(&mut *visit)
    })
}

/// The turn of the last event of a conversation whose rows are all there; none if there are none.
pub(super) fn last_turn(ledger: &Ledger, of: ConversationId) -> Result<Option<Turn>, StoreError> {
    let mut last = None;
    rows(ledger.engine(), of, &mut |key, value| {
        last = Some((key.to_vec(), value.to_vec()));
        Ok(())
    })?;
    let (Some((key, value)), Some(lock)) = (last, ledger.lock(of)?) else {
        return Ok(None);
    };
    let records = unseal(&lock, (Tree::Events, &key), &value, &place(of))?;
    let record = records.split(|byte| *byte == BETWEEN).next_back();
    let (_, logged) = record::read_event(record.unwrap_or_default(), &place(of))?;
    Ok(Some(logged.turn))
}

/// Visits every row of a conversation, in order, up to the first that is missing.
fn rows(engine: &dyn Engine, of: ConversationId, visit: Visit<'_>) -> Result<(), StoreError> {
    let mut next = 0;
    engine.scan(Tree::Events, &key_of(of), &mut |key, value| {
        let first = number(Tree::Events, &key[..key.len().saturating_sub(LAST)])?;
        if first != next {
            let what = format!("its events from {next} on are missing");
            return Err(StoreError::Damaged {
                place: place(of),
                what,
            });
        }
        next = number(Tree::Events, key)?.saturating_add(1);
        visit(key, value)
    })
}

fn place(of: ConversationId) -> String {
    format!("conversation {of}")
}
