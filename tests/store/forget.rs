//! Forgetting: what a person wrote cannot be read any more, not even in the bytes that are left.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::desk::{Answer, Desk, Message};
use floatbowl::store::Store;
use floatbowl::store::forget::Erased;
use floatbowl::store::name::{Address, ConversationId, Group, Rider};
use floatbowl::store::salvage::salvage;
use floatbowl::store::setting::Setting;
use jiff::Timestamp;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// Words, ids and places that must never stand in a file.
const SENTINELS: [&str; 4] = ["zanzibar", "person-4711", "thread-0815", "message-2342"];

fn by(rider: &str, place: &str, id: &str, text: &str) -> Message {
    Message {
        rider: Some(Rider::new(rider)),
        ..message(place, Some(id), text)
    }
}

async fn take(desk: &Desk<Counting>, message: Message) -> Answer {
    desk.take(message, &terms()).await.unwrap()
}

/// Two riders; the first has two conversations.
async fn filled(path: &Path) -> Desk<Counting> {
    let desk = Desk::new(Store::open(path).unwrap(), Counting, given(1));
    for (place, id) in [("c/g/thread-0815", "message-2342"), ("c/g/two", "m2")] {
        take(
            &desk,
            by("c/person-4711", place, id, "in zanzibar it is dead"),
        )
        .await;
    }
    take(&desk, by("c/other", "c/g/three", "m3", "it hums")).await;
    desk
}

/// Every byte of every file of a folder.
fn bytes(folder: &Path) -> Vec<u8> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(bytes(&path));
        } else {
            all.extend(fs::read(path).unwrap());
        }
    }
    all
}

fn contains(all: &[u8], word: &str) -> bool {
    all.windows(word.len()).any(|some| some == word.as_bytes())
}

fn new() -> (TempDir, std::path::PathBuf) {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    (outer, path)
}

#[tokio::test]
async fn nothing_a_person_wrote_and_no_raw_id_stands_in_a_file_in_the_clear() {
    let (_outer, path) = new();
    drop(filled(&path).await);
    let all = bytes(&path);
    assert!(!all.is_empty());
    for word in SENTINELS {
        assert!(!contains(&all, word), "{word}");
    }
}

#[tokio::test]
async fn forgetting_takes_one_persons_conversations_and_no_others() {
    let (_outer, path) = new();
    let desk = filled(&path).await;
    let erased = desk.forget(Rider::new("c/person-4711")).await.unwrap();
    let expected = Erased {
        conversations: 2,
        messages: 2,
        findings: 0,
        replies: 4,
    };
    assert_eq!(erased, expected);
    let store = desk.store();
    for id in [1, 2] {
        assert_eq!(store.load(ConversationId(id)).await.unwrap(), vec![]);
        assert_eq!(store.said(ConversationId(id), 1).await.unwrap(), None);
        assert_eq!(store.status(ConversationId(id)).await.unwrap(), None);
    }
    let rider = Rider::new("c/person-4711");
    assert_eq!(store.of_rider(rider.clone()).await.unwrap(), vec![]);
    assert_eq!(store.load(ConversationId(3)).await.unwrap().len(), 3);
    let group = store.of_group(Group::new("c/g")).await.unwrap();
    assert_eq!(group, [ConversationId(3)]);
    assert!(store.verify().await.unwrap().problems.is_empty());
    // Asked again, there is nothing left.
    assert_eq!(desk.forget(rider).await.unwrap(), Erased::default());
}

#[tokio::test]
async fn a_message_delivered_again_after_forgetting_opens_nothing() {
    let (_outer, path) = new();
    let desk = filled(&path).await;
    let asking = || by("c/person-4711", "c/g/two", "m9", "forget me");
    let Answer::New(said) = take(&desk, asking()).await else {
        panic!("it was never asked before");
    };
    let words = format!("{:?}", said[0].reply.lines);
    assert!(
        words.contains("Erased: 2 conversations, with 2 messages"),
        "{words}"
    );
    let old = by("c/person-4711", "c/g/thread-0815", "message-2342", "again");
    assert_eq!(take(&desk, old).await, Answer::New(vec![]));
    assert_eq!(take(&desk, asking()).await, Answer::New(vec![]));
    assert_eq!(desk.store().all().await.unwrap(), [ConversationId(3)]);
    let latest = desk.store().latest(Address::new("c/g/two")).await.unwrap();
    assert_eq!(latest, None);
    assert_eq!(
        desk.unsent().await.unwrap().len(),
        2,
        "only the other rider's"
    );
}

#[tokio::test]
async fn a_danger_in_the_same_message_is_answered_first() {
    let desk = Desk::new(Store::in_memory().unwrap(), Counting, given(1));
    let Answer::New(said) = take(&desk, message("a", None, "forget me")).await else {
        panic!("it was never asked before");
    };
    // The greeting is forgotten with the rest, and only the last words are said.
    assert_eq!(said.len(), 2);
    let words = format!("{:?}", said[1].reply.lines);
    assert!(words.contains("Nothing of yours is kept here"), "{words}");
    assert_eq!(desk.store().all().await.unwrap(), vec![]);
}

/// The database as it was before, with the keys as they are after: this is what a thorough thief, or
/// a disk that never really deletes, would have.
#[tokio::test]
async fn bytes_that_are_left_cannot_be_read_without_the_key() {
    let (outer, path) = new();
    drop(filled(&path).await);
    let stolen = outer.path().join("stolen");
    fs::create_dir_all(stolen.join("turns")).unwrap();
    for name in ["db", "conf"] {
        fs::copy(
            path.join("turns").join(name),
            stolen.join("turns").join(name),
        )
        .unwrap();
    }
    let keys = fs::read(path.join("keys")).unwrap();
    {
        let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(9));
        desk.forget(Rider::new("c/person-4711")).await.unwrap();
    }
    let after = fs::read(path.join("keys")).unwrap();
    assert_eq!(after[48..3 * 48], [0; 96], "two keys are overwritten");
    assert_eq!(after[3 * 48..], keys[3 * 48..], "and no other");
    fs::copy(path.join("keys"), stolen.join("keys")).unwrap();
    let read = outer.path().join("read");
    let got = tokio::task::spawn_blocking(move || salvage(&stolen, &read)).await;
    let got = got.unwrap().unwrap();
    assert_eq!((got.whole, got.lost.len()), (1, 2), "{got:?}");
}

#[tokio::test]
async fn rows_without_their_key_end_in_forgotten() {
    let (_outer, path) = new();
    drop(filled(&path).await);
    let mut keys = fs::read(path.join("keys")).unwrap();
    keys[48..96].fill(0);
    fs::write(path.join("keys"), keys).unwrap();
    fs::remove_file(path.join("seal")).unwrap();
    let store = Store::open(&path).unwrap();
    let left = [ConversationId(2), ConversationId(3)];
    assert_eq!(store.all().await.unwrap(), left);
    assert!(store.verify().await.unwrap().problems.is_empty());
    let latest = store.latest(Address::new("c/g/thread-0815")).await;
    assert_eq!(latest.unwrap(), None, "the address is free again");
    let of_rider = store.of_rider(Rider::new("c/person-4711")).await;
    assert_eq!(of_rider.unwrap(), [ConversationId(2)]);
}

#[tokio::test]
async fn a_crash_between_rows_and_key_ends_in_forgotten() {
    let (_outer, path) = new();
    drop(filled(&path).await);
    let keys = fs::read(path.join("keys")).unwrap();
    {
        let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(9));
        desk.forget(Rider::new("c/person-4711")).await.unwrap();
    }
    // As if the rows had gone and the power too, before the keys were overwritten.
    fs::write(path.join("keys"), &keys).unwrap();
    fs::remove_file(path.join("seal")).unwrap();
    drop(Store::open(&path).unwrap());
    let after = fs::read(path.join("keys")).unwrap();
    assert_eq!(after[48..3 * 48], [0; 96], "two keys are overwritten");
    assert_eq!(after[..48], keys[..48], "the secret stays");
    assert_eq!(after[3 * 48..], keys[3 * 48..], "and the other rider's key");
}

#[tokio::test]
async fn each_group_keeps_its_conversations_as_long_as_it_says() {
    let (_outer, path) = new();
    let desk = filled(&path).await;
    take(&desk, message("d/h/four", None, "it clicks")).await;
    let store = desk.store();
    let short = Setting {
        retention_days: 30,
        ..Setting::default()
    };
    store.set(Group::new("d/h"), short).await.unwrap();
    let day = |day: i64| Timestamp::from_second(1_700_000_000 + 86_400 * day).unwrap();
    assert_eq!(store.sweep(day(29)).await.unwrap(), Erased::default());
    assert_eq!(store.sweep(day(31)).await.unwrap().conversations, 1);
    assert_eq!(store.all().await.unwrap().len(), 3);
    assert_eq!(store.sweep(day(179)).await.unwrap(), Erased::default());
    assert_eq!(store.sweep(day(181)).await.unwrap().conversations, 3);
    assert_eq!(store.all().await.unwrap(), vec![]);
}
