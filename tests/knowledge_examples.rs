//! Every example written beside the knowledge is a test of its own, named as it is named there.

use floatbowl::diagnosis::belief::Belief;
use floatbowl::diagnosis::finding::Finding;
use floatbowl::knowledge::classifier::LEARNED;
use floatbowl::knowledge::id::OutcomeId;
use floatbowl::knowledge::library::PHRASES;
use floatbowl::knowledge::model::{Model, ObservationIx};
use floatbowl::knowledge::schema::Example;
use floatbowl::knowledge::{Knowledge, load};
use libtest_mimic::{Arguments, Failed, Trial};
use toml::{Table, Value};

/// A fault counts as cleared below this probability.
const CLEARED: f64 = 1.0 / 50.0;

fn main() {
    let knowledge = Knowledge::embedded();
    assert!(!knowledge.examples.is_empty(), "no example to test");
    let trials = knowledge.examples.iter().map(|example| {
        let model = knowledge.model(&example.system).cloned();
        let (name, example) = (
            format!("{}: {}", example.system, example.name),
            example.clone(),
        );
        Trial::test(name, move || {
            holds(&model.ok_or("no such system")?, &example)
        })
    });
    let files = load::embedded().into_iter();
    // Phrase files have tables of the same names, in which only what is said stands.
    let table = |path: &str| !path.starts_with(PHRASES) && !path.starts_with(LEARNED);
    let files = files.filter(|source| table(&source.path));
    let both = files.filter_map(|source| {
        let file: Table = toml::from_str(&source.text).expect("a test elsewhere reads it");
        let path = source.path;
        speaks_of_faults(&file)
            .then(|| Trial::test(format!("both ways: {path}"), move || both_ways(&file)))
    });
    let trials = trials.chain(both).collect();
    libtest_mimic::run(&Arguments::from_args(), trials).exit();
}

/// Whether a file holds what evidence is about, and so what examples are about.
fn speaks_of_faults(file: &Table) -> bool {
    let sorts = ["fault", "observation", "symptom", "history"];
    sorts.iter().any(|sort| file.contains_key(*sort))
}

/// A file's own examples say what must come up and what must not.
fn both_ways(file: &Table) -> Result<(), Failed> {
    let examples = file.get("example").and_then(Value::as_array);
    for way in ["suspects", "cleared"] {
        let named = |example: &Value| example.get(way).is_some();
        if !examples.is_some_and(|examples| examples.iter().any(named)) {
            return Err(format!("no [[example]] with `{way}`").into());
        }
    }
    Ok(())
}

/// Whether the beliefs after the evidence are those the example asks for.
fn holds(model: &Model, example: &Example) -> Result<(), Failed> {
    let findings: Result<Vec<Finding>, Failed> = example
        .evidence
        .iter()
        .map(|outcome| finding(model, outcome))
        .collect();
    let belief = Belief::given(model, &findings?);
    let suspects = belief.suspects();
    let shown: Vec<String> = suspects
        .iter()
        .take(5)
        .map(|(fault, chance)| format!("{} {chance:.3}", model.faults[fault.at()].id))
        .collect();
    for wanted in &example.suspects {
        let fault = model
            .fault(wanted.as_str())
            .ok_or(format!("{wanted} is unknown to {}", model.system))?;
        if suspects
            .iter()
            .take(3)
            .all(|(suspect, _)| *suspect != fault)
        {
            let chance = belief.present_now(fault);
            return Err(format!("{wanted} ({chance:.4}) is not among {shown:?}").into());
        }
    }
    for cleared in &example.cleared {
        let fault = model
            .fault(cleared.as_str())
            .ok_or(format!("{cleared} is unknown to {}", model.system))?;
        let chance = belief.present_now(fault);
        if chance >= CLEARED {
            return Err(format!("{cleared} is still at {chance:.4}; suspects {shown:?}").into());
        }
    }
    Ok(())
}

/// An outcome seen for certain.
fn finding(model: &Model, outcome: &OutcomeId) -> Result<Finding, Failed> {
    for (at, observation) in model.observations.iter().enumerate() {
        let shows: Vec<f64> = observation
            .outcomes
            .iter()
            .map(|other| f64::from(other.id == *outcome))
            .collect();
        if shows.contains(&1.0) {
            return Ok(Finding::Seen {
                observation: ObservationIx::from(at),
                weights: shows,
                strength: 1.0,
            });
        }
    }
    Err(format!("{outcome} is no outcome of {}", model.system).into())
}
