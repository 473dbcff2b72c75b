//! The belief and the prices of a model of three faults, worked out by hand.

use crate::exported::model;
use floatbowl::diagnosis::cost::{Openings, Prices};
use floatbowl::diagnosis::report::{Evidence, Report};
use floatbowl::diagnosis::{Belief, Terms};
use floatbowl::knowledge::model::{FaultIx, Model};

fn three_faults() -> Model {
    model(include_str!("../models/three-faults.json"))
}

fn believe(evidence: &str) -> Belief {
    let model = three_faults();
    let evidence = Evidence::parse(evidence).expect("it is JSON");
    Belief::given(
        &model,
        &evidence.findings(&model).expect("it fits the model"),
    )
}

fn close(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < 1e-12,
        "found {found}, expected {expected}"
    );
}

fn at_start(belief: &Belief) -> [f64; 3] {
    [0, 1, 2].map(|fault| belief.present_at_start(FaultIx(fault)))
}

/// Bayes' rule. Odds of a, b, c: 1/9, 1/4, 1; a and b exclude each other; the empty set counts half.
/// Weights: none 1/2, a 1/9, b 1/4, c 1, ac 1/9, bc 1/4, sum 20/9; as probabilities
/// none 9/40, a 1/20, b 9/80, c 9/20, ac 1/20, bc 9/80.
#[test]
fn prior() {
    let belief = believe(r#"{"evidence":[]}"#);
    let found = at_start(&belief);
    for (found, expected) in found.into_iter().zip([4.0 / 40.0, 9.0 / 40.0, 49.0 / 80.0]) {
        close(found, expected);
    }
    close(belief.log_evidence(), 0.0);
    close(belief.healthy_now(), 9.0 / 40.0);
}

/// Silence has probability 0.1 under none and b, 0.9 under a and ac (a is listed first), 0.6 under
/// c and bc: 0.0225 + 0.045 + 0.01125 + 0.27 + 0.045 + 0.0675 = 0.46125 in all, of which a has
/// 0.09 (8/41), b 0.07875 (7/41), c 0.3825 (34/41).
#[test]
fn one_result() {
    let belief = believe(r#"{"evidence":[{"observation":"hum","outcome":"hum-none"}]}"#);
    for (found, expected) in
        at_start(&belief)
            .into_iter()
            .zip([8.0 / 41.0, 7.0 / 41.0, 34.0 / 41.0])
    {
        close(found, expected);
    }
    close(belief.log_evidence(), 0.46125_f64.ln());
}

/// Then a is repaired and silence is reported again, half to be believed: 0.1 without c, and
/// 0.5 x 0.6 + 0.5 x 0.1 = 0.35 with c. Times the weights above: none 0.00225, a 0.0045, b 0.001125,
/// c 0.0945, ac 0.01575, bc 0.023625, sum 0.14175; a 1/7, b 11/63, c 17/18. Nothing is wrong now
/// under none and a: 0.00675 / 0.14175 = 1/21.
#[test]
fn a_repair_and_a_weak_result_after_it() {
    let belief = believe(
        r#"{"evidence":[{"observation":"hum","outcome":"hum-none"},{"repaired":"fuse-blown"},
            {"observation":"hum","weights":{"hum-none":1},"strength":0.5}]}"#,
    );
    for (found, expected) in
        at_start(&belief)
            .into_iter()
            .zip([1.0 / 7.0, 11.0 / 63.0, 17.0 / 18.0])
    {
        close(found, expected);
    }
    close(belief.present_now(FaultIx(0)), 0.0);
    close(belief.present_now(FaultIx(2)), 17.0 / 18.0);
    close(belief.healthy_now(), 1.0 / 21.0);
    close(belief.log_evidence(), 0.14175_f64.ln());
}

/// Lifting the tank takes the seat off first: 2 + 3 + 10 + 15 minutes, or 10 + 15 with the seat off.
/// With 30 minutes of work, 8 units of 10 minutes, two messages of 7 minutes and 4 of proof.
#[test]
fn prices() {
    let model = three_faults();
    let terms = Terms {
        round_trip_minutes: 7.0,
        proof_minutes: 4.0,
        ..Terms::default()
    };
    let prices = Prices::of(&model, terms);
    let seat = Openings::with_parents(&model, &[0.into()]);
    close(
        prices.repairing(FaultIx(1), Openings::default()),
        30.0 + 30.0 + 80.0 + 7.0 + 7.0 + 4.0,
    );
    close(
        prices.repairing(FaultIx(1), seat),
        30.0 + 25.0 + 80.0 + 7.0 + 7.0 + 4.0,
    );
    close(prices.observing(&[0.into()], seat), 1.0 + 7.0);
}

#[test]
fn unusable_evidence_says_what_would_be_usable() {
    let model = three_faults();
    for (line, expected) in [
        (
            r#"{"evidence":[{"observation":"hun","outcome":"hum-none"}]}"#,
            "evidence 1: this system has no observation `hun`; did you mean `hum`?",
        ),
        (
            r#"{"evidence":[{"observation":"hum","outcome":"none"}]}"#,
            "evidence 1: `hum` has no outcome `none`; it has hum-heard, hum-none",
        ),
        (
            r#"{"evidence":[{"repaired":"fuse-blown"},{"repaired":"fuse"}]}"#,
            "evidence 2: this system has no fault `fuse`; did you mean `fuse-blown`?",
        ),
        (
            r#"{"evidence":[{"observation":"hum"}]}"#,
            "evidence 1 is neither or both: give \"observation\" with \"outcome\" or \"weights\", or \"repaired\" alone",
        ),
        (
            r#"{"evidence":[{"observation":"hum","weights":{"hum-none":-1}}]}"#,
            "evidence 1: weights must be 0 or more, and one of them above 0",
        ),
        (
            r#"{"evidence":[{"observation":"hum","outcome":"hum-none","strength":2}]}"#,
            "evidence 1: strength must lie between 0 and 1",
        ),
    ] {
        let error = Evidence::parse(line)
            .and_then(|evidence| evidence.findings(&model))
            .expect_err("unusable");
        assert_eq!(error.to_string(), expected);
    }
}

/// The report has the belief by id, and weighs every step.
#[test]
fn report() {
    let model = three_faults();
    let line = r#"{"evidence":[{"observation":"hum","outcome":"hum-none"}]}"#;
    let findings = Evidence::parse(line)
        .and_then(|evidence| evidence.findings(&model))
        .expect("usable");
    let json = serde_json::to_value(Report::of(&model, &findings, Terms::default()))
        .expect("plain figures");
    close(
        json["faults"]["fuse-blown"].as_f64().expect("a number"),
        8.0 / 41.0,
    );
    close(
        json["present"]["filter-clogged"]
            .as_f64()
            .expect("a number"),
        34.0 / 41.0,
    );
    close(
        json["log_evidence"].as_f64().expect("a number"),
        0.46125_f64.ln(),
    );
    let steps: Vec<_> = json["next"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|next| next["step"].clone())
        .collect();
    assert_eq!(
        steps.len(),
        4,
        "three repairs, handing over, and no observation is left: {steps:?}"
    );
}
