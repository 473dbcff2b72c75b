//! A channel where an answer takes hours: a few checks at a time, on one side of every condition.

use floatbowl::conversation::event::{Incoming, Logged, Terms};
use floatbowl::conversation::state::State;
use floatbowl::conversation::{advance, open};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::id::{GateId, SystemId};
use floatbowl::reply::{NextKind, Reply};
use std::collections::BTreeSet;

/// A conversation on the shipped knowledge, as far as the first checks.
fn first_checks(knowledge: &Knowledge, system: &SystemId, round_trip_minutes: f64) -> Reply {
    let terms = Terms {
        system: Some(system.clone()),
        round_trip_minutes,
        ..Terms::default()
    };
    let (events, mut reply) = open(&terms, knowledge);
    let mut state = State::fold(&[]);
    for event in events {
        state.apply(Logged { turn: 0, event });
    }
    let said = [
        Incoming::Text("it cranks but will not start".to_owned()),
        Incoming::Text("nothing".to_owned()),
        Incoming::Text("yes".to_owned()),
        Incoming::Choose("kit-all".to_owned()),
    ];
    for incoming in said {
        let (events, next) = advance(&state, &incoming, knowledge);
        for event in events {
            state.apply(Logged {
                turn: next.turn,
                event,
            });
        }
        reply = next;
    }
    reply
}

/// At a terminal one check at a time, or the question that clears it; in a forum two or three, all
/// behind the same conditions; nobody is handed over before the first check.
#[test]
fn a_slow_channel_asks_for_a_few_checks_at_once() {
    let knowledge = Knowledge::embedded();
    for system in knowledge.systems.keys() {
        let quick = first_checks(&knowledge, system, 0.0);
        assert!(quick.asks.len() <= 1, "{system}: {:?}", quick.asks);
        assert_ne!(quick.step.kind, NextKind::Handover, "{system}");
        let slow = first_checks(&knowledge, system, 240.0);
        assert_eq!(slow.step.kind, NextKind::Observe, "{system}");
        assert!(
            (2..=3).contains(&slow.asks.len()),
            "{system}: {:?}",
            slow.asks
        );
        let gates: BTreeSet<Vec<GateId>> = slow
            .asks
            .iter()
            .filter_map(|ask| knowledge.observations.get(&ask.observation))
            .map(|check| check.gates.clone())
            .collect();
        assert!(gates.len() <= 1, "{system}: {gates:?}");
    }
}
