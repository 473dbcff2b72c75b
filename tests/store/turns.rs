//! Turns kept and read back, on every engine alike.

use crate::fake::{Counting, terms};
use floatbowl::conversation::event::{Event, Incoming, Logged};
use floatbowl::desk::Dialogue;
use floatbowl::reply::{Phase, Reply};
use floatbowl::store::name::{Address, ConversationId, MessageId, Rider, Status};
use floatbowl::store::problem::StoreError;
use floatbowl::store::{Entry, Home, Store};
use jiff::Timestamp;
use rstest::rstest;
use tempfile::TempDir;

type Make = fn(&TempDir) -> Store;

fn memory(_: &TempDir) -> Store {
    Store::in_memory().unwrap()
}

fn embedded(folder: &TempDir) -> Store {
    Store::open(&folder.path().join("data")).unwrap()
}

fn made(make: Make) -> (Store, TempDir) {
    let folder = tempfile::tempdir().unwrap();
    (make(&folder), folder)
}

fn reply(turn: u32, phase: Phase) -> Reply {
    let (_, reply) = Counting.open(&terms());
    Reply {
        turn,
        phase,
        ..reply
    }
}

fn heard(turn: u32, text: &str) -> Logged {
    Logged {
        turn,
        event: Event::Heard(Incoming::Text(text.to_owned())),
    }
}

/// Turn 0 of a conversation: two events.
fn opening(id: u64, address: &str) -> Entry {
    Entry {
        conversation: ConversationId(id),
        opens: Some(Home {
            address: Address::new(address),
            rider: Rider::new(&format!("rider of {address}")),
        }),
        at: Timestamp::from_second(1_700_000_000).unwrap(),
        after: 0,
        events: vec![heard(0, "one"), heard(0, "two")],
        message: None,
        resting: false,
        reply: reply(0, Phase::Intake),
    }
}

/// A later turn: one event.
fn later(id: u64, turn: u32, phase: Phase) -> Entry {
    Entry {
        opens: None,
        after: turn + 1,
        events: vec![heard(turn, "more")],
        reply: reply(turn, phase),
        ..opening(id, "")
    }
}

fn overtaken(result: &Result<(), StoreError>) -> bool {
    matches!(result, Err(StoreError::Overtaken { .. }))
}

#[rstest]
#[tokio::test]
async fn a_turn_comes_back_as_it_was(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    let entry = opening(7, "a");
    store.append(entry.clone()).await.unwrap();
    let kept = store.load(ConversationId(7)).await.unwrap();
    let events: Vec<Logged> = kept.iter().map(|kept| kept.logged.clone()).collect();
    assert_eq!(events, entry.events);
    assert!(kept.iter().all(|kept| kept.at == entry.at));
    let said = store.said(ConversationId(7), 0).await.unwrap().unwrap();
    assert_eq!((said.reply, said.at), (entry.reply, entry.at));
    assert_eq!(said.address, Address::new("a"));
    assert_eq!(store.said(ConversationId(7), 1).await.unwrap(), None);
    assert_eq!(store.load(ConversationId(8)).await.unwrap(), vec![]);
}

#[rstest]
#[tokio::test]
async fn whoever_comes_second_is_told_and_changes_nothing(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    store.append(opening(7, "a")).await.unwrap();
    store.append(later(7, 1, Phase::Testing)).await.unwrap();
    let before = store.load(ConversationId(7)).await.unwrap();
    assert!(overtaken(&store.append(later(7, 1, Phase::Closed)).await));
    assert!(overtaken(&store.append(opening(7, "b")).await));
    assert_eq!(store.load(ConversationId(7)).await.unwrap(), before);
    let status = store.status(ConversationId(7)).await.unwrap();
    assert_eq!(status, Some(Status::Unfinished));
    assert_eq!(store.latest(Address::new("b")).await.unwrap(), None);
}

#[rstest]
#[tokio::test]
async fn a_turn_after_events_that_are_not_there_is_refused(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    store.append(opening(7, "a")).await.unwrap();
    assert!(overtaken(&store.append(later(7, 2, Phase::Testing)).await));
    assert_eq!(store.load(ConversationId(7)).await.unwrap().len(), 2);
}

#[rstest]
#[tokio::test]
async fn a_message_is_answered_once_over_all_conversations(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    let message = MessageId::new("m/1");
    assert_eq!(store.answered(message.clone()).await.unwrap(), None);
    let with_message = |entry| Entry {
        message: Some(message.clone()),
        ..entry
    };
    store.append(with_message(opening(7, "a"))).await.unwrap();
    assert!(overtaken(
        &store.append(with_message(opening(8, "b"))).await
    ));
    let answer = store.answered(message).await.unwrap().unwrap();
    assert_eq!((answer.conversation, answer.turn), (ConversationId(7), 0));
    assert_eq!(store.load(ConversationId(8)).await.unwrap(), vec![]);
}

#[rstest]
#[tokio::test]
async fn the_latest_at_an_address_is_the_one_opened_last(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    // Ids fall while ordinals rise, and past 9, so that neither text nor id order can pass.
    for n in 0..12 {
        store.append(opening(100 - n, "a")).await.unwrap();
    }
    store.append(opening(1, "a/b")).await.unwrap();
    let latest = store.latest(Address::new("a")).await.unwrap();
    assert_eq!(latest, Some(ConversationId(89)));
    assert_eq!(store.latest(Address::new("")).await.unwrap(), None);
}

#[rstest]
#[tokio::test]
async fn a_conversation_has_one_status_at_a_time(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    store.append(opening(7, "a")).await.unwrap();
    store.append(opening(u64::MAX, "b")).await.unwrap();
    let turns = [
        (Phase::Halted, Status::Unfinished),
        (Phase::HandedOver, Status::HandedOver),
        (Phase::Testing, Status::Unfinished),
        (Phase::Closed, Status::Closed),
    ];
    for (turn, (phase, status)) in (1..).zip(turns) {
        store.append(later(7, turn, phase)).await.unwrap();
        let found = store.status(ConversationId(7)).await.unwrap();
        assert_eq!(found, Some(status));
        for other in Status::ALL {
            let ids = store.with_status(other).await.unwrap();
            assert_eq!(ids.contains(&ConversationId(7)), other == status);
        }
    }
    assert_eq!(store.status(ConversationId(9)).await.unwrap(), None);
}

#[rstest]
#[tokio::test]
async fn the_outbox_is_in_order_and_empties_one_by_one(#[values(memory, embedded)] make: Make) {
    let (store, _folder) = made(make);
    store.append(opening(7, "a")).await.unwrap();
    for turn in 1..300 {
        store.append(later(7, turn, Phase::Testing)).await.unwrap();
    }
    let unsent = store.unsent().await.unwrap();
    let turns: Vec<u32> = unsent.iter().map(|unsent| unsent.turn).collect();
    assert_eq!(turns, (0..300).collect::<Vec<u32>>());
    store.mark_sent(ConversationId(7), 5).await.unwrap();
    store.mark_sent(ConversationId(7), 5).await.unwrap();
    let unsent = store.unsent().await.unwrap();
    assert_eq!(unsent.len(), 299);
    assert!(unsent.iter().all(|unsent| unsent.turn != 5));
    assert!(store.said(ConversationId(7), 5).await.unwrap().is_some());
}

#[tokio::test]
async fn everything_is_there_after_closing_and_opening() {
    let folder = tempfile::tempdir().unwrap();
    let message = MessageId::new("m/1");
    let before = {
        let store = embedded(&folder);
        let entry = Entry {
            message: Some(message.clone()),
            ..opening(7, "a")
        };
        store.append(entry).await.unwrap();
        store.append(later(7, 1, Phase::Closed)).await.unwrap();
        store.load(ConversationId(7)).await.unwrap()
    };
    let store = embedded(&folder);
    assert_eq!(store.load(ConversationId(7)).await.unwrap(), before);
    assert_eq!(store.unsent().await.unwrap().len(), 2);
    let closed = store.with_status(Status::Closed).await.unwrap();
    assert_eq!(closed, [ConversationId(7)]);
    let latest = store.latest(Address::new("a")).await.unwrap();
    assert_eq!(latest, Some(ConversationId(7)));
    assert!(store.answered(message).await.unwrap().is_some());
}
