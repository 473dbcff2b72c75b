//! A knowledge folder with one line spoilt is refused, with the file, the line and what is wrong.

use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::library::Source;
use floatbowl::knowledge::load;
use rstest::rstest;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// One line of the knowledge, and what it is turned into.
struct Spoilt {
    file: &'static str,
    /// Only from here on is the line looked for.
    after: &'static str,
    from: &'static str,
    to: &'static str,
}

const PUMP_CHECKS: &str = "observations/pump.toml";
const PUMP_FAULTS: &str = "faults/pump.toml";
const OPENS_FUEL: &str = "gates = [\"outdoors\", \"engine-cold\", \"no-flames\", \"bike-steady\", \"extinguisher\", \"protection\", \"bystanders\", \"battery-fuel-apart\", \"fuel-open\"]";

const UNKNOWN_ID: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "cause = [",
    from: "faults = [\"pump-winding-open\"]",
    to: "faults = [\"pump-winding-opne\"]",
};
const SUM: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "cause = [",
    from: "winding-broken = 0.97",
    to: "winding-broken = 0.90",
};
const UNGATED: Spoilt = Spoilt {
    file: PUMP_FAULTS,
    after: "id = \"pump-winding-open\"",
    from: OPENS_FUEL,
    to: "gates = [\"outdoors\", \"bike-steady\"]",
};
const SOURCELESS: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "id = \"pump-winding-resistance\"",
    from: "source = \"open or short only, leads subtracted: common practice, no source\"",
    to: "source = \"\"",
};
const DUPLICATE: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "id = \"pump-winding-resistance\"",
    from: "id = \"winding-short\"",
    to: "id = \"jumper-pump-runs\"",
};

const UNCAUTIONED: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "id = \"pump-on-jumper\"",
    from: "cautions = [\"fused-lead\", \"undo-test\"]",
    to: "cautions = [\"undo-test\"]",
};
const SAYS_CHARGER: Spoilt = Spoilt {
    file: "observations/supply.toml",
    after: "id = \"battery-after-charge\"",
    from: "gates = [\"outdoors\", \"no-flames\", \"bike-steady\", \"battery-fuel-apart\", \"fuel-closed\", \"protection\", \"battery-work\", \"charging\", \"cranking\"]",
    to: "gates = [\"outdoors\", \"no-flames\", \"bike-steady\", \"battery-fuel-apart\", \"fuel-closed\", \"protection\", \"battery-work\", \"cranking\"]",
};
const SAYS_TWELVE_VOLTS: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "id = \"pump-on-jumper\"",
    from: "\"fuel-closed\", \"feed-twelve-volts\"]",
    to: "\"fuel-closed\"]",
};
const SAYS_PLUG_OUT: Spoilt = Spoilt {
    file: "observations/other.toml",
    after: "id = \"compression-test\"",
    from: "\"cranking\", \"spark-check\"]",
    to: "\"cranking\"]",
};
const SYMPTOM_SYSTEM: Spoilt = Spoilt {
    file: "symptoms.toml",
    after: "id = \"only-runs-on-prime\"",
    from: "systems = [\"gravity-vacuum\"]",
    to: "systems = [\"gravity-vacum\"]",
};
const PHRASE: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "id = \"clear-hose-bubbles\"",
    from: "\"air bubbles\"",
    to: "\"<no such class> bubbles\"",
};

const UNNAMED_THING: Spoilt = Spoilt {
    file: PUMP_CHECKS,
    after: "id = \"pump-winding-resistance\"",
    from: "of = [\"fuel-pump\"]",
    to: "of = [\"pump winding\"]",
};

const WORDS_WITHOUT_LINE: Spoilt = Spoilt {
    file: "hazards.toml",
    after: "id = \"fuel-on-person\"",
    from: "about = [",
    to: "about = [\"\", \"\", ",
};

#[rstest]
#[case::words_without_line(WORDS_WITHOUT_LINE, "`about` has 6 entries for the 4 lines of `now`.")]
#[case::unnamed_thing(UNNAMED_THING, "No phrase names the thing \"pump winding\"")]
#[case::uncautioned(
    UNCAUTIONED,
    "\"pump-on-jumper\" stands behind the gate \"feed-twelve-volts\" without a caution"
)]
#[case::says_charger(SAYS_CHARGER, "\"battery-after-charge\" needs the gate \"charging\"")]
#[case::says_twelve_volts(
    SAYS_TWELVE_VOLTS,
    "\"pump-on-jumper\" needs the gate \"feed-twelve-volts\""
)]
#[case::says_plug_out(SAYS_PLUG_OUT, "\"compression-test\" needs the gate \"spark-check\"")]
#[case::symptom_system(SYMPTOM_SYSTEM, "There is no system called \"gravity-vacum\".")]
#[case::phrase(PHRASE, "`<no such class> bubbles`")]
#[case::unknown_id(UNKNOWN_ID, "There is no fault called \"pump-winding-opne\".")]
#[case::sum(
    SUM,
    "The chances of \"pump-winding-resistance\" sum to 0.9300 here, not to 1."
)]
#[case::ungated(UNGATED, "\"pump-winding-open\" needs the gate \"fuel-open\"")]
#[case::sourceless(
    SOURCELESS,
    "\"pump-winding-resistance\" does not say where it comes from."
)]
#[case::duplicate(
    DUPLICATE,
    "The outcome id \"jumper-pump-runs\" is claimed more than once"
)]
fn a_spoilt_line_is_found(#[case] spoilt: Spoilt, #[case] what: &str) {
    let (folder, line) = spoilt.folder();
    let verdict = Knowledge::compile(load::folder(folder.path()).unwrap()).unwrap_err();
    let text = fs::read_to_string(folder.path().join(spoilt.file)).unwrap();
    let places: Vec<(&str, usize)> = verdict
        .problems
        .iter()
        .filter(|problem| problem.what.starts_with(what))
        .map(|problem| (problem.file.as_str(), problem.line(&text)))
        .collect();
    assert!(
        places.contains(&(spoilt.file, line)),
        "{line}: {places:?}\n{verdict}"
    );
    refused(folder.path(), &spoilt, (line, what));
}

/// The program says the same and exits with 2.
fn refused(folder: &Path, spoilt: &Spoilt, (line, what): (usize, &str)) {
    let output = assert_cmd::Command::cargo_bin("floatbowl")
        .unwrap()
        .arg("--knowledge")
        .arg(folder)
        .args(["knowledge", "check"])
        .assert()
        .code(2)
        .get_output()
        .stdout
        .clone();
    let output = String::from_utf8(output).unwrap();
    assert!(output.contains(what), "{output}");
    let place = format!("{}:{line}:", spoilt.file);
    assert!(output.contains(&place), "no {place} in {output}");
}

/// The plan holds what is open in 128 bits.
#[test]
fn more_openings_than_the_plan_can_hold_are_refused() {
    let mut sources = load::embedded();
    let many = (0..128).map(|at| {
        format!("[[opening]]\nid = \"lid-{at}\"\nname = \"lid off\"\nopen_minutes = 1\nclose_minutes = 1\nhow = \"Off.\"\nrefit = \"On.\"\nsource = \"invented\"\n")
    });
    sources.push(Source {
        path: "zz.toml".to_owned(),
        text: many.collect(),
    });
    let verdict = Knowledge::compile(sources).unwrap_err();
    let known = Knowledge::embedded().openings.len();
    assert_eq!(verdict.problems.len(), known, "{verdict}");
    assert!(
        verdict
            .problems
            .iter()
            .all(|problem| problem.what.contains("than the 128")),
        "{verdict}"
    );
}

/// An invented fault; its twin, under another name, shows the same everywhere.
const TWIN: &str = r#"
[[fault]]
id = "hose-mislaid"
part = "fuel-hose"
name = "a hose is mislaid"
prior = "rare"
shows = { cranks-no-start = "often" }
[fault.repair]
what = "Find it."
steps = ["Look for it."]
minutes = 1
parts_cost = 0
openings = []
success = 0.9
gates = ["bike-steady"]
source = "invented"
"#;

/// An invented check with a result that nothing brings about, said as another result is.
const IDLE: &str = r#"
[[observation]]
id = "ask-the-owl"
name = "Ask the owl"
kind = "choice"
systems = ["pump-carb"]
ask = "What does the owl say?"
why = "It sees at night."
minutes = 1
source = "invented"
outcome = [
  { id = "owl-hoots", words = "it hoots", means = "All is well.", normal = 0.9, said = ["owl hoots"] },
  { id = "owl-winks", words = "it winks", means = "Something is up.", normal = 0.1 },
  { id = "owl-sings", words = "it sings", means = "Never heard.", normal = 0.0, said = ["owl hoots"] },
]
cause = [{ faults = ["horn-owl"], outcomes = { owl-winks = 1.0 } }]
"#;

#[rstest]
#[case::twins(
    &[TWIN, &TWIN.replace("mislaid", "astray")].concat(), "no observation tells \"hose-mislaid\" from \"hose-astray\".")]
#[case::idle(&IDLE.replace("horn-owl", "pump-worn"), "nothing can bring about the outcome \"owl-sings\".")]
#[case::said_twice(&IDLE.replace("horn-owl", "pump-worn").replace("0.0, said", "0.05, said").replace("0.1 }", "0.05 }"), "`owl hoots` already stands for")]
fn what_an_added_file_spoils_is_found(#[case] added: &str, #[case] what: &str) {
    let mut sources = load::embedded();
    sources.push(Source {
        path: "zz.toml".to_owned(),
        text: added.to_owned(),
    });
    let verdict = Knowledge::compile(sources).unwrap_err();
    let mut problems = verdict.problems.iter();
    assert!(
        problems.any(|problem| problem.what.contains(what) && problem.file == "zz.toml"),
        "{verdict}"
    );
}

#[test]
fn files_that_do_not_read_are_named_and_nothing_that_refers_to_them() {
    let mut sources = load::embedded();
    let spoilt = ["gates.toml", "kit.toml"];
    for source in &mut sources {
        if spoilt.contains(&source.path.as_str()) {
            source.text.push_str("\nsurplus = 1\n");
        }
    }
    let verdict = Knowledge::compile(sources).unwrap_err();
    let files: Vec<&str> = verdict
        .problems
        .iter()
        .map(|problem| problem.file.as_str())
        .collect();
    assert_eq!(files, spoilt, "{verdict}");
}

#[test]
fn the_knowledge_itself_is_accepted() {
    assert_cmd::Command::cargo_bin("floatbowl")
        .unwrap()
        .arg("--knowledge")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge"))
        .args(["knowledge", "check"])
        .assert()
        .code(0);
}

impl Spoilt {
    /// A copy of the knowledge with the line spoilt, and the line's number, counted from 1.
    fn folder(&self) -> (TempDir, usize) {
        let folder = tempfile::tempdir().unwrap();
        copy(
            &Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge"),
            folder.path(),
        );
        let path = folder.path().join(self.file);
        let text = fs::read_to_string(&path).unwrap();
        let start = text.find(self.after).unwrap();
        let at = start + text[start..].find(self.from).unwrap();
        let spoilt = format!(
            "{}{}{}",
            &text[..at],
            self.to,
            &text[at + self.from.len()..]
        );
        fs::write(&path, spoilt).unwrap();
        (folder, 1 + text[..at].matches('\n').count())
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, &target).unwrap();
        }
    }
}
