//! The commands over a data folder, as processes: also while another floatbowl has it open.

use assert_cmd::Command;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{self, Child, ChildStdin, ChildStdout, Stdio};

fn floatbowl(data: &Path, words: &[&str]) -> Command {
    let mut command = Command::cargo_bin("floatbowl").unwrap();
    command.args(words).arg("--data").arg(data);
    command
}

fn out(data: &Path, words: &[&str]) -> String {
    let done = floatbowl(data, words).assert().success();
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

fn refusal(data: &Path, words: &[&str]) -> String {
    let done = floatbowl(data, words).assert().code(2);
    String::from_utf8(done.get_output().stderr.clone()).unwrap()
}

/// A chat that goes on until its input is closed.
struct Chat {
    process: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

impl Chat {
    fn begin(data: &Path) -> Self {
        let mut process = process::Command::new(env!("CARGO_BIN_EXE_floatbowl"))
            .args(["chat", "--system", "pump-carb", "--data"])
            .arg(data)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let input = process.stdin.take().unwrap();
        let output = BufReader::new(process.stdout.take().unwrap());
        Self {
            process,
            input,
            output,
        }
    }

    /// Says something and reads on to a line with these words.
    fn say(&mut self, text: &str, until: &str) {
        writeln!(self.input, "{text}").unwrap();
        let mut line = String::new();
        while !line.contains(until) {
            line.clear();
            let read = self.output.read_line(&mut line).unwrap();
            assert_ne!(read, 0, "no line with {until:?}");
        }
    }

    fn end(mut self) {
        drop(self.input);
        assert!(self.process.wait().unwrap().success());
    }
}

fn only_id(data: &Path) -> String {
    let text = out(data, &["transcript", "list"]);
    text.split_whitespace().next().unwrap().to_owned()
}

#[test]
fn every_command_works_while_a_chat_has_the_folder_open() {
    let outer = tempfile::tempdir().unwrap();
    let data = outer.path().join("data");
    let mut chat = Chat::begin(&data);
    chat.say("cranks but will not start", "Take my last answer back");
    let whole = out(&data, &["store", "verify"]);
    assert!(whole.starts_with("all is well: 1 conversations"), "{whole}");
    let closed = out(&data, &["transcript", "list"]);
    assert_eq!(closed, "0 to read, 1 not open to volunteers\n");
    out(&data, &["group", "set", "terminal", "--open", "everything"]);
    let id = only_id(&data);
    let page = out(&data, &["transcript", "show", &id]);
    assert!(page.contains("> cranks but will not start"), "{page}");
    assert!(
        page.contains("cranks-no-start = cranks-no-start-yes"),
        "{page}"
    );
    let file = outer.path().join("kept.jsonl.zst");
    let name = file.to_str().unwrap();
    out(&data, &["backup", name]);
    let again = refusal(&data, &["backup", name]);
    assert!(again.contains("is there already"), "{again}");
    // What goes wrong behind the door is said in front of it.
    let unknown = refusal(&data, &["transcript", "show", "0000000000000001"]);
    assert!(unknown.contains("There is no conversation"), "{unknown}");
    chat.end();
    assert!(!data.join("door").exists());
    let back = outer.path().join("back");
    let restored = out(&back, &["restore", name]);
    assert!(
        restored.starts_with("1 conversations brought back"),
        "{restored}"
    );
    let replayed = out(&back, &["replay", "--strict"]);
    assert!(
        replayed.contains("1 said again, 0 came out otherwise"),
        "{replayed}"
    );
    assert_eq!(out(&back, &["transcript", "show", &id]), page);
}

#[test]
fn a_volunteer_corrects_confirms_keeps_and_a_moderator_learns() {
    let outer = tempfile::tempdir().unwrap();
    let data = outer.path().join("data");
    let mut chat = Chat::begin(&data);
    chat.say("cranks but will not start", "Take my last answer back");
    chat.say("stop", "May volunteers read this conversation");
    chat.say("yes", "Thank you");
    chat.end();
    let id = only_id(&data);
    let refused = refusal(&data, &["learn", "apply"]);
    assert!(refused.contains("no confirmed outcome"), "{refused}");
    let meant = "cranks-no-start=cranks-no-start-yes";
    let correct = ["transcript", "correct", &id, "--turn", "1", "--meant"];
    out(&data, &[correct.as_slice(), &[meant]].concat());
    let wrong = refusal(
        &data,
        &[correct.as_slice(), &["cranks-no-start=hums"]].concat(),
    );
    assert!(wrong.contains("has no outcome hums"), "{wrong}");
    let fault = "circuit-fuse-blown";
    out(&data, &["transcript", "confirm", &id, "--fault", fault]);
    let wrong = refusal(
        &data,
        &["transcript", "confirm", &id, "--fault", "gremlins"],
    );
    assert!(wrong.contains("There is no fault gremlins"), "{wrong}");
    let case = out(
        &data,
        &["transcript", "keep", &id, "--about", "an invented rider"],
    );
    let file = outer.path().join("case.json");
    std::fs::write(&file, case).unwrap();
    let cases = ["replay", "--strict", "--cases", file.to_str().unwrap()];
    let replayed = out(&data, &cases);
    assert!(
        replayed.contains("1 said again, 0 came out otherwise"),
        "{replayed}"
    );
    let learned = out(&data, &["learn", "apply"]);
    assert!(learned.contains(fault), "{learned}");
    out(&data, &["learn", "revert"]);
    let nothing = refusal(&data, &["learn", "revert"]);
    assert!(nothing.contains("Nothing is in force"), "{nothing}");
    let erased = out(&data, &["store", "sweep"]);
    assert_eq!(erased, "0 conversations erased, 0 messages\n");
}

#[test]
fn a_damaged_folder_is_refused_and_salvaged() {
    let outer = tempfile::tempdir().unwrap();
    let data = outer.path().join("data");
    let mut chat = Chat::begin(&data);
    chat.say("cranks but will not start", "Take my last answer back");
    chat.end();
    let mut keys = std::fs::read(data.join("keys")).unwrap();
    keys.extend([1; 48]);
    std::fs::write(data.join("keys"), &keys).unwrap();
    // A key that no conversation has does no harm.
    out(&data, &["store", "verify"]);
    keys[60] ^= 1;
    std::fs::write(data.join("keys"), &keys).unwrap();
    let refused = refusal(&data, &["store", "verify"]);
    assert!(
        refused.contains("key 1 in the file of keys is damaged"),
        "{refused}"
    );
    let new = outer.path().join("new");
    let saved = out(&data, &["store", "salvage", new.to_str().unwrap()]);
    assert!(saved.contains("0 conversations saved whole"), "{saved}");
    assert!(saved.contains("nothing of it can be read"), "{saved}");
    let nowhere = refusal(&outer.path().join("nowhere"), &["store", "verify"]);
    assert!(nowhere.contains("There is no folder"), "{nowhere}");
}
