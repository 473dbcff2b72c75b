//! Riders' messages with what they say: every feature's score, and the floor below which it fails.

use floatbowl::knowledge::phrase::{PhraseFile, Phrases};
use std::fs;

mod interpret {
    pub mod corpus;
    pub mod tally;
}
use interpret::{corpus, tally::Tally};

fn phrases() -> Phrases {
    let mut files: Vec<PhraseFile> = fs::read_dir("knowledge/phrases/en")
        .expect("the phrase folder")
        .map(|entry| entry.expect("a file").path())
        .map(|path| PhraseFile {
            text: fs::read_to_string(&path).expect("readable"),
            path: path.display().to_string(),
        })
        .collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    Phrases::compile(&files, &[]).unwrap_or_else(|problems| {
        let lines: Vec<String> = problems
            .iter()
            .map(|problem| format!("{}: {}", problem.file, problem.what))
            .collect();
        panic!("{}", lines.join("\n"))
    })
}

/// Scores every feature and prints the table; run with `--nocapture` to see it, and with
/// `MISSES=1` for every message that is read otherwise than labelled.
#[test]
fn every_feature_keeps_its_floor() {
    let phrases = phrases();
    let mut tally = Tally::default();
    let scores = corpus::score_all("tests/corpus", &phrases, &mut tally);
    assert!(!scores.is_empty(), "no corpus found");
    let mut low = Vec::new();
    for score in &scores {
        println!("{score}");
        if score.share() < score.floor {
            low.push(score.to_string());
        }
    }
    println!("{tally}");
    for (field, floor) in [("symptoms", 0.95), ("history", 0.95), ("hazards", 0.97)] {
        let count = tally.of(field);
        if count.f1() < floor {
            low.push(format!("{field} {count} (floor {floor})"));
        }
    }
    assert!(low.is_empty(), "below their floor:\n{}", low.join("\n"));
}
