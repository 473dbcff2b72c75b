//! Damage: said plainly, nothing overwritten, and what can be read is saved to a new folder.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::desk::Desk;
use floatbowl::store::name::ConversationId;
use floatbowl::store::salvage::{Salvaged, salvage};
use floatbowl::store::{Kept, Store};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use tokio::runtime::Runtime;

const RIDERS: u64 = 20;
const TURNS: usize = 8;

type Logs = BTreeMap<ConversationId, Vec<Kept>>;

/// A folder with some conversations, closed, and what is in it.
fn filled() -> (PathBuf, Logs, TempDir) {
    let outer = tempfile::tempdir().unwrap();
    let path = outer.path().join("data");
    let logs = Runtime::new().unwrap().block_on(async {
        let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(1));
        for turn in 0..TURNS {
            for rider in 0..RIDERS {
                let said = message(&format!("rider {rider}"), None, &format!("turn {turn}"));
                desk.take(said, &terms()).await.unwrap();
            }
        }
        logs(desk.store()).await
    });
    (path, logs, outer)
}

async fn logs(store: &Store) -> Logs {
    let mut logs = Logs::new();
    for id in store.all().await.unwrap() {
        logs.insert(id, store.load(id).await.unwrap());
    }
    logs
}

fn read(folder: &Path) -> Logs {
    let store = Store::open(folder).unwrap();
    Runtime::new().unwrap().block_on(async {
        let verdict = store.verify().await.unwrap();
        assert_eq!(verdict.problems, Vec::<String>::new());
        logs(&store).await
    })
}

/// Saves a folder, and sees to it that all that was saved is a beginning of what was there, that every
/// conversation is accounted for, and, unless writes are said to be missing, that what is called whole
/// is whole.
fn saved(damaged: &Path, was: &Logs, new: &Path) -> Salvaged {
    let saved = salvage(damaged, new).unwrap();
    let now = read(new);
    assert_eq!(now.len(), saved.whole + saved.cut.len(), "{saved:?}");
    let mut whole = 0;
    for (id, log) in &now {
        assert!(was[id].starts_with(log), "{id}");
        whole += usize::from(was[id].len() == log.len());
    }
    let accounted = saved.whole + saved.cut.len() + saved.lost.len();
    assert_eq!(accounted, was.len(), "{saved:?}");
    if saved.missing_writes == 0 && saved.spoilt_segments == Some(0) {
        assert_eq!(whole, saved.whole, "{saved:?}");
    }
    saved
}

#[test]
fn of_an_undamaged_folder_everything_is_saved() {
    let (path, was, outer) = filled();
    let new = outer.path().join("new");
    let all = usize::try_from(RIDERS).unwrap();
    let expected = Salvaged {
        whole: all,
        spoilt_segments: Some(0),
        ..Salvaged::default()
    };
    assert_eq!(saved(&path, &was, &new), expected);
    assert_eq!(read(&new), was);
    let error = salvage(&path, &new).unwrap_err().to_string();
    assert!(error.contains("is not empty"), "{error}");
}

/// A byte flipped anywhere in the database: it is refused, and nearly everything is saved. What stands
/// behind the spoilt place is as well kept as what stands before it.
#[test]
fn a_flipped_byte_costs_little() {
    let (path, was, outer) = filled();
    let database = path.join("turns/db");
    let whole = fs::read(&database).unwrap();
    let used = 1 + whole.iter().rposition(|byte| *byte != 0).unwrap();
    for at in (0..12)
        .map(|n| (2 * n + 1) * used / 24)
        .chain([0, 15, 21, 24])
    {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x10;
        fs::write(&database, &bytes).unwrap();
        assert!(Store::open(&path).is_err());
        let new = outer.path().join(format!("new {at}"));
        let saved = saved(&path, &was, &new);
        // One place is spoilt: at worst a page of the database, which holds up to 16 rows of one or two
        // conversations, or what was written after it.
        let touched = saved.cut.len() + saved.lost.len();
        assert!(touched <= 3, "{at}: {saved:?}");
        assert_eq!(
            fs::read(&database).unwrap(),
            bytes,
            "the damaged file was changed"
        );
    }
}

#[test]
fn a_torn_last_write_costs_the_end_at_most() {
    let (path, was, outer) = filled();
    let database = path.join("turns/db");
    let whole = fs::read(&database).unwrap();
    let used = 1 + whole.iter().rposition(|byte| *byte != 0).unwrap();
    let mut bytes = whole.clone();
    bytes[used - 100..].fill(0);
    fs::write(&database, &bytes).unwrap();
    let error = Store::open(&path).map(drop).unwrap_err().to_string();
    assert!(error.contains("turns/db is damaged"), "{error}");
    assert!(error.contains("floatbowl store salvage"), "{error}");
    let saved = saved(&path, &was, &outer.path().join("new"));
    assert!(saved.whole + saved.cut.len() > 0, "{saved:?}");
}

/// A byte flipped in the file of keys costs the conversation of that key, and is named.
#[test]
fn a_flipped_byte_in_a_key_costs_its_conversation() {
    let (path, was, outer) = filled();
    let mut keys = fs::read(path.join("keys")).unwrap();
    keys[5 * 48 + 20] ^= 1;
    fs::write(path.join("keys"), keys).unwrap();
    let error = Store::open(&path).map(drop).unwrap_err().to_string();
    assert!(
        error.contains("key 5 in the file of keys is damaged"),
        "{error}"
    );
    let saved = saved(&path, &was, &outer.path().join("new"));
    assert_eq!(saved.whole, usize::try_from(RIDERS).unwrap() - 1);
    assert_eq!(saved.lost, [ConversationId(5)]);
}

#[test]
fn keys_that_are_missing_are_not_made_anew() {
    let (path, _, _outer) = filled();
    fs::remove_file(path.join("keys")).unwrap();
    let error = Store::open(&path).map(drop).unwrap_err().to_string();
    assert!(error.contains("the keys are missing"), "{error}");
    assert!(!path.join("keys").exists());
}

/// A key whose writing was cut short by a crash belongs to no conversation, and does no harm.
#[test]
fn a_torn_key_at_the_end_does_no_harm() {
    let (path, was, _outer) = filled();
    let mut keys = fs::read(path.join("keys")).unwrap();
    keys.extend([7; 20]);
    fs::write(path.join("keys"), keys).unwrap();
    assert_eq!(read(&path), was);
    let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(900));
    Runtime::new().unwrap().block_on(async {
        desk.take(message("new", None, "dead"), &terms())
            .await
            .unwrap();
    });
    drop(desk);
    assert_eq!(read(&path).len(), was.len() + 1);
}
