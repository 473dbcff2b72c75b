//! Observations asked for in one message, where waiting for an answer costs more than asking in vain.

use super::frame::Frame;
use super::ground::Ground;
use super::plan::MOST_AT_ONCE;
use super::sequence::Options;
use super::survey::{acting, acting_after};
use crate::knowledge::model::{Model, ObservationIx};

/// How many of the best observations are tried as companions of the first.
const COMPANIONS: usize = 10;

/// The first observation, and those of the `ranked` ones worth asking for in the same message.
///
/// Grown greedily: a companion joins where asking for both at once is cheaper than asking for it
/// later, only if the first answers leave it worth asking. All have the same safety gates.
pub fn bundle(
    ground: &Ground,
    frame: &Frame,
    options: &Options,
    ranked: &[ObservationIx],
) -> Vec<ObservationIx> {
    let Some(first) = ranked.first() else {
        return Vec::new();
    };
    let mut chosen = vec![*first];
    if ground.prices.terms.round_trip_minutes <= 0.0 {
        return chosen;
    }
    let mut companions: Vec<ObservationIx> = ranked[1..]
        .iter()
        .copied()
        .filter(|o| same_gates(ground.prices.model, *o, *first))
        .take(COMPANIONS)
        .collect();
    let mut branches = split(ground, &[(1.0, frame.clone())], *first);
    while chosen.len() < MOST_AT_ONCE {
        let saving = |o: &ObservationIx| saving(ground, options, &branches, &chosen, *o);
        let savings: Vec<f64> = companions.iter().map(saving).collect();
        let best = savings.iter().copied().fold(0.0, f64::max);
        let Some(at) = savings
            .iter()
            .position(|saving| *saving > 0.0 && *saving >= best)
        else {
            break;
        };
        let next = companions.remove(at);
        branches = split(ground, &branches, next);
        chosen.push(next);
    }
    chosen
}

/// What becomes of each branch with each outcome of an observation.
fn split(
    ground: &Ground,
    branches: &[(f64, Frame)],
    observation: ObservationIx,
) -> Vec<(f64, Frame)> {
    let mut split = Vec::new();
    for (weight, frame) in branches {
        let forecast = ground.forecast(observation.at(), frame);
        for (outcome, probability) in forecast.probabilities.iter().enumerate() {
            split.extend(
                frame
                    .given(&forecast, outcome)
                    .map(|child| (weight * probability, child)),
            );
        }
    }
    split
}

/// Expected minutes saved by asking for `extra` with the chosen ones rather than later if need be.
fn saving(
    ground: &Ground,
    options: &Options,
    branches: &[(f64, Frame)],
    chosen: &[ObservationIx],
    extra: ObservationIx,
) -> f64 {
    let opened = |mut options: Options, observations: &[ObservationIx]| {
        for observation in observations {
            options.open = options
                .open
                .and(ground.prices.observation_needs(*observation));
        }
        options
    };
    let together: Vec<ObservationIx> = chosen.iter().copied().chain([extra]).collect();
    let after_chosen = opened(options.clone(), chosen);
    let after_all = opened(options.clone(), &together);
    let reach = after_all.reach(&ground.prices);
    let mut at_once = ground.prices.observing(&together, options.open);
    let mut in_turn = ground.prices.observing(chosen, options.open);
    for (weight, frame) in branches {
        let forecast = ground.forecast(extra.at(), frame);
        let knowing = acting_after(ground, frame, &reach, &forecast);
        let later = ground.prices.observing(&[extra], after_chosen.open) + knowing;
        at_once += weight * knowing;
        in_turn += weight * later.min(acting(ground, frame, &after_chosen).minutes);
    }
    in_turn - at_once
}

fn same_gates(model: &Model, x: ObservationIx, y: ObservationIx) -> bool {
    let gates = |o: ObservationIx| {
        let mut gates = model.observations[o.at()].gates.clone();
        gates.sort();
        gates
    };
    gates(x) == gates(y)
}
