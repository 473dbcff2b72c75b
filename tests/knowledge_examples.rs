//! Every example written beside the knowledge is a test of its own, named as it is named there.

use floatbowl::diagnosis::belief::Belief;
use floatbowl::diagnosis::finding::Finding;
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::id::OutcomeId;
use floatbowl::knowledge::model::{Model, ObservationIx};
use floatbowl::knowledge::schema::Example;
use libtest_mimic::{Arguments, Failed, Trial};

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
    let trials = trials.collect();
    libtest_mimic::run(&Arguments::from_args(), trials).exit();
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
