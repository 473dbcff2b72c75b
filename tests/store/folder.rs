//! Folders that cannot be used: each is told apart, said in words, and left as it was found.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::desk::Desk;
use floatbowl::store::Store;
use floatbowl::store::check::Verdict;
use floatbowl::store::name::ConversationId;
use floatbowl::store::problem::StoreError;
use rstest::rstest;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tokio::task::JoinSet;

const RIDERS: u64 = 12;
const TURNS: usize = 8;
/// Bytes of a segment of the database's log.
const SEGMENT: usize = 512 << 10;

/// A folder with some conversations, closed.
fn filled() -> (PathBuf, TempDir) {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    Runtime::new().unwrap().block_on(async {
        let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(1));
        for turn in 0..TURNS {
            for rider in 0..RIDERS {
                let said = message(&format!("rider {rider}"), None, &format!("turn {turn}"));
                desk.take(said, &terms()).await.unwrap();
            }
        }
    });
    (path, outer)
}

fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.insert(path.clone(), fs::read(&path).unwrap());
        }
    }
    found
}

/// Why a folder cannot be opened, with the place of the test taken out.
fn refusal(path: &Path) -> String {
    let Err(error) = Store::open(path) else {
        panic!("{} opened", path.display())
    };
    let outer = path.parent().unwrap().display().to_string();
    error.to_string().replace(&outer, "HERE")
}

#[test]
fn a_file_is_no_folder() {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    fs::write(&path, "mine").unwrap();
    insta::assert_snapshot!(refusal(&path));
    assert_eq!(fs::read(&path).unwrap(), b"mine");
}

#[test]
fn a_folder_with_something_else_in_it_is_not_ours() {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    fs::create_dir(&path).unwrap();
    fs::write(path.join("letter.txt"), "mine").unwrap();
    let before = files(&path);
    insta::assert_snapshot!(refusal(&path));
    assert_eq!(files(&path), before);
}

#[test]
fn an_empty_folder_and_one_that_is_not_there_yet_are_taken() {
    let outer = tempfile::tempdir().unwrap();
    Store::open(outer.path()).map(drop).unwrap();
    Store::open(&outer.path().join("a/b/c")).map(drop).unwrap();
}

#[cfg(unix)]
#[test]
fn nobody_else_may_look_into_a_new_folder() {
    use std::os::unix::fs::PermissionsExt;
    let (path, _outer) = filled();
    let mode = fs::metadata(&path).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o700);
}

#[test]
fn a_folder_of_a_newer_form_is_left_alone() {
    let (path, _outer) = filled();
    fs::write(path.join("FORM"), "floatbowl 2\n").unwrap();
    let before = files(&path);
    insta::assert_snapshot!(refusal(&path));
    assert_eq!(files(&path), before);
}

#[test]
fn a_form_that_says_nothing_is_damage() {
    let (path, _outer) = filled();
    fs::write(path.join("FORM"), "\0\0\0\0").unwrap();
    let before = files(&path);
    insta::assert_snapshot!(refusal(&path));
    assert_eq!(files(&path), before);
}

#[test]
fn a_folder_in_use_is_left_alone() {
    let (path, _outer) = filled();
    let open = Store::open(&path).unwrap();
    let before = files(&path);
    insta::assert_snapshot!(refusal(&path));
    assert_eq!(files(&path), before);
    drop(open);
    Store::open(&path).map(drop).unwrap();
}

/// Positions spread over the used part of a file.
fn positions(bytes: &[u8], count: usize) -> Vec<usize> {
    let used = 1 + bytes.iter().rposition(|byte| *byte != 0).unwrap();
    (0..count).map(|n| n * used / count).collect()
}

fn flip(path: &Path, whole: &[u8], position: usize) -> Vec<u8> {
    let mut bytes = whole.to_vec();
    bytes[position] ^= 0x10;
    fs::write(path, &bytes).unwrap();
    bytes
}

/// The same in a file that is being written to, all else left as it is.
fn flip_in_place(path: &Path, position: usize) -> u8 {
    let mut file = File::options().read(true).write(true).open(path).unwrap();
    let (at, mut byte) = (SeekFrom::Start(position as u64), [0]);
    file.seek(at).unwrap();
    file.read_exact(&mut byte).unwrap();
    byte[0] ^= 0x10;
    file.seek(at).unwrap();
    file.write_all(&byte).unwrap();
    byte[0]
}

/// Flips bytes all over the database, one at a time, and opens the folder each time and at the end whole.
fn every_flip_is_found(path: &Path) {
    let database = path.join("turns/db");
    let whole = fs::read(&database).unwrap();
    for position in positions(&whole, 40) {
        flip(&database, &whole, position);
        let before = files(path);
        let said = refusal(path);
        assert!(said.contains("turns/db is damaged"), "{position}: {said}");
        assert_eq!(files(path), before, "{position}");
    }
    fs::write(&database, &whole).unwrap();
    Store::open(path).map(drop).unwrap();
}

#[test]
fn a_byte_flipped_in_a_closed_database_is_found_before_anything_is_touched() {
    let (path, _outer) = filled();
    every_flip_is_found(&path);
}

#[test]
fn a_shortened_database_is_found_before_anything_is_touched() {
    let (path, _outer) = filled();
    let database = path.join("turns/db");
    let whole = fs::read(&database).unwrap();
    fs::write(&database, &whole[..whole.len() / 2]).unwrap();
    let before = files(&path);
    let said = refusal(&path);
    let lengths = format!(
        "it has {} bytes and was closed with {}.",
        whole.len() / 2,
        whole.len()
    );
    // By the seal, or, in the segment still being written to, by the database.
    assert!(said.contains("is damaged"), "{said}");
    assert!(said.contains(&lengths), "{said}");
    assert_eq!(files(&path), before);
}

fn all_events(store: &Store) -> Vec<usize> {
    Runtime::new().unwrap().block_on(async {
        let mut counts = Vec::new();
        for id in 1..=RIDERS {
            let kept = store.load(ConversationId(id)).await.unwrap();
            counts.push(kept.len());
        }
        counts
    })
}

/// A crash and a flipped byte together: there is no seal, and the database itself decides what is
/// a torn end. Either it loses nothing, or the loss is noticed and the files are there as found.
#[test]
fn a_byte_flipped_after_a_crash_costs_nothing_unnoticed() {
    let (path, _outer) = filled();
    let database = path.join("turns/db");
    fs::remove_file(path.join("seal")).unwrap();
    let original = files(&path);
    let whole = original[&database].clone();
    let (mut refused, mut opened) = (0, 0);
    for position in positions(&whole, 40) {
        put_back(&path, &original);
        let flipped = flip(&database, &whole, position);
        match Store::open(&path) {
            Ok(store) => {
                opened += 1;
                let expected = vec![1 + 2 * TURNS; usize::try_from(RIDERS).unwrap()];
                assert_eq!(all_events(&store), expected, "{position}");
            }
            Err(error) => {
                refused += 1;
                assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
                assert_eq!(fs::read(path.join("untouched/db")).unwrap(), flipped);
            }
        }
    }
    assert!(refused > 0, "no flip did any damage; {opened} opened");
}

#[test]
fn a_copy_set_aside_by_a_failed_opening_is_never_overwritten() {
    let (path, _outer) = filled();
    fs::remove_file(path.join("seal")).unwrap();
    let aside = path.join("untouched");
    fs::create_dir(&aside).unwrap();
    fs::write(aside.join("db"), "as first found").unwrap();
    fs::write(path.join("mark"), "999999").unwrap();
    let said = refusal(&path);
    assert_eq!(fs::read(aside.join("db")).unwrap(), b"as first found");
    insta::assert_snapshot!(said);
}

#[test]
fn after_a_crash_the_copy_is_dropped_once_all_is_well() {
    let (path, _outer) = filled();
    fs::remove_file(path.join("seal")).unwrap();
    let store = Store::open(&path).unwrap();
    assert!(!path.join("untouched").exists());
    drop(store);
    assert!(path.join("seal").exists());
}

/// What a kill may leave half written: nothing of it held anything, so nothing of it may stand in the
/// way. The database itself would take the half of a snapshot for a whole one.
#[rstest]
#[case::snapshot_just_begun("turns/snap.00000000FFFFFFFF.generating", b"")]
#[case::snapshot_half_written(
    "turns/snap.00000000FFFFFFFF.generating",
    b"a snapshot that was cut off by a kill"
)]
#[case::seal("seal.part", b"[{\"name\":\"d")]
fn what_a_kill_left_half_written_is_no_damage(#[case] half: &str, #[case] bytes: &[u8]) {
    let (path, _outer) = filled();
    fs::remove_file(path.join("seal")).unwrap();
    fs::write(path.join(half), bytes).unwrap();
    let store = Store::open(&path).unwrap();
    let expected = vec![1 + 2 * TURNS; usize::try_from(RIDERS).unwrap()];
    assert_eq!(all_events(&store), expected);
    drop(store);
    Store::open(&path).map(drop).unwrap();
    assert!(!path.join(half).exists());
}

/// A copy that was being thrown away is no copy: it must not keep the next crash from being copied.
#[test]
fn half_a_copy_is_not_taken_for_one() {
    let (path, _outer) = filled();
    let half = path.join("untouched.part");
    fs::create_dir(&half).unwrap();
    fs::write(half.join("conf"), "left over").unwrap();
    fs::remove_file(path.join("seal")).unwrap();
    fs::write(path.join("mark"), "999999").unwrap();
    let database = fs::read(path.join("turns/db")).unwrap();
    refusal(&path);
    assert_eq!(fs::read(path.join("untouched/db")).unwrap(), database);
    assert!(!half.exists());
    fs::remove_dir_all(&half).unwrap_or_default();
    fs::create_dir(&half).unwrap();
    fs::remove_dir_all(path.join("untouched")).unwrap();
    fs::write(path.join("mark"), "1").unwrap();
    Store::open(&path).map(drop).unwrap();
    assert!(!half.exists());
}

/// A disk may give a file its length and not yet its bytes when the power goes.
#[test]
fn a_mark_that_never_reached_the_disk_is_no_damage() {
    let (path, _outer) = filled();
    fs::write(path.join("mark"), [0; 21]).unwrap();
    fs::remove_file(path.join("seal")).unwrap();
    let store = Store::open(&path).unwrap();
    let expected = vec![1 + 2 * TURNS; usize::try_from(RIDERS).unwrap()];
    assert_eq!(all_events(&store), expected);
}

/// A folder with a log of several segments, opened anew since.
async fn grown(path: &Path) -> Vec<ConversationId> {
    for round in 0..2 {
        let desk = Arc::new(Desk::new(Store::open(path).unwrap(), Counting, given(1)));
        let mut riders = JoinSet::new();
        for rider in 0..64 {
            let desk = Arc::clone(&desk);
            riders.spawn(async move {
                for turn in 0..if round == 0 { 40 } else { 1 } {
                    let text = format!("{rider} {turn} {}", "and so on ".repeat(20));
                    let said = message(&format!("rider {rider}"), None, &text);
                    desk.take(said, &terms()).await.unwrap();
                }
            });
        }
        riders.join_all().await;
    }
    let store = Store::open(path).unwrap();
    store.all().await.unwrap()
}

/// What the database reads only when it is asked for is damaged while it is open: whoever asks is told,
/// everything else can be read, and the next opening keeps what it finds before it refuses.
#[tokio::test]
async fn what_is_damaged_while_nobody_looks_is_told_and_never_sealed_as_it_is() {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    let all = grown(&path).await;
    let (database, original) = (path.join("turns/db"), files(&path));
    let old = (original[&database].len() / SEGMENT - 1) * SEGMENT;
    assert!(old >= 2 * SEGMENT, "{old}");
    let (mut told, mut best) = (0, 0);
    for at in scattered(old).take(1000) {
        if told == 3 {
            break;
        }
        put_back(&path, &original);
        let store = Store::open(&path).unwrap();
        let flipped = flip_in_place(&database, at);
        let mut unread = 0;
        for id in &all {
            match store.load(*id).await {
                Ok(kept) => assert_eq!(kept.len(), 1 + 2 * 41, "{at}"),
                Err(error) => {
                    assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
                    unread += 1;
                }
            }
        }
        match store.verify().await {
            Ok(Verdict { problems, .. }) => assert!(problems.len() >= unread, "{problems:?}"),
            // The list of conversations itself is spoilt.
            Err(error) => assert!(matches!(error, StoreError::Damaged { .. }), "{error}"),
        }
        drop(store);
        if unread == 0 {
            // It hit what the log had thrown away.
            continue;
        }
        told += 1;
        best = best.max(all.len() - unread);
        let said = refusal(&path);
        assert!(said.contains("is damaged"), "{said}");
        let aside = fs::read(path.join("untouched/db")).unwrap();
        assert_eq!(aside[at], flipped, "{at}");
    }
    assert_eq!(told, 3, "of 1000 flips so many did damage");
    assert!(
        best > all.len() / 2,
        "{best} of {} could be read",
        all.len()
    );
}

/// Places spread evenly below a bound, however many are asked for: steps of the golden ratio of it. Most
/// of an old log is thrown away, and where what still counts lies differs from run to run.
fn scattered(below: usize) -> impl Iterator<Item = usize> {
    let step = (below * 618 / 1000) | 1;
    (1..).map(move |n| n * step % below)
}

fn put_back(path: &Path, original: &BTreeMap<PathBuf, Vec<u8>>) {
    fs::remove_dir_all(path).unwrap();
    for (file, bytes) in original {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, bytes).unwrap();
    }
}

/// What was written in earlier sessions is compared as well: here the log is short, so all of it.
#[tokio::test]
async fn a_byte_flipped_in_what_is_old_is_found_at_the_next_opening() {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    grown(&path).await;
    every_flip_is_found(&path);
}

#[test]
fn a_folder_whose_making_was_cut_off_is_made_again() {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    fs::create_dir(&path).unwrap();
    fs::write(path.join("FORM.part"), "floatb").unwrap();
    Store::open(&path).map(drop).unwrap();
    assert!(!path.join("FORM.part").exists());
}
