//! Words are learned from labelled messages by the program itself, and read by it afterwards.

use assert_cmd::Command;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// Words that no phrase knows.
const UNHEARD_OF: &str = "the marmot whistles in her left cheek";

/// A folder with the shipped knowledge, and a file of messages beside it.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn with(messages: &str) -> Self {
        let bench = Self {
            folder: TempDir::new().unwrap(),
        };
        copy(Path::new("knowledge"), &bench.knowledge());
        fs::write(bench.messages(), messages).unwrap();
        bench
    }

    fn knowledge(&self) -> PathBuf {
        self.folder.path().join("knowledge")
    }

    fn messages(&self) -> PathBuf {
        self.folder.path().join("messages.jsonl")
    }

    fn table(&self) -> PathBuf {
        self.knowledge().join("learned/en.tsv")
    }

    fn numbers(&self) -> PathBuf {
        self.knowledge().join("learned/en-numbers.tsv")
    }

    fn figures(&self) -> PathBuf {
        self.knowledge().join("learned/en-figures.tsv")
    }

    fn network(&self) -> PathBuf {
        self.knowledge().join("learned/en-network.tsv")
    }

    fn recurrent(&self) -> PathBuf {
        self.knowledge().join("learned/en-recurrent.tsv")
    }

    /// Learns what words speak for, alone, in a row, and after all that was read before.
    fn train(&self) -> assert_cmd::assert::Assert {
        let (table, network, recurrent) = (self.table(), self.network(), self.recurrent());
        self.learn(&[
            ("--out", &table),
            ("--network", &network),
            ("--recurrent", &recurrent),
        ])
    }

    /// The same, with kin of words.
    fn train_with(&self, senses: &str) -> assert_cmd::assert::Assert {
        let file = self.folder.path().join("senses.tsv");
        fs::write(&file, senses).unwrap();
        let (table, network, recurrent) = (self.table(), self.network(), self.recurrent());
        let tables = [
            ("--out", &table),
            ("--network", &network),
            ("--recurrent", &recurrent),
            ("--senses", &file),
        ];
        self.learn(&tables)
    }

    /// Learns which numbers are readings, by what stands around them and by all that was read before.
    fn train_numbers(&self) -> assert_cmd::assert::Assert {
        self.learn(&[
            ("--numbers", &self.numbers()),
            ("--figures", &self.figures()),
        ])
    }

    fn learn(&self, tables: &[(&str, &PathBuf)]) -> assert_cmd::assert::Assert {
        let mut program = Command::cargo_bin("floatbowl").unwrap();
        program
            .args([
                "knowledge",
                "train",
                "--knowledge",
                "knowledge",
                "--messages",
            ])
            .arg(self.messages());
        for (what, table) in tables {
            program.arg(what).arg(table);
        }
        program.assert()
    }

    /// What `knowledge check` says of it.
    fn check(&self) -> assert_cmd::assert::Assert {
        let mut program = Command::cargo_bin("floatbowl").unwrap();
        program
            .args(["knowledge", "check", "--knowledge"])
            .arg(self.knowledge());
        program.assert()
    }

    /// The complaints read in a message with the knowledge as it is now.
    fn complaints(&self, text: &str) -> Vec<String> {
        let said = self.read(text);
        let symptoms = said["symptoms"].as_array().unwrap().iter();
        symptoms
            .map(|symptom| symptom["id"].as_str().unwrap().to_owned())
            .collect()
    }

    /// The values of the readings in a message.
    fn values(&self, text: &str) -> Vec<f64> {
        let said = self.read(text);
        let readings = said["readings"].as_array().unwrap().iter();
        readings
            .map(|reading| reading["value"].as_f64().unwrap())
            .collect()
    }

    fn read(&self, text: &str) -> Value {
        let mut program = Command::cargo_bin("floatbowl").unwrap();
        let line = json!({ "text": text }).to_string() + "\n";
        let read = program
            .args(["interpret", "--knowledge"])
            .arg(self.knowledge())
            .write_stdin(line)
            .assert()
            .success();
        serde_json::from_slice(&read.get_output().stdout).unwrap()
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// So many messages that tell a complaint in words of their own, and as many that tell none.
fn lesson(times: usize) -> String {
    let only = ["symptoms", "history", "hazards"];
    let lines = (0..times).flat_map(|nth| {
        let told = json!({
            "text": format!("day {nth} and {UNHEARD_OF}"),
            "symptoms": [{ "id": "hanging-idle", "present": true }],
            "only": only,
        });
        let plain =
            json!({ "text": format!("day {nth} and thank you for the help"), "only": only });
        [told.to_string(), plain.to_string()]
    });
    "{\"floor\": 1.0}\n".to_owned() + &lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn what_is_labelled_is_read() {
    let bench = Bench::with(&lesson(10));
    assert_eq!(bench.complaints(UNHEARD_OF), [""; 0]);
    bench.train().success();
    assert_eq!(bench.complaints(UNHEARD_OF), ["hanging-idle"]);
    assert_eq!(bench.complaints("thank you for the help"), [""; 0]);
}

/// A number that phrases take for a reading, and one like it that is one.
const NONE: &str = "the marmot whistled 12.4 V at the battery";
const READING: &str = "the meter shows 12.6 V at the battery";

/// So many messages with one of these numbers.
fn lesson_of_numbers(times: usize) -> String {
    let lines = (0..times).flat_map(|nth| {
        let none = json!({ "text": format!("day {nth}: {NONE}"), "only": ["readings"] });
        let one = json!({
            "text": format!("day {nth}: {READING}"),
            "readings": [{ "quantity": "voltage", "value": 12.6 }],
            "only": ["readings"],
        });
        [none.to_string(), one.to_string()]
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// What is said of a number that phrases take for a reading, and of the leads, is learned as well.
#[test]
fn numbers_labelled_as_none_are_left_out() {
    let bench = Bench::with(&lesson_of_numbers(10));
    fs::remove_file(bench.numbers()).unwrap();
    fs::remove_file(bench.figures()).unwrap();
    assert_eq!(bench.values(NONE), [12.4]);
    bench.train_numbers().success();
    bench.check().success();
    assert_eq!(bench.values(NONE), [0.0; 0]);
    assert_eq!(bench.values(READING), [12.6]);
}

#[test]
fn messages_without_a_number_that_is_none_are_refused() {
    let line = json!({
        "text": "12.6 V at the battery",
        "readings": [{ "quantity": "voltage", "value": 12.6 }],
    });
    let bench = Bench::with(&line.to_string());
    for (what, file) in [
        ("--numbers", bench.numbers()),
        ("--figures", bench.figures()),
    ] {
        let refused = bench.learn(&[(what, &file)]).failure();
        let error = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
        assert!(error.contains("nothing can be learned"), "{error}");
    }
}

#[test]
fn the_same_messages_make_the_same_tables() {
    let bench = Bench::with(&lesson(10));
    let learned = || {
        bench.train().success();
        let files = [bench.table(), bench.network(), bench.recurrent()];
        files.map(|file| fs::read(file).unwrap())
    };
    let first = learned();
    assert!(learned() == first);
    let bench = Bench::with(&lesson_of_numbers(10));
    let learned = || {
        bench.train_numbers().success();
        [bench.numbers(), bench.figures()].map(|file| fs::read(file).unwrap())
    };
    let first = learned();
    assert!(learned() == first);
}

#[test]
fn too_few_messages_are_refused_and_the_table_is_kept() {
    let bench = Bench::with(&lesson(3));
    let before = fs::read(bench.table()).unwrap();
    let refused = bench.train().failure();
    let error = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(error.contains("nothing can be learned"), "{error}");
    assert!(fs::read(bench.table()).unwrap() == before);
}

#[test]
fn a_spoilt_line_is_named() {
    let bench = Bench::with("{\"floor\": 1.0}\n{\"text\": \"it dies\", \"symptoms\": 3}\n");
    let refused = bench.train().failure();
    let error = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(error.contains("messages.jsonl"), "{error}");
    assert!(error.contains("line 2"), "{error}");
}

/// The last line may be missing its end, or half of the file; what is learned anew mends it.
#[test]
fn a_table_that_is_cut_off_is_refused() {
    let bench = Bench::with(&lesson(10));
    for (file, name) in [
        (bench.table(), "learned/en.tsv"),
        (bench.network(), "learned/en-network.tsv"),
        (bench.recurrent(), "learned/en-recurrent.tsv"),
        (bench.figures(), "learned/en-figures.tsv"),
    ] {
        bench.train().success();
        fs::copy("knowledge/learned/en-figures.tsv", bench.figures()).unwrap();
        bench.check().success();
        let whole = fs::read_to_string(&file).unwrap();
        let middle = whole.char_indices().nth(whole.chars().count() / 2);
        fs::write(&file, &whole[..middle.unwrap().0]).unwrap();
        let refused = bench.check().failure();
        let shown = String::from_utf8_lossy(&refused.get_output().stdout).into_owned();
        assert!(shown.contains(name), "{shown}");
    }
}

#[test]
fn a_network_of_other_claims_than_the_table_is_refused() {
    let bench = Bench::with(&lesson(10));
    let files = [bench.network(), bench.recurrent()];
    let shipped = files.each_ref().map(|file| fs::read(file).unwrap());
    for (file, shipped) in files.iter().zip(shipped) {
        bench.train().success();
        fs::write(file, shipped).unwrap();
        let refused = bench.check().failure();
        let shown = String::from_utf8_lossy(&refused.get_output().stdout).into_owned();
        assert!(shown.contains("not those of the table"), "{shown}");
    }
}

/// A network for words where the one for numbers should be.
#[test]
fn a_network_of_other_claims_than_those_of_numbers_is_refused() {
    let bench = Bench::with(&lesson(10));
    fs::copy(bench.recurrent(), bench.figures()).unwrap();
    let refused = bench.check().failure();
    let shown = String::from_utf8_lossy(&refused.get_output().stdout).into_owned();
    assert!(shown.contains("learned/en-figures.tsv"), "{shown}");
    assert!(shown.contains("There is no `"), "{shown}");
}

/// The networks know words that no message holds, by what is learned of their kin.
#[test]
fn words_of_a_known_sense_are_learned_with_their_kin() {
    let holds = |bench: &Bench, word: &str| {
        [bench.network(), bench.recurrent()].iter().all(|file| {
            let network = fs::read_to_string(file).unwrap();
            let mut lines = network.lines();
            lines.any(|line| line.starts_with(&format!("word\t{word}\t")))
        })
    };
    let bench = Bench::with(&lesson(10));
    bench.train().success();
    assert!(holds(&bench, "marmot") && !holds(&bench, "groundhog"));
    bench.train_with("whistler\tmarmot groundhog\n").success();
    assert!(holds(&bench, "marmot") && holds(&bench, "groundhog"));
    bench.check().success();
}

#[test]
fn a_spoilt_file_of_senses_is_refused_by_line() {
    let bench = Bench::with(&lesson(10));
    let refused = bench.train_with("whistler\tmarmot\ngroundhog\n").failure();
    let error = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(
        error.contains("line 2") && error.contains("--senses"),
        "{error}"
    );
}

/// A table that tells of other things than the networks beside it could not be weighed with them.
#[test]
fn a_table_whose_claims_the_networks_do_not_make_is_refused() {
    let bench = Bench::with(&lesson(10));
    bench.learn(&[("--out", &bench.table())]).success();
    let refused = bench.check().failure();
    let said = refused.get_output();
    let said = [&*said.stdout, &*said.stderr].concat();
    let said = String::from_utf8_lossy(&said).into_owned();
    assert!(said.contains("claims are not those of the table"), "{said}");
    assert!(said.contains("learned/en-network.tsv"), "{said}");
    bench.train().success();
    bench.check().success();
}
