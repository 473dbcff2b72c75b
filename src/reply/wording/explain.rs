//! Reasons, in words with honest rounding.

use super::number::{chance, held, list, minutes};
use crate::knowledge::Knowledge;
use crate::knowledge::id::GateId;
use crate::reply::ending::HandOver;

/// What the fault that stands for everything unknown is called.
pub const OUTSIDE: &str = "something I know nothing about";

/// Why a question that needs no hands is asked.
pub const WHY_ASK: &str = "It costs you nothing to answer, and the answer splits the suspects.";

/// Why a question of the intake or profile is asked.
pub const WHY_TELL: &str =
    "What you know already saves work: I do not ask again for anything you have told me.";

/// Why the surroundings are asked for.
pub const WHY_SURROUNDINGS: &str = "Petrol vapour is heavier than air, runs along the ground and catches from a pilot light or a switch metres away. So the place comes first, every time.";

/// Why a danger must be over first.
pub const WHY_SAFE: &str = "While this danger stands, nothing on the bike is worth doing.";

/// Why a repair is proven.
pub const WHY_PROVE: &str =
    "A new part proves nothing. Only the check that failed, passing now, and the engine itself do.";

/// Why the refit list is walked.
pub const WHY_REFIT: &str = "The last job's leftovers are a common cause of the next breakdown.";

/// What a result would mean.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// The result as a rider would say it.
    pub words: String,
    /// What it means.
    pub means: String,
    /// How probable it is.
    pub probability: f64,
    /// The faults it would leave on top.
    pub leaves: Vec<String>,
}

/// Why a check is asked for, and what each result would mean.
#[must_use]
pub fn why_observe(why: &str, outcomes: &[WhatIf]) -> Vec<String> {
    let mut lines = vec![why.to_owned()];
    lines.extend(outcomes.iter().map(|outcome| {
        let leaves = match outcome.leaves.as_slice() {
            [] => String::new(),
            leaves => format!(" Then first: {}.", list(leaves)),
        };
        format!(
            "If \"{}\" ({}): {}{leaves}",
            outcome.words,
            chance(outcome.probability),
            outcome.means
        )
    }));
    lines
}

/// Why a repair is proposed.
#[must_use]
pub fn why_repair(name: &str, probability: f64, evidence: &[String]) -> Vec<String> {
    let mut lines = vec![format!(
        "{} Another test would cost more minutes than it saves.",
        held(name, probability)
    )];
    if !evidence.is_empty() {
        lines.push(format!("What points there: {}.", list(evidence)));
    }
    lines
}

/// Why conditions are asked for.
#[must_use]
pub fn why_gates(knowledge: &Knowledge, gates: &[GateId]) -> Vec<String> {
    let gates = gates.iter().filter_map(|gate| knowledge.gate(gate));
    gates
        .map(|gate| {
            format!(
                "{} Where not: {} (Rule from: {}.)",
                gate.holds,
                gate.otherwise,
                gate.source.trim_end_matches('.')
            )
        })
        .collect()
}

/// Why a person takes over.
#[must_use]
pub fn why_hand_over(knowledge: &Knowledge, reason: &HandOver) -> String {
    match reason {
        HandOver::Asked => "A person should take it from here. Show this to a helper of your group or to a licensed shop.".to_owned(),
        HandOver::ShopOnly(fault) => {
            let name = knowledge.faults.get(fault).map_or(fault.as_str(), |fault| &fault.name);
            format!("The likeliest cause is one to leave to a licensed shop: {name}. Take it to a licensed shop.")
        }
        HandOver::NotWorth => "Take it to a licensed shop: what is left to try at home would cost you more time and parts than it is likely to save.".to_owned(),
        HandOver::Unexplained => "What you found does not fit any fault I know. Take it to a licensed shop rather than buy parts on a guess.".to_owned(),
        HandOver::Hazard(_) => "With what you reported, this is work for a licensed shop. Do not ride it there.".to_owned(),
        HandOver::UnknownSystem => "I cannot say what is safe to open without knowing the fuel system. Ask a helper of your group to look at it, or take it to a licensed shop.".to_owned(),
    }
}

/// The findings so far.
#[must_use]
pub fn known(findings: &[String]) -> String {
    if findings.is_empty() {
        "So far I know nothing about the bike.".to_owned()
    } else {
        format!("What we have so far: {}.", findings.join("; "))
    }
}

/// The suspects, likeliest first.
#[must_use]
pub fn suspects(named: &[(String, f64)]) -> String {
    if named.is_empty() {
        return "No suspect stands out yet.".to_owned();
    }
    let named: Vec<String> = named
        .iter()
        .map(|(name, probability)| format!("{name} ({})", chance(*probability)))
        .collect();
    format!("Suspects: {}.", list(&named))
}

/// Faults the evidence speaks against, each with the result that did most.
#[must_use]
pub fn ruled_out(named: &[(String, String)]) -> String {
    let named: Vec<String> = named
        .iter()
        .map(|(fault, by)| format!("{fault} (\"{by}\")"))
        .collect();
    format!("As good as ruled out: {}.", list(&named))
}

/// What a thing the rider lacks would save.
#[must_use]
pub fn kit_saves(name: &str, saved: f64) -> String {
    format!("With {name} this would take {} less.", minutes(saved))
}

/// Checks that pay while the next step has something open.
#[must_use]
pub fn while_open(names: &[String]) -> String {
    format!(
        "The next step takes some work to get at. While it is open, this pays too, and I shall ask for it then: {}.",
        list(names)
    )
}

/// A repair in the list of findings.
#[must_use]
pub fn put_right(name: &str) -> String {
    format!("put right: {name}")
}

/// Where a part sits and what it looks like.
#[must_use]
pub fn part(name: &str, place: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(char::to_uppercase);
    let name: String = first.into_iter().flatten().chain(letters).collect();
    format!("{name}: {place}")
}
