//! Each stage of reading statements by itself: sentences, phrases, and how a phrase is meant.

use floatbowl::knowledge::phrase::{Meaning, PhraseFile, Phrases};
use floatbowl::language::matching::{Hit, Text};
use floatbowl::language::scope::{Place, Scopes};
use floatbowl::language::{normalise, number, quantity, sentence, token};
use std::fs;

/// The shipped words and cues, and these complaints beside them.
fn phrases(complaints: &str) -> Phrases {
    let shipped = |name: &str| PhraseFile {
        path: name.to_owned(),
        text: fs::read_to_string(format!("knowledge/phrases/en/{name}.toml")).expect("readable"),
    };
    let mut files: Vec<PhraseFile> = ["words", "doings", "cues", "units", "numbers"]
        .map(shipped)
        .into();
    files.push(PhraseFile {
        path: "here".to_owned(),
        text: complaints.to_owned(),
    });
    Phrases::compile(&files, &[]).expect("phrases that compile")
}

/// What `look` makes of the phrases found in a text.
fn read<T>(text: &str, phrases: &Phrases, look: impl Fn(&Text<'_>, &[Hit<'_>]) -> T) -> T {
    let tokens = token::tokens(&normalise::normalise(text), &phrases.words);
    let numbers = number::numbers(&tokens, &phrases.numbers);
    let quantities = quantity::quantities(&tokens, &numbers, phrases);
    let sentences = sentence::sentences(&tokens, &phrases.classes);
    let message = Text::new(&tokens, &quantities, &sentences, phrases);
    let hits = message.hits();
    look(&message, &hits)
}

fn is_complaint(hit: &Hit<'_>) -> bool {
    matches!(hit.phrase.meaning, Meaning::Symptom { .. })
}

#[test]
fn sentences_end_where_riders_end_them() {
    let cases = [
        ("It died. Now it cranks.", 2),
        ("It died.Now it cranks", 2),
        ("reads approx. 12 V at the post", 1),
        ("what now?? it leaks!", 2),
        ("it died; no spark", 2),
        ("no spark\nno fuel", 2),
        (
            "a line that is long enough to be broken by the width of a screen\nand goes on",
            1,
        ),
        ("12.6 at rest, 9.8 cranking", 1),
    ];
    let phrases = phrases("");
    for (text, wanted) in cases {
        let found = read(text, &phrases, |message, _| message.sentences.len());
        assert_eq!(found, wanted, "{text}");
    }
}

/// Pattern, text, and the words it stands on; nothing where it is not found.
const PATTERNS: &[(&str, &str, &str)] = &[
    ("pump clicks", "the pump just clicks", "pump clicks"),
    ("pump .. dead", "the pump on my bike is dead", "pump dead"),
    ("pump .. dead", "the pump works but the horn is dead", ""),
    ("pump .. dead", "pump one two three four five dead", ""),
    ("(stall|bog)~ now", "it stalled now", "stalled now"),
    ("wont go !", "it just won't go.", "won't go"),
    ("wont go !", "it won't go past sixty", ""),
    ("pump & spark", "no spark and the pump hums", "spark pump"),
    ("# for #more", "swapped a 10 for a 30", "10 for 30"),
    ("# for #more", "swapped a 30 for a 10", ""),
    ("# where #less", "a 30 where the 10 was", "30 where 10"),
    (
        "died after #min",
        "died after 10 minutes",
        "died after 10 minutes",
    ),
    ("died after #min", "died after 10 volts", ""),
    ("leaking", "it's leeking badly", "leeking"),
    ("slowly", "cranks slooowly", "slooowly"),
];

#[test]
fn patterns_match_what_they_say() {
    for (pattern, text, wanted) in PATTERNS {
        let complaint = format!("[[symptom]]\nid = \"here\"\nsaid = [\"{pattern}\"]");
        let phrases = phrases(&complaint);
        let found = read(text, &phrases, |message, hits| {
            let hit = hits.iter().find(|hit| is_complaint(hit));
            let words = |hit: &Hit<'_>| {
                let spans = hit.used.iter().map(|&at| message.tokens[at].span.clone());
                spans.map(|span| &text[span]).collect::<Vec<_>>().join(" ")
            };
            hit.map(words).unwrap_or_default()
        });
        assert_eq!(found, *wanted, "`{pattern}` in {text:?}");
    }
}

/// A text with the complaint "stalls" or "wont start" in it, and how it is meant.
const SENSES: &[(&str, &str)] = &[
    ("it stalls", ""),
    ("it never stalls", "not"),
    ("no stalls, no smoke", "not"),
    ("it is not that it never stalls", ""),
    ("no smoke but it stalls", ""),
    ("does it often stall?", "supposed"),
    ("should it stall when cold?", "supposed"),
    ("if it stalls I'll call", "conditional"),
    ("it could stall in traffic", "conditional"),
    ("my buddy's bike stalls", "foreign"),
    ("my old bike stalled, mine does not leak", "foreign"),
    ("my buddy's bike is fine but mine stalls", ""),
    ("my buddy had one. It stalled all the time.", "foreign"),
    ("it used to stall", "over"),
    ("it stalled last summer", "over"),
    ("it stalled. Fixed that.", "over"),
    ("it stalled. Fixed that, but it stalls again", ""),
    ("it doesn't stall anymore", "not over"),
    ("it won't start anymore", ""),
    ("I think it stalls", "hedged"),
    ("Anyone had theirs stall? Mine does.", ""),
];

#[test]
fn statements_are_meant_as_riders_mean_them() {
    let complaint = "[[symptom]]\nid = \"here\"\nsaid = [\"stall~\", \"wont start\"]";
    let phrases = phrases(complaint);
    for (text, wanted) in SENSES {
        let found = read(text, &phrases, |message, hits| {
            let scopes = Scopes::new(message, hits);
            let hit = hits
                .iter()
                .find(|hit| is_complaint(hit))
                .expect("the complaint");
            let sense = scopes.sense(Place::of(hit));
            let flags = [
                (sense.negated, "not"),
                (sense.supposed, "supposed"),
                (sense.conditional, "conditional"),
                (sense.foreign, "foreign"),
                (sense.over, "over"),
                (sense.strength < 1.0, "hedged"),
            ];
            let said = flags.iter().filter(|(so, _)| *so).map(|(_, name)| *name);
            said.collect::<Vec<_>>().join(" ")
        });
        assert_eq!(found, *wanted, "{text}");
    }
}
