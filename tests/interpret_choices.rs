//! Answers to a question on the table, words with two meanings, and what is told of the meter.

use floatbowl::knowledge::phrase::{OutcomePhrases, PhraseFile, Phrases};
use floatbowl::knowledge::schema::YesNo;
use floatbowl::language::interpretation::Expecting;
use floatbowl::language::{Context, interpret};
use floatbowl::quantity::Kind;

fn outcome(
    id: &str,
    answer: Option<YesNo>,
    (said, short): (&[&str], &[&str]),
    words: &str,
) -> OutcomePhrases {
    OutcomePhrases {
        path: "test.toml".into(),
        observation: "fuse-look".into(),
        outcome: id.into(),
        answer,
        short: short.iter().map(|&text| text.to_owned()).collect(),
        said: said.iter().map(|&text| text.to_owned()).collect(),
        words: words.into(),
    }
}

fn phrases() -> Phrases {
    let files: Vec<PhraseFile> = std::fs::read_dir("knowledge/phrases/en")
        .expect("the phrase folder")
        .map(|entry| entry.expect("a file").path())
        // Tables of findings name checks that are not among these two.
        .filter(|path| !path.display().to_string().contains("findings"))
        .map(|path| PhraseFile {
            text: std::fs::read_to_string(&path).expect("readable"),
            path: path.display().to_string(),
        })
        .collect();
    let outcomes = [
        outcome(
            "fuse-whole",
            Some(YesNo::Yes),
            (
                &["<fuse> .. fine|good|ok|intact"],
                &["unbroken|in one piece"],
            ),
            "the wire in it is whole",
        ),
        outcome(
            "fuse-broken",
            Some(YesNo::No),
            (&["<fuse> .. blown|burnt|melted"], &["gone|parted"]),
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
        ("parted", Some("fuse-broken")),
        ("it's gone!", Some("fuse-broken")),
        ("not parted", None),
        ("it was gone from the shelf at the shop", None),
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

/// Where two meanings of the same words matter, both are there to choose from, the default first.
#[test]
fn two_meanings() {
    let phrases = phrases();
    let meanings = |text: &str, kind: Kind| {
        let context = Context {
            expecting: Some(Expecting::Quantity(kind)),
            ..Context::default()
        };
        let found = interpret(text, &context, &phrases);
        if let Some(all) = found.ambiguous.first() {
            let default = found.readings.iter().find(|said| said.span == all.span);
            assert_eq!(default.map(|said| &said.what), all.what.first(), "{text}");
        }
        let all = found.ambiguous.into_iter().flat_map(|all| all.what);
        all.map(|reading| match reading.value {
            Some(value) => format!("{value:.3} {}", reading.said_unit),
            None => format!("{:?}", reading.special),
        })
        .collect::<Vec<_>>()
        .join(" or ")
    };
    // US and UK pints, quarts and gallons: NIST SP 811 (2008), B.8
    let cases = [
        ("a pint in 20 s", Kind::Flow, "0.473 US pt or 0.568 imp pt"),
        ("1 gallon", Kind::Volume, "3.785 US gal or 4.546 imp gal"),
        ("a US pint in 20 s", Kind::Flow, ""),
        ("an imperial pint in 20 s", Kind::Flow, ""),
        ("13,300", Kind::Resistance, "13300.000 ohm or 13.300 ohm"),
        ("1.234", Kind::Resistance, "1.234 ohm or 1234.000 ohm"),
        ("1", Kind::Resistance, "1.000 ohm or Some(Overload)"),
        ("1.0", Kind::Resistance, ""),
        ("12,650 V", Kind::Voltage, ""),
        ("3.4", Kind::Resistance, ""),
    ];
    for (text, kind, expected) in cases {
        assert_eq!(meanings(text, kind), expected, "{text}");
    }
}

/// How far the meter may be off is told apart from what it reads.
#[test]
fn accuracy_of_the_meter() {
    let phrases = phrases();
    let cases = [
        ("my meter is 0.5 % + 2", Some((0.5, 2.0)), 0),
        ("accuracy ±(0.8% + 3 digits)", Some((0.8, 3.0)), 0),
        (
            "The multimeter says 0.5% of reading plus 2 counts in its book",
            Some((0.5, 2.0)),
            0,
        ),
        ("accurate to 1 percent", Some((1.0, 0.0)), 0),
        ("1.2 ohm, meter is 1% + 5 dgt", Some((1.0, 5.0)), 1),
        ("battery is at 80 % and 12.4 V", None, 1),
        ("fuel is 95% and 2 gallons", None, 0),
    ];
    for (text, spec, readings) in cases {
        let found = interpret(text, &Context::default(), &phrases);
        let told = found
            .meter
            .map(|said| (said.what.gain_percent, said.what.digits));
        assert_eq!(told, spec, "{text}");
        assert_eq!(found.readings.len(), readings, "{text}");
    }
}
