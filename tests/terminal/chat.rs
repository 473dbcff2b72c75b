//! The terminal's sitting, played from scripts over a small dialogue.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::channel::terminal::{Setting, TerminalError, address, play};
use floatbowl::desk::Desk;
use floatbowl::store::Store;
use floatbowl::store::name::Status;
use std::path::Path;

fn desk(store: &Store) -> Desk<Counting> {
    Desk::new(store.clone(), Counting, given(1))
}

fn setting() -> Setting {
    Setting {
        terms: terms(),
        folder: None,
    }
}

fn played(desk: &Desk<Counting>, script: &str) -> Result<String, TerminalError> {
    let mut out = Vec::new();
    play(desk, &setting(), script, &mut out)?;
    Ok(String::from_utf8(out).unwrap())
}

fn fresh(script: &str) -> Result<String, TerminalError> {
    played(&desk(&Store::in_memory().unwrap()), script)
}

/// A desk over a folder, as after a start of the program; ids must not repeat.
fn started(folder: &Path, first_id: u64) -> Desk<Counting> {
    Desk::new(Store::open(folder).unwrap(), Counting, given(first_id))
}

#[test]
fn a_script_gives_its_transcript() {
    let script =
        "Anything else is passed over.\n> dead\n> 1\n> #2\n> !hums\n> it hums\n>   \n> bye\n";
    insta::assert_snapshot!(fresh(script).unwrap());
}

#[test]
fn a_transcript_is_a_script_with_the_same_transcript() {
    let first = fresh("> dead\n> #1\n> !why\n> bye\n").unwrap();
    assert_eq!(fresh(&first).unwrap(), first);
}

#[test]
fn a_script_that_ends_early_ends_the_sitting() {
    assert!(fresh("> dead\n").unwrap().contains("1: dead"));
    assert!(fresh("").unwrap().contains("Hello."));
}

#[test]
fn a_script_that_picks_what_is_not_there_is_told_where() {
    let wrong = fresh("> dead\n\n> !hummms\n").unwrap_err().to_string();
    insta::assert_snapshot!(wrong, @"line 3 of the script: !hummms is not on offer; on offer are: hums, why");
    let wrong = fresh("> #3\n").unwrap_err().to_string();
    insta::assert_snapshot!(wrong, @"line 1 of the script: #3 is not on offer; on offer are: hums, why");
    let wrong = fresh("> bye\n> no\n> more\n").unwrap_err().to_string();
    insta::assert_snapshot!(wrong, @"line 3 of the script: the conversation is over before this line");
}

#[test]
fn an_unfinished_conversation_is_come_back_to() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    played(&started(&path, 1), "> dead\n> it hums\n").unwrap();
    let go_on = played(&started(&path, 10), "> go on\n> and now\n").unwrap();
    insta::assert_snapshot!("come_back_go_on", go_on);
    let answer = played(&started(&path, 20), "> it clicks\n").unwrap();
    insta::assert_snapshot!("come_back_answer", answer);
    let anew = played(&started(&path, 30), "> no\n> 2\n> other trouble\n").unwrap();
    insta::assert_snapshot!("come_back_anew", anew);
    let again = played(&started(&path, 40), "").unwrap();
    assert!(again.contains("1: other trouble"), "{again}");
}

#[test]
fn after_the_end_a_new_conversation_begins() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    played(&started(&path, 1), "> bye\n").unwrap();
    let next = played(&started(&path, 10), "> dead\n").unwrap();
    assert!(
        next.contains("Hello.") && next.contains("1: dead"),
        "{next}"
    );
    assert!(!next.contains("Last time"), "{next}");
}

#[test]
fn a_greeting_that_was_not_answered_is_simply_said_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    let first = played(&started(&path, 1), "").unwrap();
    assert_eq!(played(&started(&path, 10), "").unwrap(), first);
}

#[test]
fn an_open_danger_is_gone_back_to_without_asking() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    played(&started(&path, 1), "> fire\n").unwrap();
    let back = played(&started(&path, 10), "> 2\n").unwrap();
    assert!(!back.contains("Start anew"), "{back}");
    assert!(back.contains("2: choice why"), "{back}");
}

#[tokio::test]
async fn last_words_that_never_reached_the_rider_are_said_at_the_next_start() {
    let store = Store::in_memory().unwrap();
    let desk = desk(&store);
    let bye = message(address().as_str(), None, "bye");
    desk.take(bye, &terms()).await.unwrap();
    let both = tokio::task::spawn_blocking(move || {
        let first = played(&desk, "").unwrap();
        (first, played(&desk, "").unwrap())
    });
    let (first, second) = both.await.unwrap();
    insta::assert_snapshot!("cut_off", first);
    assert!(!second.contains("1: bye"), "{second}");
    assert_eq!(store.unsent().await.unwrap(), vec![]);
    assert_eq!(store.with_status(Status::Closed).await.unwrap().len(), 1);
}
