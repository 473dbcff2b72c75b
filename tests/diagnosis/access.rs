//! What is worth doing while something is open, the order of closing, and what missing kit costs.

use crate::exported::model;
use crate::policy::hard;
use floatbowl::diagnosis::access::{closing_order, saved_by, while_open};
use floatbowl::diagnosis::{Belief, Choice, Depth, Situation, Step, Terms};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx, OpeningIx};

const SEAT: OpeningIx = OpeningIx(0);
const TANK: OpeningIx = OpeningIx(1);

fn pump_circuit() -> Model {
    model(include_str!("../models/pump-circuit.json"))
}

/// The pump does not hum, and nothing else is known.
fn look<T>(model: &Model, observations: &[ObservationIx], see: impl Fn(&Situation) -> T) -> T {
    let belief = Belief::given(model, &[hard(model, ObservationIx(0), 0)]);
    let repairs: Vec<FaultIx> = belief.faults().collect();
    see(&Situation {
        model,
        belief: &belief,
        open: &[],
        observations,
        repairs: &repairs,
        terms: Terms::default(),
        depth: Depth::TwoSteps,
    })
}

/// Checks from the second on.
fn checks(model: &Model) -> Vec<ObservationIx> {
    (1..model.observations.len())
        .map(ObservationIx::from)
        .collect()
}

/// With the seat off for the fuse, the relay and the battery lie open; the pump's voltage lies
/// behind the tank and does not.
#[test]
fn what_lies_behind_the_same_opening_is_suggested() {
    let model = pump_circuit();
    let all = checks(&model);
    let at = |id: &str| model.observation(id).expect("in the model");
    let fuse = Choice::Observe(vec![at("fuse-check")]);
    let suggested = look(&model, &all, |situation| while_open(situation, &fuse));
    assert!(!suggested.is_empty());
    let behind_seat = [at("battery-voltage"), at("relay-click")];
    for candidate in &suggested {
        let Step::Observe(observation) = candidate.step else {
            panic!("{candidate:?}")
        };
        assert!(behind_seat.contains(&observation));
        let minutes = model.observations[observation.at()].minutes;
        assert!((candidate.cost_minutes - minutes).abs() < 1e-9);
        assert!(candidate.gain_minutes > candidate.cost_minutes);
    }
}

#[test]
fn a_step_that_opens_nothing_suggests_nothing() {
    let model = pump_circuit();
    let hum = Choice::Observe(vec![ObservationIx(0)]);
    let all = checks(&model);
    assert_eq!(look(&model, &all, |s| while_open(s, &hum)), []);
}

#[test]
fn what_lies_in_front_is_closed_last() {
    let model = pump_circuit();
    assert_eq!(closing_order(&model, &[SEAT, TANK]), [TANK, SEAT]);
}

/// Without a meter, voltages cannot be read; having one saves time, having nothing more saves none.
#[test]
fn missing_kit_costs_minutes() {
    let model = pump_circuit();
    let needs_meter = |o: &ObservationIx| !model.observations[o.at()].kit.is_empty();
    let (with, without): (Vec<_>, Vec<_>) = checks(&model).into_iter().partition(needs_meter);
    let saved = look(&model, &without, |situation| saved_by(situation, &with));
    assert!(saved > 1.0, "{saved}");
    let nothing = look(&model, &without, |situation| saved_by(situation, &[]));
    assert!(nothing.abs() < 1e-9, "{nothing}");
}
