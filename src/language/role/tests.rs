//! What each number of a message is there for, alone.

use super::{Bound, Candidate, Elapsed, candidates};
use crate::language::testing::read;

fn shown(candidate: &Candidate) -> &'static str {
    match candidate {
        Candidate { range: true, .. } => "range",
        Candidate { spec: true, .. } => "spec",
        Candidate { replaced: true, .. } => "replaced",
        Candidate { excluded: true, .. } => "other",
        Candidate { elapsed, .. } if *elapsed == Some(Elapsed::Wait) => "wait",
        Candidate { bound, .. } if *bound == Some(Bound::Above) => "at most",
        Candidate { bound, .. } if *bound == Some(Bound::Below) => "at least",
        _ => "plain",
    }
}

fn roles(text: &str) -> Vec<&'static str> {
    read(text, |text, hits, scopes| {
        candidates(text, hits, scopes).iter().map(shown).collect()
    })
}

#[test]
fn numbers_are_there_for_what_they_say() {
    let cases: [(&str, &[&str]); 31] = [
        ("12.4 V", &["plain"]),
        ("on the 20 V range it reads 6.31", &["range", "plain"]),
        ("the manual says 2 to 4 ohms, I got 3.1", &["spec", "plain"]),
        ("it should be 12.5 but is 11.2", &["spec", "plain"]),
        ("under 1 ohm", &["at most"]),
        ("never more than 9 volts", &["at most"]),
        ("over 14 V when revving", &["at least"]),
        ("12.4, not 14", &["plain", "replaced"]),
        ("waited 10 minutes, then 11.9 V", &["wait", "plain"]),
        ("the 10 A fuse", &["other"]),
        (
            "a 649 cc twin, 2013, 8400 miles",
            &["other", "plain", "other"],
        ),
        ("call me on 555 0147", &["other", "other"]),
        ("black to white 2.1 ohm - got 3.1 ohm", &["spec", "plain"]),
        ("source 210-300 / 268", &["spec", "plain"]),
        ("won't go past 25 psi", &["at most"]),
        ("goes past 15 volts", &["at least"]),
        ("does it really draw 4 amps?", &["other"]),
        ("11.2 volts before I binned it", &["other"]),
        ("66/64/65 at idle", &["plain", "plain", "plain"]),
        ("2 1/2 turns out", &["other"]),
        ("paid 60 dollars", &["other"]),
        ("1 and 2 = 0.5", &["other", "other", "plain"]),
        ("85 to 86 gives 88 ohms", &["other", "plain"]),
        ("11 to 12 and falling", &["plain"]),
        ("injector 2 gives 11.8 ohm", &["other", "plain"]),
        (
            "30 has 12.5 V, 87 has 0",
            &["other", "plain", "other", "plain"],
        ),
        ("red in the 10A hole", &["range"]),
        ("it has 20V and 200V settings", &["range", "range"]),
        ("the spare is a 20A", &["other"]),
        ("12V 30A on the lid", &["other", "other"]),
        ("came back ten minutes later", &["other"]),
    ];
    for (text, expected) in cases {
        assert_eq!(roles(text), expected, "{text}");
    }
}
