//! Riders' messages with what they say: every feature's score, and the floor below which it fails.

use floatbowl::knowledge::phrase::Phrases;
use floatbowl::knowledge::{Knowledge, load};
use std::path::Path;

mod interpret {
    pub mod buried;
    pub mod corpus;
    pub mod tally;
}
use interpret::corpus::{self, Part};
use interpret::{buried, tally::Tally};

/// What is shipped, the words of outcomes included.
fn phrases() -> Phrases {
    let sources = load::folder(Path::new("knowledge")).expect("the knowledge folder");
    Knowledge::compile(sources)
        .expect("sound knowledge")
        .phrases
}

/// Scores every feature and prints the table; run with `--nocapture` to see it, and with
/// `MISSES=1` for every message that is read otherwise than labelled.
#[test]
fn every_feature_keeps_its_floor() {
    let floors = Floors {
        symptoms: 0.96,
        history: 0.96,
        hazards: 0.965,
        recall: 0.995,
    };
    let low = below(Part::Learned, &floors);
    assert!(low.is_empty(), "below their floor:\n{}", low.join("\n"));
}

/// The same for messages that nothing was learned from and no phrase was written for.
#[test]
fn unseen_messages_keep_their_floor() {
    let floors = Floors {
        symptoms: 0.82,
        history: 0.82,
        hazards: 0.82,
        recall: 0.92,
    };
    let low = below(Part::Unseen, &floors);
    assert!(low.is_empty(), "below their floor:\n{}", low.join("\n"));
}

/// F1 of each kind of report over all files, and for dangers how many of them must be read: one that is
/// not read is worse than one that is not there.
struct Floors {
    symptoms: f64,
    history: f64,
    hazards: f64,
    recall: f64,
}

/// What of a part of the corpus is below its floor.
fn below(part: Part, floors: &Floors) -> Vec<String> {
    let mut tally = Tally::default();
    let scores = corpus::score_all("tests/corpus", part, &phrases(), &mut tally);
    assert!(!scores.is_empty(), "no corpus found");
    let mut low = Vec::new();
    for score in &scores {
        println!("{score}");
        if score.share() < score.floor {
            low.push(score.to_string());
        }
    }
    println!("{tally}");
    for (field, floor) in [
        ("symptoms", floors.symptoms),
        ("history", floors.history),
        ("hazards", floors.hazards),
    ] {
        let count = tally.of(field);
        if count.f1() < floor {
            low.push(format!("{field} {count} (floor {floor})"));
        }
    }
    let dangers = tally.of("hazards");
    if dangers.recall() < floors.recall {
        low.push(format!("hazards {dangers} (recall {})", floors.recall));
    }
    low
}

/// One cry in a long message counts for little among all its words, and must be heard all the same.
#[test]
fn a_danger_is_heard_in_a_long_story() {
    let (read, lost) = buried::count("tests/corpus", &phrases());
    println!("{lost} of {read} dangers are lost in a story");
    assert!(read > 4000, "only {read} dangers read");
    assert!(lost * 50 <= read, "{lost} of {read} are lost");
}

/// Past the words that are weighed nothing may be taken back that a phrase says.
#[test]
fn a_danger_is_heard_at_the_end_of_a_very_long_message() {
    let phrases = phrases();
    let told = "It was a long story about the weather and the people we met at the cafe. ";
    for danger in [
        "Petrol is pouring out of the tank onto the floor.",
        "My jacket is on fire.",
    ] {
        for times in [10, 60, 66, 67, 70, 200] {
            let text = told.repeat(times) + danger;
            let said = floatbowl::language::interpret(
                &text,
                &floatbowl::language::Context::default(),
                &phrases,
            );
            assert!(!said.hazards.is_empty(), "{danger} after {times} sentences");
        }
    }
}
