//! Whatever a rider says in whatever order: no panic, one log, and always a way out.

use crate::bike::{Bike, KNOWLEDGE};
use floatbowl::conversation::State;
use floatbowl::conversation::event::Incoming;
use floatbowl::knowledge::id::SystemId;
use floatbowl::reply::Phase;
use floatbowl::simulate::{Plan, simulate};
use proptest::prelude::*;

const SAID: [&str; 16] = [
    "yes",
    "no",
    "done",
    "can't do that",
    "don't know",
    "skip",
    "why?",
    "undo",
    "start over",
    "12.6 V",
    "OL",
    "fuel is leaking out of the hose",
    "it cranks but does not start",
    "what have we got so far",
    "a person please",
    "blue elephants",
];

fn over(phase: Phase) -> bool {
    matches!(phase, Phase::Closed | Phase::HandedOver | Phase::Halted)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_order_leads_to_a_way_out(picks in prop::collection::vec((any::<bool>(), 0_usize..64), 0..25)) {
        let mut bike = Bike::with(&[], false);
        for (typed, at) in picks {
            let choices = &bike.reply.choices;
            let incoming = if typed || choices.is_empty() {
                Incoming::Text(SAID[at % SAID.len()].to_owned())
            } else {
                Incoming::Choose(choices[at % choices.len()].id.clone())
            };
            bike.send(&incoming);
        }
        prop_assert_eq!(&State::fold(bike.state.log()), &bike.state);
        for word in ["stop", "done", "done"] {
            if !over(bike.reply.phase) {
                bike.say(word);
            }
        }
        prop_assert!(over(bike.reply.phase), "{}", bike.transcript);
    }
}

#[test]
fn no_rider_is_asked_to_work_without_every_condition_confirmed() {
    let plan = Plan {
        system: SystemId::from("pump-carb"),
        riders: 15,
        seed: 7,
        slips: 0.05,
        faults: 1,
        doubles: 0.3,
        round_trip_minutes: 0.0,
    };
    let score = simulate(&KNOWLEDGE, &plan, &|_| ());
    assert_eq!((score.riders, score.gate_violations), (15, 0));
}
