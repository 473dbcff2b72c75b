//! The program itself on a terminal of its own: a rider types, leaves in the middle, comes back.

use rexpect::session::{PtySession, spawn_command};
use std::path::Path;
use std::process::Command;

/// Long enough for a busy machine; a test that passes never waits this long.
const PATIENCE: u64 = 60_000;

fn chat(folder: &Path) -> PtySession {
    let mut command = Command::new(env!("CARGO_BIN_EXE_floatbowl"));
    command
        .args(["chat", "--system", "pump-carb", "--data"])
        .arg(folder);
    command.env("TERM", "xterm");
    spawn_command(command, Some(PATIENCE)).unwrap()
}

#[test]
fn a_rider_leaves_in_the_middle_and_comes_back() {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("data");
    let mut first = chat(&folder);
    first.exp_string("What is the bike doing").unwrap();
    first.exp_string("> ").unwrap();
    first
        .send_line("it cranks but will not start, it sat all winter")
        .unwrap();
    first.exp_string("look around you").unwrap();
    first.exp_string("> ").unwrap();
    first.send_control('c').unwrap();
    first.exp_eof().unwrap();
    let mut second = chat(&folder);
    second.exp_string("Last time").unwrap();
    second.exp_string("look around you").unwrap();
    second.send_control('d').unwrap();
    second.exp_eof().unwrap();
}

#[test]
fn a_danger_comes_first() {
    let outer = tempfile::tempdir().unwrap();
    let mut session = chat(&outer.path().join("data"));
    session.exp_string("> ").unwrap();
    session
        .send_line("help, petrol is dripping from the fuel tap")
        .unwrap();
    session.exp_string("Key off").unwrap();
    session.exp_string("Has the leak stopped").unwrap();
    session.send_control('d').unwrap();
    session.exp_eof().unwrap();
}
