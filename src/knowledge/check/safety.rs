//! Checks that no step that can hurt stands without its gate.

use crate::knowledge::id::{CautionId, GateId};
use crate::knowledge::library::{Library, Spot};
use crate::knowledge::problem::Problem;
use crate::knowledge::schema::{Act, Gate};
use regex::Regex;

/// A step as far as safety goes.
struct Risk<'a> {
    file: usize,
    id: &'a str,
    acts: Vec<Act>,
    words: String,
    gates: &'a [GateId],
    cautions: &'a [CautionId],
}

/// Every step has the gates its acts and its words call for, and at least one caution with them.
pub(super) fn acts_have_their_gates(library: &Library) -> Vec<Problem> {
    let mut found = Vec::new();
    let gates: Vec<(&Gate, Vec<Regex>)> = library
        .gates
        .iter()
        .map(|gate| {
            let (patterns, bad) = patterns(library, gate.file, gate);
            found.extend(bad);
            (&gate.item, patterns)
        })
        .collect();
    for risk in risks(library) {
        let missing = gates.iter().filter(|(gate, patterns)| {
            let acts = gate.needed_by.iter().any(|act| risk.acts.contains(act));
            let says = patterns.iter().any(|pattern| pattern.is_match(&risk.words));
            (acts || says) && !risk.gates.contains(&gate.id)
        });
        found.extend(missing.map(|(gate, _)| ungated(library, &risk, gate)));
        let wordless = gates.iter().filter(|(gate, _)| {
            risk.gates.contains(&gate.id)
                && !gate.with_one_of.is_empty()
                && !gate.with_one_of.iter().any(|id| risk.cautions.contains(id))
        });
        found.extend(wordless.map(|(gate, _)| uncautioned(library, &risk, gate)));
        if risk.acts.iter().any(|act| *act != Act::HandsOn) && risk.cautions.is_empty() {
            found.push(library.problem(
                Spot {
                    file: risk.file,
                    item: risk.id,
                    needle: "",
                },
                format!(
                    "\"{}\" opens fuel or energises something without a caution.",
                    risk.id
                ),
                "Add the cautions that go with it.",
            ));
        }
    }
    found
}

/// No danger has words for more lines than it has.
pub(super) fn words_have_their_lines(library: &Library) -> Vec<Problem> {
    let hazards = library.hazards.iter();
    let longer = hazards.filter(|hazard| hazard.about.len() > hazard.now.len());
    longer
        .map(|hazard| {
            let spot = Spot {
                file: hazard.file,
                item: hazard.id.as_str(),
                needle: "about = ",
            };
            let (words, lines) = (hazard.about.len(), hazard.now.len());
            let what = format!("`about` has {words} entries for the {lines} lines of `now`.");
            library.problem(spot, what, "Give one entry a line, in the order of `now`.")
        })
        .collect()
}

fn patterns(library: &Library, file: usize, gate: &Gate) -> (Vec<Regex>, Vec<Problem>) {
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for mention in &gate.mentions {
        match Regex::new(mention) {
            Ok(pattern) => good.push(pattern),
            Err(_) => bad.push(library.problem(
                Spot {
                    file,
                    item: gate.id.as_str(),
                    needle: mention,
                },
                format!("\"{mention}\" is no regular expression."),
                "Write plain words, or escape the special characters.",
            )),
        }
    }
    (good, bad)
}

fn ungated(library: &Library, risk: &Risk<'_>, gate: &Gate) -> Problem {
    library.problem(
        Spot {
            file: risk.file,
            item: risk.id,
            needle: "gates",
        },
        format!(
            "\"{}\" needs the gate \"{}\" by what it does or says, and does not name it.",
            risk.id, gate.id
        ),
        "Add the gate, or take the act out of the instructions.",
    )
}

fn uncautioned(library: &Library, risk: &Risk<'_>, gate: &Gate) -> Problem {
    let cautions: Vec<&str> = gate.with_one_of.iter().map(CautionId::as_str).collect();
    library.problem(
        Spot {
            file: risk.file,
            item: risk.id,
            needle: "cautions",
        },
        format!(
            "\"{}\" stands behind the gate \"{}\" without a caution that belongs to it.",
            risk.id, gate.id
        ),
        &format!("Add one of {}.", cautions.join(", ")),
    )
}

fn risks(library: &Library) -> Vec<Risk<'_>> {
    let checks = library.observations.iter().map(|check| Risk {
        file: check.file,
        id: check.id.as_str(),
        acts: acts(!check.how.is_empty(), check.opens_fuel, check.energises),
        words: words(&check.how),
        gates: &check.gates,
        cautions: &check.cautions,
    });
    let repairs = library
        .faults
        .iter()
        .filter(|fault| !fault.repair.shop)
        .map(|fault| Risk {
            file: fault.file,
            id: fault.id.as_str(),
            acts: acts(true, fault.repair.opens_fuel, fault.repair.energises),
            words: words(&fault.repair.steps),
            gates: &fault.repair.gates,
            cautions: &fault.repair.cautions,
        });
    checks.chain(repairs).collect()
}

fn acts(hands_on: bool, opens_fuel: bool, energises: bool) -> Vec<Act> {
    let all = [
        (hands_on, Act::HandsOn),
        (opens_fuel && !energises, Act::OpensFuel),
        (energises && !opens_fuel, Act::Energises),
        (opens_fuel && energises, Act::Delivers),
    ];
    all.into_iter()
        .filter_map(|(does, act)| does.then_some(act))
        .collect()
}

fn words(steps: &[String]) -> String {
    steps.join("\n").to_lowercase()
}
