//! Observations asked for in one message, where waiting for an answer costs more than asking in vain.

use super::cost::Prices;
use super::forecast::Forecast;
use super::frame::Frame;
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
    prices: &Prices,
    frame: &Frame,
    options: &Options,
    ranked: &[ObservationIx],
) -> Vec<ObservationIx> {
    let Some(first) = ranked.first() else {
        return Vec::new();
    };
    let mut chosen = vec![*first];
    if prices.terms.round_trip_minutes <= 0.0 {
        return chosen;
    }
    let mut companions: Vec<ObservationIx> = ranked[1..]
        .iter()
        .copied()
        .filter(|o| same_gates(prices.model, *o, *first))
        .take(COMPANIONS)
        .collect();
    let mut branches = split(prices.model, &[(1.0, frame.clone())], *first);
    while chosen.len() < MOST_AT_ONCE {
        let saving = |o: &ObservationIx| saving(prices, options, &branches, &chosen, *o);
        let savings: Vec<f64> = companions.iter().map(saving).collect();
        let best = savings.iter().copied().fold(0.0, f64::max);
        let Some(at) = savings
            .iter()
            .position(|saving| *saving > 0.0 && *saving >= best)
        else {
            break;
        };
        let next = companions.remove(at);
        branches = split(prices.model, &branches, next);
        chosen.push(next);
    }
    chosen
}

/// What becomes of each branch with each outcome of an observation.
fn split<'a>(
    model: &Model,
    branches: &[(f64, Frame<'a>)],
    observation: ObservationIx,
) -> Vec<(f64, Frame<'a>)> {
    let mut split = Vec::new();
    for (weight, frame) in branches {
        let forecast = Forecast::of(&model.observations[observation.at()], frame);
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
    prices: &Prices,
    options: &Options,
    branches: &[(f64, Frame)],
    chosen: &[ObservationIx],
    extra: ObservationIx,
) -> f64 {
    let opened = |mut options: Options, observations: &[ObservationIx]| {
        for observation in observations {
            options.open = options.open.and(prices.observation_needs(*observation));
        }
        options
    };
    let together: Vec<ObservationIx> = chosen.iter().copied().chain([extra]).collect();
    let after_chosen = opened(options.clone(), chosen);
    let after_all = opened(options.clone(), &together);
    let mut at_once = prices.observing(&together, options.open);
    let mut in_turn = prices.observing(chosen, options.open);
    for (weight, frame) in branches {
        let forecast = Forecast::of(&prices.model.observations[extra.at()], frame);
        let knowing = acting_after(prices, frame, &after_all, &forecast);
        let later = prices.observing(&[extra], after_chosen.open) + knowing;
        at_once += weight * knowing;
        in_turn += weight * later.min(acting(prices, frame, &after_chosen).minutes);
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
