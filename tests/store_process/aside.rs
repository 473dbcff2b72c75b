//! A process killed over what is not a turn: restoring a backup, and what volunteers and moderators add.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::conversation::event::{Correction, Event, Logged};
use floatbowl::desk::Desk;
use floatbowl::store::name::{ConversationId, Group};
use floatbowl::store::setting::Setting;
use floatbowl::store::{Note, Store};
use jiff::Timestamp;
use std::env;
use std::fs::{self, File};
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, Command, ExitCode, Stdio};
use std::thread;
use std::time::Duration;
use tokio::runtime::Runtime;

/// How often each is killed.
const KILLS: u16 = 12;
const CONVERSATIONS: u64 = 400;
const NOTED: ConversationId = ConversationId(1);

/// Brings a backup back to a folder.
pub fn restore(folder: &Path, file: &Path) -> ExitCode {
    let store = Store::open(folder).unwrap();
    let open = || -> io::Result<Box<dyn Read>> { Ok(Box::new(File::open(file)?)) };
    Runtime::new()
        .unwrap()
        .block_on(store.bring_back(open))
        .unwrap();
    ExitCode::SUCCESS
}

/// Adds a correction, an act and a setting, over and over, and reports how many events there are of the
/// conversation, how many acts, and which setting.
pub fn add(folder: &Path) -> ExitCode {
    let store = Store::open(folder).unwrap();
    Runtime::new().unwrap().block_on(async {
        loop {
            let events = u32::try_from(store.load(NOTED).await.unwrap().len()).unwrap();
            store.note(correction(events)).await.unwrap();
            store
                .act("kills", events.to_be_bytes().to_vec())
                .await
                .unwrap();
            let acts = store.acts("kills").await.unwrap().len();
            let retention_days = u16::try_from(acts).unwrap();
            let setting = Setting {
                retention_days,
                ..Setting::default()
            };
            store.set(Group::new("g"), setting).await.unwrap();
            let mut out = io::stdout().lock();
            writeln!(out, "{} {acts}", events + 1).unwrap();
            out.flush().unwrap();
        }
    })
}

fn correction(after: u32) -> Note {
    let correction = Correction {
        turn: 1,
        meant: Vec::new(),
        note: "as said".to_owned(),
    };
    Note {
        conversation: NOTED,
        at: Timestamp::UNIX_EPOCH,
        after,
        events: vec![Logged {
            turn: 1,
            event: Event::Corrected(correction),
        }],
    }
}

fn started(words: &[&str]) -> Child {
    let mut command = Command::new(env::current_exe().unwrap());
    command.args(words).stdout(Stdio::piped()).spawn().unwrap()
}

async fn filled(store: Store, conversations: u64) -> Desk<Counting> {
    let desk = Desk::new(store, Counting, given(1));
    for rider in 0..conversations {
        let said = message(&format!("g/rider {rider}"), None, "it is dead");
        desk.take(said, &terms()).await.unwrap();
    }
    desk
}

/// A restore that is cut short is taken up again, whenever it was killed.
pub fn a_restore_killed_is_taken_up_again() {
    let outer = tempfile::tempdir().unwrap();
    let (folder, file) = (outer.path().join("data"), outer.path().join("backup"));
    let runtime = Runtime::new().unwrap();
    let desk = runtime.block_on(filled(Store::in_memory().unwrap(), CONVERSATIONS));
    let mut backup = Vec::new();
    runtime.block_on(desk.store().back_up(&mut backup)).unwrap();
    fs::write(&file, backup).unwrap();
    let words = ["restore", folder.to_str().unwrap(), file.to_str().unwrap()];
    for round in 0..KILLS {
        let mut child = started(&words);
        thread::sleep(Duration::from_millis(u64::from(5 + 12 * round)));
        child.kill().unwrap();
        child.wait().unwrap();
    }
    assert!(started(&words).wait().unwrap().success());
    let store = Store::open(&folder).unwrap();
    runtime.block_on(async {
        assert!(store.verify().await.unwrap().problems.is_empty());
        for id in (1..=CONVERSATIONS).map(ConversationId) {
            let was = desk.store().load(id).await.unwrap();
            assert_eq!(store.load(id).await.unwrap(), was, "{id}");
        }
        assert_eq!(
            store.unsent().await.unwrap(),
            desk.store().unsent().await.unwrap()
        );
    });
    println!("a restore killed {KILLS} times is taken up again ... ok");
}

/// What volunteers and moderators add is there once it is acknowledged, whole and in order.
pub fn what_is_added_is_not_lost() {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("data");
    let runtime = Runtime::new().unwrap();
    drop(runtime.block_on(filled(Store::open(&folder).unwrap(), 1)));
    let (mut events, mut acts) = (0, 0);
    for round in 0..KILLS {
        let mut child = started(&["add", folder.to_str().unwrap()]);
        let out = BufReader::new(child.stdout.take().unwrap());
        let reader = thread::spawn(move || out.lines().map_while(Result::ok).last());
        thread::sleep(Duration::from_millis(u64::from(40 + 23 * round)));
        child.kill().unwrap();
        child.wait().unwrap();
        if let Some(last) = reader.join().unwrap() {
            let (of_events, of_acts) = last.split_once(' ').unwrap();
            (events, acts) = (of_events.parse().unwrap(), of_acts.parse().unwrap());
        }
        let store = Store::open(&folder).unwrap();
        runtime.block_on(async {
            assert!(store.verify().await.unwrap().problems.is_empty());
            let kept = store.load(NOTED).await.unwrap().len();
            assert!(kept >= events, "{kept} of {events} events");
            let decided = store.acts("kills").await.unwrap().len();
            assert!(decided >= acts, "{decided} of {acts} acts");
            // Three events are of turns, and each kill may come between a correction and its act.
            assert!(
                kept - decided <= 3 + usize::from(round + 1),
                "{kept} and {decided}"
            );
            let setting = store.setting(Group::new("g")).await.unwrap();
            let days = usize::from(setting.retention_days);
            assert!(acts == 0 || (acts..=decided).contains(&days), "{days}");
        });
    }
    assert!(events > 3, "nothing was ever added");
    println!(
        "{} corrections and {acts} acts over {KILLS} kills, none lost ... ok",
        events - 3
    );
}
