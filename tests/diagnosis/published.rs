//! Published networks and tables: any network of few hidden states is a model whose faults are
//! those states, each excluding all others, with the first state for "no fault".

use floatbowl::diagnosis::{Belief, Choice, Depth, Finding, Plan, Situation, Terms, plan};
use floatbowl::knowledge::model::{
    Cause, Fault, FaultIx, Model, Observation, ObservationIx, ObservationKind, Outcome, Repair,
};

const YES: usize = 0;
const NO: usize = 1;

/// A network whose hidden variables are true or false: each state is a bit pattern over them.
struct Network {
    model: Model,
}

impl Network {
    /// From the probability of each state of the hidden variables and, for each variable that may
    /// be observed, its probability of being true in each state.
    fn of(states: &[f64], observed: &[Vec<f64>]) -> Self {
        let odds = states[1..]
            .iter()
            .map(|probability| probability / states[0]);
        let mut model = exclusive(&odds.collect::<Vec<_>>(), &vec![1.0; states.len() - 1]);
        model.healthy_factor = 1.0;
        model.observations = observed
            .iter()
            .enumerate()
            .map(|(at, chances)| yes_or_no(at, chances))
            .collect();
        Self { model }
    }

    fn given(&self, evidence: &[(usize, usize)]) -> Belief {
        let seen = |(at, outcome): &(usize, usize)| Finding::Seen {
            observation: ObservationIx::from(*at),
            weights: if *outcome == YES {
                vec![1.0, 0.0]
            } else {
                vec![0.0, 1.0]
            },
            strength: 1.0,
        };
        Belief::given(&self.model, &evidence.iter().map(seen).collect::<Vec<_>>())
    }
}

/// The probability that a hidden variable is true.
fn hidden(belief: &Belief, variable: usize) -> f64 {
    let states = belief
        .faults()
        .filter(|fault| (fault.at() + 1) >> variable & 1 == 1);
    states.map(|fault| belief.present_at_start(fault)).sum()
}

/// Faults of which exactly one is present, with these odds and minutes to repair.
fn exclusive(odds: &[f64], minutes: &[f64]) -> Model {
    let fault = |(at, (odds_of_it, minutes)): (usize, (&f64, &f64))| Fault {
        id: format!("state-{at}").as_str().into(),
        part: "none".into(),
        prior: odds_of_it / (1.0 + odds_of_it),
        excludes: (0..odds.len())
            .filter(|other| *other != at)
            .map(FaultIx::from)
            .collect(),
        repair: Repair {
            minutes: *minutes,
            parts_cost: 0.0,
            openings: Vec::new(),
            success: 1.0,
            shop_only: false,
        },
    };
    Model {
        system: "published".into(),
        faults: odds.iter().zip(minutes).enumerate().map(fault).collect(),
        openings: Vec::new(),
        observations: Vec::new(),
        handover_minutes: 1e6,
        minutes_per_cost_unit: 1.0,
        healthy_factor: 0.0,
    }
}

fn yes_or_no(at: usize, yes: &[f64]) -> Observation {
    let outcome = |id: String| Outcome {
        id: id.as_str().into(),
        words: id,
        low: None,
        high: None,
    };
    let both = |yes: &f64| vec![*yes, 1.0 - yes];
    let cause = |(at, yes): (usize, &f64)| Cause {
        fault: FaultIx::from(at),
        outcomes: both(yes),
    };
    Observation {
        id: format!("observed-{at}").as_str().into(),
        kind: ObservationKind::Choice,
        quantity: None,
        minutes: 1.0,
        openings: Vec::new(),
        kit: Vec::new(),
        gates: Vec::new(),
        questions: 0,
        outcomes: vec![outcome(format!("yes-{at}")), outcome(format!("no-{at}"))],
        normal: both(&yes[0]),
        causes: yes[1..].iter().enumerate().map(cause).collect(),
    }
}

fn within(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected}"
    );
}

fn bit(state: usize, variable: usize) -> bool {
    state >> variable & 1 == 1
}

fn chance(of: f64, holds: bool) -> f64 {
    if holds { of } else { 1.0 - of }
}

/// Visit, smoking, tuberculosis, lung cancer, bronchitis hidden; observed: visit, smoking, X-ray,
/// dyspnoea. Tables of Lauritzen & Spiegelhalter 1988, from memory.
fn asia() -> Network {
    let joint = |s: usize| {
        let (visit, smoke) = (bit(s, 0), bit(s, 1));
        let tuberculosis = chance(if visit { 0.05 } else { 0.01 }, bit(s, 2));
        let lung = chance(if smoke { 0.1 } else { 0.01 }, bit(s, 3));
        let bronchitis = chance(if smoke { 0.6 } else { 0.3 }, bit(s, 4));
        chance(0.01, visit) * 0.5 * tuberculosis * lung * bronchitis
    };
    let either = |s: usize| bit(s, 2) || bit(s, 3);
    let breath = |s: usize| match (either(s), bit(s, 4)) {
        (true, true) => 0.9,
        (true, false) => 0.7,
        (false, true) => 0.8,
        (false, false) => 0.1,
    };
    let states: Vec<f64> = (0..32).map(joint).collect();
    let table = |yes: &dyn Fn(usize) -> f64| (0..32).map(yes).collect::<Vec<f64>>();
    Network::of(
        &states,
        &[
            table(&|s| f64::from(u8::from(bit(s, 0)))),
            table(&|s| f64::from(u8::from(bit(s, 1)))),
            table(&|s| if either(s) { 0.98 } else { 0.05 }),
            table(&breath),
        ],
    )
}

/// Priors: Lauritzen & Spiegelhalter 1988.
#[test]
fn asia_before_any_evidence() {
    let network = asia();
    let belief = network.given(&[]);
    within(hidden(&belief, 2), 0.0104, 1e-6);
    within(hidden(&belief, 3), 0.055, 1e-6);
    within(hidden(&belief, 4), 0.45, 1e-6);
    within(
        network.given(&[(2, YES)]).log_evidence().exp(),
        0.110_29,
        1e-6,
    );
    within(
        network.given(&[(3, YES)]).log_evidence().exp(),
        0.435_971,
        1e-6,
    );
}

/// Visit and dyspnoea: the example of the gRain package.
#[test]
fn asia_with_a_visit_and_dyspnoea() {
    let belief = asia().given(&[(0, YES), (3, YES)]);
    within(hidden(&belief, 3), 0.099_525_15, 1e-8);
    within(hidden(&belief, 4), 0.811_402_1, 1e-7);
    within(belief.log_evidence().exp(), 0.004_501_375, 1e-9);
}

/// Visit, dyspnoea, no smoking, positive X-ray: explaining away, computed with pyagrum 3.3.1.
#[test]
fn asia_explains_away() {
    let belief = asia().given(&[(0, YES), (3, YES), (1, NO), (2, YES)]);
    within(hidden(&belief, 2), 0.632_329, 1e-6);
    within(hidden(&belief, 3), 0.126_466, 1e-6);
}

/// Burglary, earthquake, alarm hidden; observed: John calls, Mary calls, the alarm. Russell &
/// Norvig, Artificial Intelligence, 4th edition, chapter 13.
#[test]
fn burglar_alarm() {
    let rings = |s: usize| match (bit(s, 0), bit(s, 1)) {
        (true, true) => 0.95,
        (true, false) => 0.94,
        (false, true) => 0.29,
        (false, false) => 0.001,
    };
    let joint =
        |s| chance(0.001, bit(s, 0)) * chance(0.002, bit(s, 1)) * chance(rings(s), bit(s, 2));
    let states: Vec<f64> = (0..8).map(joint).collect();
    let by_alarm = |on: f64, off: f64| {
        (0..8)
            .map(|s| if bit(s, 2) { on } else { off })
            .collect::<Vec<f64>>()
    };
    let network = Network::of(
        &states,
        &[by_alarm(0.9, 0.05), by_alarm(0.7, 0.01), by_alarm(1.0, 0.0)],
    );
    within(
        hidden(&network.given(&[(0, YES), (1, YES)]), 0),
        0.284_172,
        1e-6,
    );
    within(hidden(&network.given(&[(2, YES)]), 0), 0.373_551, 1e-6);
    let quiet = network.given(&[(0, YES), (1, YES), (2, YES)]);
    let alarm_alone = quiet.present_at_start(FaultIx(3)) * quiet.log_evidence().exp();
    within(alarm_alone, 0.000_628, 5e-7);
}

/// Cloudy, sprinkler, rain hidden; observed: wet grass, rain. Murphy, introduction to graphical
/// models.
#[test]
fn wet_grass() {
    let joint = |s: usize| {
        let cloudy = bit(s, 0);
        0.5 * chance(if cloudy { 0.1 } else { 0.5 }, bit(s, 1))
            * chance(if cloudy { 0.8 } else { 0.2 }, bit(s, 2))
    };
    let wet = |s: usize| match (bit(s, 1), bit(s, 2)) {
        (true, true) => 0.99,
        (false, false) => 0.0,
        _ => 0.9,
    };
    let rain = |s: usize| f64::from(u8::from(bit(s, 2)));
    let states: Vec<f64> = (0..8).map(joint).collect();
    let network = Network::of(
        &states,
        &[(0..8).map(wet).collect(), (0..8).map(rain).collect()],
    );
    let belief = network.given(&[(0, YES)]);
    within(belief.log_evidence().exp(), 0.6471, 5e-5);
    within(hidden(&belief, 1), 0.430, 5e-4);
    within(hidden(&belief, 2), 0.708, 5e-4);
    within(
        hidden(&network.given(&[(0, YES), (1, YES)]), 1),
        0.1945,
        5e-5,
    );
}

/// Noisy-OR of cold, flu, malaria with q = 0.6, 0.2, 0.1: Russell & Norvig, 4th edition, figure 13.5.
#[test]
fn noisy_or_as_a_table() {
    let published = [0.0, 0.4, 0.8, 0.88, 0.9, 0.94, 0.98, 0.988];
    let misses = |s: usize| -> f64 {
        (0..3)
            .filter(|v| bit(s, *v))
            .map(|v| [0.6, 0.2, 0.1][v])
            .product()
    };
    let fever: Vec<f64> = (0..8).map(|s| 1.0 - misses(s)).collect();
    let network = Network::of(&[0.125; 8], &[fever]);
    let belief = network.given(&[(0, YES)]);
    for (state, chance) in published.iter().enumerate().skip(1) {
        let joint = belief.present_at_start(FaultIx::from(state - 1)) * belief.log_evidence().exp();
        within(joint * 8.0, *chance, 1e-12);
    }
}

/// A test of sensitivity 0.95 and specificity 0.90 on a prior of 0.02: Bayes' rule, 19/117.
#[test]
fn positive_predictive_value() {
    let network = Network::of(&[0.98, 0.02], &[vec![0.10, 0.95]]);
    within(
        network.given(&[(0, YES)]).present_at_start(FaultIx(0)),
        19.0 / 117.0,
        1e-12,
    );
}

/// Plans with exactly one of the faults present, repairs at their bare minutes and nothing to ask.
fn repair_only(probabilities: &[f64], minutes: &[f64]) -> Plan {
    let model = exclusive(probabilities, minutes);
    plan_on_bare_terms(&model, &[])
}

fn plan_on_bare_terms(model: &Model, observations: &[ObservationIx]) -> Plan {
    let belief = Belief::given(model, &[]);
    let repairs: Vec<FaultIx> = belief.faults().collect();
    let terms = Terms {
        proof_minutes: 0.0,
        ..Terms::bare()
    };
    plan(&Situation {
        model,
        belief: &belief,
        open: &[],
        observations,
        repairs: &repairs,
        terms,
        depth: Depth::TwoSteps,
    })
}

/// The order of probability over cost (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995): the
/// expected minutes by enumeration of all orders, in exact fractions.
#[test]
fn repairs_go_in_the_order_of_probability_over_cost() {
    for (probabilities, minutes, first, expected) in [
        (&[0.5, 0.3, 0.2][..], &[10.0, 2.0, 1.0][..], 2, 7.6),
        (&[0.4, 0.3, 0.2, 0.1], &[4.0, 1.0, 5.0, 1.0], 1, 5.1),
        (&[0.6, 0.3, 0.1], &[2.0, 2.0, 2.0], 0, 3.0),
        (&[0.5, 0.25, 0.25], &[4.0, 2.0, 2.0], 0, 5.5),
        (&[0.9, 0.1], &[5.0, 1.0], 0, 5.1),
    ] {
        let plan = repair_only(probabilities, minutes);
        within(plan.expected_left_minutes, expected, 1e-9);
        assert_eq!(plan.choice, Choice::Repair(FaultIx(first)));
    }
}

/// Where the last fault need not be tested but can be inferred, the order of probability over cost
/// is wrong: testing the less likely fault for 1 minute settles it, testing the likelier takes 5.
#[test]
fn a_cheap_test_of_the_unlikelier_fault_may_settle_it() {
    let mut model = exclusive(&[0.9, 0.1], &[0.0, 0.0]);
    model.observations = vec![
        yes_or_no(0, &[0.0, 1.0, 0.0]),
        yes_or_no(1, &[0.0, 0.0, 1.0]),
    ];
    model.observations[0].minutes = 5.0;
    for fault in &mut model.faults {
        fault.repair.minutes = 30.0;
    }
    let plan = plan_on_bare_terms(&model, &[ObservationIx(0), ObservationIx(1)]);
    assert_eq!(plan.choice, Choice::Observe(vec![ObservationIx(1)]));
    within(plan.expected_left_minutes, 31.0, 1e-9);
}

/// A tenth of the probability is out of reach and referring costs 20: repair B, A, C, then refer,
/// 7.3; referring after B and A would cost 9.8 (form of Heckerman et al. 1995).
#[test]
fn hands_over_after_the_best_prefix() {
    let mut model = exclusive(&[0.4, 0.3, 0.2, 0.1], &[4.0, 1.0, 5.0, 1.0]);
    model.faults[3].repair.shop_only = true;
    model.handover_minutes = 20.0;
    let plan = plan_on_bare_terms(&model, &[]);
    within(plan.expected_left_minutes, 7.3, 1e-9);
    assert_eq!(plan.choice, Choice::Repair(FaultIx(1)));
}
