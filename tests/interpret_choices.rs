//! Answers to a question on the table: by number, by words, by yes or no, and with doubt.

use floatbowl::knowledge::phrase::{OutcomePhrases, PhraseFile, Phrases};
use floatbowl::knowledge::schema::YesNo;
use floatbowl::language::interpretation::Expecting;
use floatbowl::language::{Context, interpret};

fn outcome(id: &str, answer: Option<YesNo>, said: &[&str], words: &str) -> OutcomePhrases {
    OutcomePhrases {
        path: "test.toml".into(),
        observation: "fuse-look".into(),
        outcome: id.into(),
        answer,
        said: said.iter().map(|&text| text.to_owned()).collect(),
        words: words.into(),
    }
}

fn phrases() -> Phrases {
    let files: Vec<PhraseFile> = std::fs::read_dir("knowledge/phrases/en")
        .expect("the phrase folder")
        .map(|entry| entry.expect("a file").path())
        .map(|path| PhraseFile {
            text: std::fs::read_to_string(&path).expect("readable"),
            path: path.display().to_string(),
        })
        .collect();
    let outcomes = [
        outcome(
            "fuse-whole",
            Some(YesNo::Yes),
            &["<fuse> .. fine|good|ok|intact"],
            "the wire in it is whole",
        ),
        outcome(
            "fuse-broken",
            Some(YesNo::No),
            &["<fuse> .. blown|burnt|melted"],
            "the wire in it is broken",
        ),
    ];
    Phrases::compile(&files, &outcomes).expect("the phrase files compile")
}

#[test]
fn picks() {
    let phrases = phrases();
    let context = Context {
        expecting: Some(Expecting::YesNo),
        offered: vec!["fuse-whole".into(), "fuse-broken".into()],
        system: None,
    };
    let cases = [
        ("2", Some("fuse-broken")),
        ("option 1", Some("fuse-whole")),
        ("the second one", Some("fuse-broken")),
        ("yes", Some("fuse-whole")),
        ("nope", Some("fuse-broken")),
        ("the fuse is blown", Some("fuse-broken")),
        ("I think the fuse is blown", Some("fuse-broken")),
        ("the fuse isn't blown", None),
        ("wire is broken", Some("fuse-broken")),
        ("no idea", None),
        ("what is a fuse?", None),
    ];
    for (text, expected) in cases {
        let picked = interpret(text, &context, &phrases).picked;
        assert_eq!(
            picked.as_ref().map(|said| said.what.as_str()),
            expected,
            "{text}"
        );
    }
}

#[test]
fn doubt_weakens() {
    let phrases = phrases();
    let strength = |text: &str| {
        let found = interpret(text, &Context::default(), &phrases);
        found.observations.first().map(|said| said.strength)
    };
    assert_eq!(strength("the fuse is blown"), Some(1.0));
    assert!(strength("I think the fuse is blown").is_some_and(|strength| strength < 1.0));
    assert_eq!(strength("the fuse is not blown"), None);
    assert_eq!(strength("my buddy's fuse is blown"), None);
}

#[test]
fn problems_are_all_reported_with_their_place() {
    let file = PhraseFile {
        path: "bad.toml".into(),
        text:
            "[[history]]\nid = \"stored\"\nsaid = [\"<nowhere> sat\", \"(sat\", \"stood still\"]\n\
               [[history]]\nid = \"age\"\nsaid = [\"stood still\"]\n"
                .into(),
    };
    let problems = Phrases::compile(std::slice::from_ref(&file), &[]).expect_err("three problems");
    let first: Vec<&str> = problems
        .iter()
        .filter_map(|problem| file.text.get(problem.span.clone()?))
        .collect();
    assert_eq!(first, ["\"(sat\"", "\"<nowhere> sat\""]);
    let file = PhraseFile {
        text: file.text.replace("\"<nowhere> sat\", \"(sat\", ", ""),
        ..file
    };
    let problems = Phrases::compile(&[file], &[]).expect_err("one phrase for two meanings");
    assert_eq!(problems.len(), 1, "{problems:?}");
}
