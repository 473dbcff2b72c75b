//! The chat as a person meets it: a process on a terminal of its own, keys in, screen out.
//!
//! Run as it is, this program is the tests; called with `chat`, it is the chat, over a dialogue
//! small enough to know every answer of.

#[path = "desk/fake.rs"]
mod fake;

use fake::{Counting, terms};
use floatbowl::channel::terminal::{self, Setting};
use floatbowl::desk::{Desk, Given};
use floatbowl::store::Store;
use rexpect::process::{Signal, WaitStatus};
use rexpect::session::{PtySession, spawn_command};
use std::env;
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

/// Long enough for a busy machine; a test that passes never waits this long.
const PATIENCE: u64 = 20_000;

/// A name, and what happens in a folder of its own.
type Test = (&'static str, fn(&Path));

fn main() -> ExitCode {
    let words: Vec<String> = env::args().skip(1).collect();
    if let [word, folder] = words.as_slice()
        && word == "chat"
    {
        return chat(&PathBuf::from(folder));
    }
    let tests: [Test; 6] = [
        ("keys, picks and history", keys_picks_and_history),
        ("leaving by either key loses nothing", leaving_loses_nothing),
        ("a kill loses nothing", a_kill_loses_nothing),
        ("weight only where it is wanted", weight_only_where_wanted),
        ("closed input is a clean end", closed_input_is_a_clean_end),
        ("closed output is a clean end", closed_output_is_a_clean_end),
    ];
    for (name, test) in tests {
        let outer = tempfile::tempdir().unwrap();
        test(&outer.path().join("data"));
        println!("{name} ... ok");
    }
    ExitCode::SUCCESS
}

fn chat(folder: &Path) -> ExitCode {
    let store = Store::open(folder).unwrap();
    let desk = Desk::new(store, Counting, Given::by_system());
    let setting = Setting {
        terms: terms(),
        folder: Some(folder.to_owned()),
    };
    terminal::run(&desk, &setting).unwrap();
    ExitCode::SUCCESS
}

fn program(folder: &Path) -> Command {
    let mut command = Command::new(env::current_exe().unwrap());
    command.arg("chat").arg(folder);
    command.env("TERM", "xterm").env_remove("NO_COLOR");
    command
}

/// The chat on a terminal of its own, up to its first question.
fn seated(folder: &Path) -> PtySession {
    let mut session = spawn_command(program(folder), Some(PATIENCE)).unwrap();
    session.exp_string("What else?").unwrap();
    session.exp_string("> ").unwrap();
    session
}

fn says(session: &mut PtySession, typed: &str, expected: &str) {
    session.send_line(typed).unwrap();
    session.exp_string(expected).unwrap();
    session.exp_string("> ").unwrap();
}

fn ends_well(mut session: PtySession) -> String {
    let rest = session.exp_eof().unwrap();
    let ended = session.process().wait().unwrap();
    assert!(
        matches!(ended, WaitStatus::Exited(_, 0)),
        "{ended:?}: {rest}"
    );
    rest
}

fn leaves(mut session: PtySession, key: char) {
    session.send_control(key).unwrap();
    let rest = ends_well(session);
    assert!(rest.contains("This conversation is kept in"), "{rest}");
    assert!(rest.contains("Start floatbowl again"), "{rest}");
}

fn keys_picks_and_history(folder: &Path) {
    let mut session = seated(folder);
    says(&mut session, "it is dead", "1: it is dead");
    says(&mut session, "1", "2: choice hums");
    says(&mut session, "why?", "3: choice why");
    // Up, up: the line before the last.
    says(&mut session, "\u{1b}[A\u{1b}[A", "4: choice hums");
    // A slip taken back by backspace.
    says(&mut session, "dax\u{7f}rk", "5: dark");
    says(&mut session, "bye", "6: bye");
    session.send_line("no").unwrap();
    ends_well(session);
}

fn leaving_loses_nothing(folder: &Path) {
    let mut session = seated(folder);
    says(&mut session, "it is dead", "1: it is dead");
    session.send("half a sent").unwrap();
    leaves(session, 'c');
    let mut session = seated(folder);
    says(&mut session, "1", "What else?");
    says(&mut session, "still dead", "2: still dead");
    leaves(session, 'd');
    let mut session = seated(folder);
    says(&mut session, "2", "Hello. What is wrong?");
    leaves(session, 'c');
}

fn a_kill_loses_nothing(folder: &Path) {
    let mut session = seated(folder);
    says(&mut session, "it is dead", "1: it is dead");
    session.process_mut().kill(Signal::SIGKILL).unwrap();
    let mut session = spawn_command(program(folder), Some(PATIENCE)).unwrap();
    session.exp_string("Last time we were here:").unwrap();
    session.exp_string("1: it is dead").unwrap();
    session.exp_string("Go on from there").unwrap();
    session.exp_string("> ").unwrap();
    leaves(session, 'd');
}

fn weight_only_where_wanted(folder: &Path) {
    let screen = |command: Command| {
        let mut session = spawn_command(command, Some(PATIENCE)).unwrap();
        let screen = session.exp_string("[1] It hums").unwrap();
        session.exp_string("> ").unwrap();
        leaves(session, 'd');
        screen
    };
    let bold = "\u{1b}[1mWhat else?";
    assert!(screen(program(folder)).contains(bold));
    let mut without = program(folder);
    without.env("NO_COLOR", "1");
    let plain = screen(without);
    assert!(plain.contains("What else?"), "{plain}");
    assert!(!plain.contains('\u{1b}'), "{plain:?}");
}

fn closed_input_is_a_clean_end(folder: &Path) {
    let output = program(folder).stdin(Stdio::null()).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success());
    assert!(text.contains("Hello. What is wrong?"), "{text}");
    assert!(!text.contains('\u{1b}'), "{text:?}");
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    let input = folder.with_extension("txt");
    fs::write(&input, b"it \xff\xfe is dead\n\n2").unwrap();
    let input = fs::File::open(input).unwrap();
    let output = program(folder).stdin(input).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success());
    assert!(text.contains("1: it \u{fffd}\u{fffd} is dead"), "{text}");
    assert!(text.contains("2: choice why"), "{text}");
}

fn closed_output_is_a_clean_end(folder: &Path) {
    let mut child = program(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut first = [0; 8];
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut first).unwrap();
    drop(out);
    let mut input = child.stdin.take().unwrap();
    // The chat may have noticed already and be gone.
    let _ = input.write_all(b"it is dead\nstill\n");
    drop(input);
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    assert!(output.status.success());
}
