//! Repairs that may not have held, against Bayes' rule by hand.

use crate::exported::model;
use crate::policy::hard;
use floatbowl::diagnosis::doubt::doubting_repairs;
use floatbowl::diagnosis::{Belief, Finding};
use floatbowl::knowledge::model::{FaultIx, Model};

const FUSE: FaultIx = FaultIx(1);
const RELAY: FaultIx = FaultIx(2);

/// Battery, fuse, relay, pump and filter, of which all but the fuse and the relay are ruled out
/// beforehand, and those two exclude each other; the fuse's repair holds nine times in ten.
fn fuse_or_relay() -> Model {
    let mut model = model(include_str!("../models/pump-circuit.json"));
    for fault in [0, 3, 4] {
        model.faults[fault].prior = 1e-12;
    }
    model.faults[1].excludes = vec![RELAY];
    model.faults[1].repair.success = 0.9;
    model.healthy_factor = 1e-12;
    model
}

fn seen(model: &Model, observation: &str, outcome: usize) -> Finding {
    let at = model.observation(observation).expect("in the model");
    hard(model, at, outcome)
}

fn present(model: &Model, findings: &[Finding]) -> [f64; 2] {
    let (model, findings) = doubting_repairs(model, findings);
    let belief = Belief::given(&model, &findings);
    [FUSE, RELAY].map(|fault| belief.present_now(fault))
}

/// No hum, the fuse broken; the fuse is replaced, and still no hum. With the odds of the priors,
/// 6/94 and 4/96, and the chances of the model:
/// fuse, and the repair failed: 6/94 x 0.97 x 0.97 x 0.1 x 0.97
/// fuse, and the repair held:   6/94 x 0.97 x 0.97 x 0.9 x 0.02
/// relay:                       4/96 x 0.95 x 0.01 x 0.95
#[test]
fn a_failed_repair_is_weighed_against_another_fault() {
    let model = fuse_or_relay();
    let findings = [
        seen(&model, "no-hum", 0),
        seen(&model, "fuse-check", 0),
        Finding::Repaired(FUSE),
        seen(&model, "no-hum", 0),
    ];
    let failed = 6.0 / 94.0 * 0.97 * 0.97 * 0.1 * 0.97;
    let held = 6.0 / 94.0 * 0.97 * 0.97 * 0.9 * 0.02;
    let relay = 4.0 / 96.0 * 0.95 * 0.01 * 0.95;
    let total = failed + held + relay;
    let [fuse_now, relay_now] = present(&model, &findings);
    assert!((fuse_now - failed / total).abs() < 1e-9, "{fuse_now}");
    assert!((relay_now - relay / total).abs() < 1e-9, "{relay_now}");
}

/// A second attempt that fails too leaves a hundredth of the odds, a tenth at each.
#[test]
fn a_second_attempt_is_weighed_too() {
    let model = fuse_or_relay();
    let findings = [
        seen(&model, "no-hum", 0),
        Finding::Repaired(FUSE),
        Finding::Repaired(FUSE),
        seen(&model, "no-hum", 0),
    ];
    let failed = 6.0 / 94.0 * 0.97 * 0.01 * 0.97;
    let held = 6.0 / 94.0 * 0.97 * 0.99 * 0.02;
    let relay = 4.0 / 96.0 * 0.95 * 0.95;
    let [fuse_now, relay_now] = present(&model, &findings);
    let total = failed + held + relay;
    assert!((fuse_now - failed / total).abs() < 1e-9, "{fuse_now}");
    assert!((relay_now - relay / total).abs() < 1e-9, "{relay_now}");
}

/// Doubt changes nothing in what is believed of the time before any repair.
#[test]
fn without_a_repair_nothing_is_doubted() {
    let model = fuse_or_relay();
    let findings = [seen(&model, "no-hum", 0)];
    let (doubted, same) = doubting_repairs(&model, &findings);
    assert_eq!((&*doubted, &same[..]), (&model, &findings[..]));
}
