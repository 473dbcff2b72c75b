//! Conflict, bundles, openings and the figures behind a decision, on models made for each.

use crate::exported::model;
use crate::policy::hard;
use floatbowl::diagnosis::conflict::{conflict_in, misfits};
use floatbowl::diagnosis::explain::{ruled_out, what_if, why};
use floatbowl::diagnosis::{Belief, Choice, Depth, Finding, Plan, Reason, Situation, Terms, plan};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx, OpeningIx};

/// Battery, fuse, relay, pump and filter, each with a check; current flows in that order.
fn pump_circuit() -> Model {
    model(include_str!("../models/pump-circuit.json"))
}

struct Bike {
    model: Model,
    findings: Vec<Finding>,
    open: Vec<OpeningIx>,
    terms: Terms,
}

impl Bike {
    fn with(seen: &[(&str, &str)]) -> Self {
        let model = pump_circuit();
        let finding = |(observation, outcome): &(&str, &str)| {
            let at = model.observation(observation).expect("in the model");
            let shown = model.observations[at.at()]
                .outcome(outcome)
                .expect("in the model");
            hard(&model, at, shown.at())
        };
        let findings = seen.iter().map(finding).collect();
        Self {
            model,
            findings,
            open: Vec::new(),
            terms: Terms::default(),
        }
    }

    fn look<T>(&self, see: impl Fn(&Situation) -> T) -> T {
        let belief = Belief::given(&self.model, &self.findings);
        let seen = |o: &ObservationIx| {
            self.findings
                .iter()
                .any(|f| matches!(f, Finding::Seen { observation, .. } if observation == o))
        };
        let all = (0..self.model.observations.len()).map(ObservationIx::from);
        let observations: Vec<ObservationIx> = all.filter(|o| !seen(o)).collect();
        let repairs: Vec<FaultIx> = belief.faults().collect();
        see(&Situation {
            model: &self.model,
            belief: &belief,
            open: &self.open,
            observations: &observations,
            repairs: &repairs,
            terms: self.terms,
            depth: Depth::TwoSteps,
        })
    }

    fn plan(&self) -> Plan {
        self.look(plan)
    }

    fn fault(&self, id: &str) -> FaultIx {
        self.model.fault(id).expect("in the model")
    }

    fn observation(&self, id: &str) -> ObservationIx {
        self.model.observation(id).expect("in the model")
    }
}

/// The battery was read as flat, yet the pump gets its voltage and the relay clicks: one reading
/// is wrong, and it is the battery's.
#[test]
fn the_reading_that_fits_the_others_badly_is_named() {
    let bike = Bike::with(&[
        ("no-hum", "no-hum-yes"),
        ("battery-voltage", "battery-low"),
        ("pump-voltage", "pump-voltage-present"),
        ("relay-click", "relay-clicks"),
    ]);
    bike.look(|situation| {
        let conflict =
            conflict_in(situation, &plan(situation).choice, |_| true).expect("there is one");
        assert_eq!(conflict.observation, bike.observation("battery-voltage"));
        assert!(conflict.bits >= 4.0, "{conflict:?}");
    });
}

/// Rare is not contradictory: a dead battery is improbable, but everything points to it.
#[test]
fn a_rare_but_consistent_case_is_no_conflict() {
    let bike = Bike::with(&[
        ("no-hum", "no-hum-yes"),
        ("battery-voltage", "battery-low"),
        ("pump-voltage", "pump-voltage-none"),
    ]);
    bike.look(|situation| {
        for (observation, bits) in misfits(situation.model, situation.belief) {
            assert!(bits < 3.0, "{observation:?} {bits}");
        }
        assert_eq!(
            conflict_in(situation, &plan(situation).choice, |_| true),
            None
        );
    });
}

/// Leave-one-out by its definition: folding all other results anew, with and without each outcome.
#[test]
fn misfits_follow_their_definition() {
    let bike = Bike::with(&[
        ("no-hum", "no-hum-yes"),
        ("fuse-check", "fuse-whole"),
        ("pump-voltage", "pump-voltage-none"),
    ]);
    let log = |findings: &[Finding]| Belief::given(&bike.model, findings).log_evidence();
    let found = misfits(&bike.model, &Belief::given(&bike.model, &bike.findings));
    assert_eq!(found.len(), 3);
    for (at, (observation, bits)) in found.into_iter().enumerate() {
        let mut findings = bike.findings.clone();
        let mut with = |outcome| {
            findings[at] = hard(&bike.model, observation, outcome);
            log(&findings)
        };
        let most = with(0).max(with(1));
        let expected = (most - log(&bike.findings)) / std::f64::consts::LN_2;
        assert!((bits - expected).abs() < 1e-9, "{bits} {expected}");
    }
}

#[test]
fn testing_goes_on_while_it_pays_and_stops_when_it_does_not() {
    let early = Bike::with(&[("no-hum", "no-hum-yes")]).plan();
    assert!(matches!(early.choice, Choice::Observe(_)), "{early:?}");
    assert!(matches!(early.reason, Reason::TestingPays { .. }));
    let late = Bike::with(&[
        ("no-hum", "no-hum-yes"),
        ("fuse-check", "fuse-broken"),
        ("pump-voltage", "pump-voltage-none"),
    ]);
    let plan = late.plan();
    assert_eq!(plan.choice, Choice::Repair(late.fault("fuse-blown")));
    let Reason::ActingIsCheaper {
        suspicion,
        best_test,
    } = plan.reason
    else {
        panic!("{:?}", plan.reason)
    };
    assert!(suspicion > 0.9 && best_test.net_minutes() < plan.candidates[0].net_minutes());
}

/// With a day between messages what is likely needed anyway is asked for at once; at a terminal one
/// at a time; and never what needs another safety gate.
#[test]
fn observations_are_bundled_where_answers_take_long() {
    let mut bike = Bike::with(&[("no-hum", "no-hum-yes")]);
    let Choice::Observe(one) = bike.plan().choice else {
        panic!()
    };
    assert_eq!(one.len(), 1);
    bike.terms.round_trip_minutes = 240.0;
    let Choice::Observe(several) = bike.plan().choice else {
        panic!()
    };
    assert!((2..=3).contains(&several.len()), "{several:?}");
    for observation in &several[1..] {
        bike.model.observations[observation.at()].gates = vec!["fuel-closed".into()];
    }
    let Choice::Observe(apart) = bike.plan().choice else {
        panic!()
    };
    assert!(
        several[1..]
            .iter()
            .all(|other| !apart.contains(other) || apart[0] == *other),
        "{apart:?}"
    );
}

/// An observation behind an opening gets dearer by the opening, its parent and closing both.
#[test]
fn what_is_open_already_costs_nothing() {
    let mut bike = Bike::with(&[("no-hum", "no-hum-yes")]);
    let cost = |bike: &Bike| {
        let step = floatbowl::diagnosis::Step::Observe(bike.observation("pump-voltage"));
        bike.plan()
            .candidates
            .iter()
            .find(|c| c.step == step)
            .expect("weighed")
            .cost_minutes
    };
    let closed = cost(&bike);
    bike.open = vec![1.into()];
    assert!((closed - cost(&bike) - (2.0 + 3.0 + 8.0 + 10.0)).abs() < 1e-9);
}

#[test]
fn a_repair_less_sure_to_succeed_is_worth_less() {
    let mut bike = Bike::with(&[("no-hum", "no-hum-yes"), ("fuse-check", "fuse-broken")]);
    let sure = bike.plan().expected_left_minutes;
    let fuse = bike.fault("fuse-blown");
    bike.model.faults[fuse.at()].repair.success = 0.5;
    assert!(bike.plan().expected_left_minutes > sure + 10.0);
}

#[test]
fn what_only_a_shop_may_repair_is_handed_over() {
    let mut bike = Bike::with(&[
        ("no-hum", "no-hum-yes"),
        ("fuse-check", "fuse-broken"),
        ("pump-voltage", "pump-voltage-none"),
    ]);
    let fuse = bike.fault("fuse-blown");
    bike.model.faults[fuse.at()].repair.shop_only = true;
    let plan = bike.plan();
    assert_eq!(plan.choice, Choice::HandOver);
    let Reason::OutOfReach { probability } = plan.reason else {
        panic!("{:?}", plan.reason)
    };
    assert!(probability > 0.9);
}

#[test]
fn impossible_evidence_is_handed_over() {
    let mut bike = Bike::with(&[("no-hum", "no-hum-yes"), ("fuse-check", "fuse-whole")]);
    let fuse = bike.observation("fuse-check");
    let looked_at = &mut bike.model.observations[fuse.at()];
    looked_at.normal = vec![1.0, 0.0];
    looked_at.causes.clear();
    let plan = bike.plan();
    assert_eq!(
        (plan.choice, plan.reason),
        (Choice::HandOver, Reason::EvidenceFitsNothing)
    );
}

#[test]
fn the_fuse_is_ruled_out_by_having_been_seen_whole() {
    let bike = Bike::with(&[
        ("no-hum", "no-hum-yes"),
        ("fuse-check", "fuse-whole"),
        ("pump-voltage", "pump-voltage-present"),
    ]);
    let out = ruled_out(&Belief::given(&bike.model, &bike.findings));
    let fuse = out
        .iter()
        .find(|out| out.fault == bike.fault("fuse-blown"))
        .expect("ruled out");
    assert!(fuse.probability < 0.02 && fuse.times >= 4.0);
    assert!(out.iter().all(|out| out.fault != bike.fault("pump-dead")));
}

/// What each outcome would lead to agrees with giving that outcome as a finding.
#[test]
fn what_if_is_what_would_be_believed() {
    let bike = Bike::with(&[("no-hum", "no-hum-yes")]);
    let check = bike.observation("pump-voltage");
    let outcomes = bike.look(|situation| what_if(situation, check));
    let total: f64 = outcomes.iter().map(|what| what.probability).sum();
    assert!((total - 1.0).abs() < 1e-9);
    for (at, what) in outcomes.iter().enumerate() {
        let mut then = Bike::with(&[("no-hum", "no-hum-yes")]);
        then.findings.push(hard(&bike.model, check, at));
        let suspects = Belief::given(&bike.model, &then.findings).suspects();
        assert_eq!(what.suspects.len(), 3);
        for (told, found) in what.suspects.iter().zip(&suspects) {
            assert!(told.0 == found.0 && (told.1 - found.1).abs() < 1e-9);
        }
        assert_eq!(what.choice, then.plan().choice);
    }
}

/// Voltage at the pump splits the supply from the pump itself.
#[test]
fn why_names_what_an_observation_tells_apart() {
    let bike = Bike::with(&[("no-hum", "no-hum-yes")]);
    let sides = bike.look(|situation| why(situation, bike.observation("pump-voltage")));
    let points_to = |side: usize, id: &str| {
        sides[side]
            .suspects
            .iter()
            .any(|(fault, _)| *fault == bike.fault(id))
    };
    assert!(points_to(0, "pump-dead") && !points_to(0, "fuse-blown"));
    assert!(
        points_to(1, "fuse-blown") && points_to(1, "relay-stuck") && !points_to(1, "pump-dead")
    );
}
