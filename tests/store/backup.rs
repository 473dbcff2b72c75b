//! Backups: out of a store in use and back into another, whole, and never bringing back the forgotten.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::desk::{Answer, Desk};
use floatbowl::store::archive::Restored;
use floatbowl::store::name::{Address, ConversationId, Group, Rider, Status};
use floatbowl::store::setting::Setting;
use floatbowl::store::{Store, StoreError};
use std::io::{Cursor, Read};
use std::sync::Arc;

const RIDERS: u64 = 150;

async fn filled() -> Desk<Counting> {
    let desk = Desk::new(Store::in_memory().unwrap(), Counting, given(1));
    for rider in 0..RIDERS {
        for turn in 0..3 {
            let text = if (rider, turn) == (7, 2) {
                "bye"
            } else {
                "dead"
            };
            let id = format!("m/{rider}/{turn}");
            let said = message(&format!("c/g/{rider}"), Some(&id), text);
            let Answer::New(outgoing) = desk.take(said, &terms()).await.unwrap() else {
                panic!("said before");
            };
            if rider == 3 {
                for outgoing in &outgoing {
                    desk.sent(outgoing).await.unwrap();
                }
            }
        }
    }
    desk
}

async fn backup(store: &Store) -> Vec<u8> {
    let mut out = Vec::new();
    store.back_up(&mut out).await.unwrap();
    out
}

async fn restore(store: &Store, bytes: &[u8]) -> Result<Restored, StoreError> {
    let bytes = bytes.to_vec();
    let open =
        move || -> std::io::Result<Box<dyn Read>> { Ok(Box::new(Cursor::new(bytes.clone()))) };
    store.bring_back(open).await
}

fn plain(bytes: &[u8]) -> String {
    String::from_utf8(zstd::decode_all(bytes).unwrap()).unwrap()
}

#[tokio::test]
async fn everything_comes_back_as_it_was() {
    let desk = filled().await;
    let setting = Setting {
        retention_days: 90,
        ..Setting::default()
    };
    desk.store()
        .set(Group::new("c/g"), setting.clone())
        .await
        .unwrap();
    let bytes = backup(desk.store()).await;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    {
        let store = Store::open(&path).unwrap();
        let restored = restore(&store, &bytes).await.unwrap();
        assert_eq!(restored.back, usize::try_from(RIDERS).unwrap());
    }
    let store = Store::open(&path).unwrap();
    assert!(store.verify().await.unwrap().problems.is_empty());
    for id in (1..=RIDERS).map(ConversationId) {
        let was = desk.store().load(id).await.unwrap();
        assert_eq!(store.load(id).await.unwrap(), was);
        for turn in 0..=3 {
            let was = desk.store().said(id, turn).await.unwrap();
            assert_eq!(store.said(id, turn).await.unwrap(), was);
        }
        let was = desk.store().status(id).await.unwrap();
        assert_eq!(store.status(id).await.unwrap(), was);
    }
    let closed = store.with_status(Status::Closed).await.unwrap();
    assert_eq!(closed, [ConversationId(8)]);
    let unsent = desk.unsent().await.unwrap();
    assert_eq!(store.unsent().await.unwrap(), unsent);
    assert_eq!(store.setting(Group::new("c/g")).await.unwrap(), setting);
    // Restored, a message is still known: it is answered as before, and not taken again.
    let desk = Desk::new(store, Counting, given(1000));
    let again = message("c/g/5", Some("m/5/1"), "dead");
    let again = desk.take(again, &terms()).await.unwrap();
    assert!(matches!(again, Answer::Repeat(_)), "{again:?}");
    // And a backup of the restored store says the same, line by line.
    assert_eq!(plain(&backup(desk.store()).await), plain(&bytes));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_taken_while_riders_write_has_whole_turns_only() {
    let desk = Arc::new(filled().await);
    let writer = Arc::clone(&desk);
    let writing = tokio::spawn(async move {
        for turn in 0..20 {
            for rider in 0..RIDERS {
                let said = message(&format!("c/g/{rider}"), None, &format!("more {turn}"));
                writer.take(said, &terms()).await.unwrap();
            }
        }
    });
    let mut lengths = Vec::new();
    while !writing.is_finished() {
        let store = Store::in_memory().unwrap();
        restore(&store, &backup(desk.store()).await).await.unwrap();
        let verdict = store.verify().await.unwrap();
        assert_eq!(verdict.problems, Vec::<String>::new());
        lengths.push(verdict.events);
    }
    writing.await.unwrap();
    assert!(lengths.len() > 1, "no backup was taken while riders wrote");
    assert!(lengths.is_sorted());
}

#[tokio::test]
async fn what_was_forgotten_is_in_no_later_backup_and_does_not_come_back_from_an_earlier_one() {
    let desk = filled().await;
    let early = backup(desk.store()).await;
    desk.forget(Rider::new("c/g/9")).await.unwrap();
    let late = backup(desk.store()).await;
    assert!(plain(&early).contains("\"c/g/9\""));
    assert!(!plain(&late).contains("\"c/g/9\""));
    let restored = restore(desk.store(), &early).await.unwrap();
    let expected = Restored {
        back: 0,
        there: usize::try_from(RIDERS).unwrap() - 1,
        forgotten: 1,
    };
    assert_eq!(restored, expected);
    // A new store that knows the later backup refuses the person of the earlier one as well.
    let store = Store::in_memory().unwrap();
    restore(&store, &late).await.unwrap();
    assert_eq!(restore(&store, &early).await.unwrap().forgotten, 1);
    let latest = store.latest(Address::new("c/g/9")).await.unwrap();
    assert_eq!(latest, None);
}

#[tokio::test]
async fn a_spoilt_backup_is_refused_before_anything_is_written() {
    let desk = filled().await;
    let whole = backup(desk.store()).await;
    let text = plain(&whole);
    let lines: Vec<&str> = text.lines().collect();
    let without_end = lines[..lines.len() - 1].join("\n");
    let without_one = [&lines[..5], &lines[6..]].concat().join("\n");
    let after_end = format!("{text}{}\n", lines[1]);
    let garbled = text.replacen("\"events\"", "\"ewents\"", 1);
    let newer = text.replacen("\"v\":1", "\"v\":2", 1);
    for (spoilt, says) in [
        (whole[..whole.len() / 2].to_vec(), "line"),
        (without_end.into_bytes(), "cut short"),
        (without_one.into_bytes(), "cut short"),
        (after_end.into_bytes(), "after its end"),
        (
            garbled.into_bytes(),
            "line 2 of the backup: it has not the form it should have, from column",
        ),
        (newer.into_bytes(), "newer floatbowl"),
    ] {
        let store = Store::in_memory().unwrap();
        let error = restore(&store, &spoilt).await.unwrap_err().to_string();
        assert!(error.contains(says), "{error}");
        assert_eq!(store.all().await.unwrap(), vec![], "{says}");
    }
    // Plain lines are as good as compressed ones.
    let store = Store::in_memory().unwrap();
    assert!(restore(&store, text.as_bytes()).await.unwrap().back > 0);
}

#[tokio::test]
async fn a_backup_of_another_store_does_not_mix_with_conversations_that_are_there() {
    let bytes = backup(filled().await.store()).await;
    let desk = Desk::new(Store::in_memory().unwrap(), Counting, given(5000));
    desk.take(message("x", None, "dead"), &terms())
        .await
        .unwrap();
    let error = restore(desk.store(), &bytes).await.unwrap_err().to_string();
    assert!(error.contains("it is of another store"), "{error}");
    assert_eq!(desk.store().all().await.unwrap(), [ConversationId(5000)]);
}

/// Ids come by chance, so the order in which conversations stand in a backup says nothing about which
/// one was opened last at an address.
#[tokio::test]
async fn the_conversation_opened_last_is_so_after_a_restore() {
    let place = Address::new("c/g/here");
    let first = Desk::new(Store::in_memory().unwrap(), Counting, given(900));
    first.open(&place, None, &terms()).await.unwrap();
    let second = Desk::new(first.store().clone(), Counting, given(5));
    second.open(&place, None, &terms()).await.unwrap();
    let newest = Some(ConversationId(5));
    assert_eq!(first.store().latest(place.clone()).await.unwrap(), newest);
    let other = Store::in_memory().unwrap();
    restore(&other, &backup(first.store()).await).await.unwrap();
    assert_eq!(other.latest(place).await.unwrap(), newest);
    assert!(other.verify().await.unwrap().problems.is_empty());
}
