//! A second step of looking ahead, for the few steps that look best after the first.

use super::cost::Prices;
use super::forecast::Forecast;
use super::frame::Frame;
use super::plan::Step;
use super::sequence::Options;
use super::survey::{Offer, best_minutes, options_after};

/// Observations looked at more deeply, and repairs. On random models against the exact optimum,
/// more of either no longer pays.
const OBSERVATIONS: usize = 3;
const REPAIRS: usize = 2;

/// Replaces what is left after the best few of the ranked offers by a deeper estimate.
pub fn look_ahead(prices: &Prices, frame: &Frame, options: &Options, offers: &mut [Offer]) {
    let (mut observations, mut repairs) = (OBSERVATIONS, REPAIRS);
    for offer in offers {
        match offer.step {
            Step::Observe(observation) if observations > 0 => {
                observations -= 1;
                offer.left = after_observation(prices, frame, options, observation.at());
            }
            Step::Repair(fault) if repairs > 0 => {
                repairs -= 1;
                offer.left = after_repair(prices, frame, options, fault.at());
            }
            _ => {}
        }
    }
}

fn after_observation(prices: &Prices, frame: &Frame, options: &Options, observation: usize) -> f64 {
    let forecast = Forecast::of(&prices.model.observations[observation], frame);
    let options = options_after(prices, options, observation);
    let outcome = |(at, probability): (usize, &f64)| {
        frame.given(&forecast, at).map_or(0.0, |child| {
            probability * best_minutes(prices, &child, &options)
        })
    };
    forecast.probabilities.iter().enumerate().map(outcome).sum()
}

fn after_repair(prices: &Prices, frame: &Frame, options: &Options, fault: usize) -> f64 {
    let (unsolved, child) = frame.after_repair(fault, prices.model.faults[fault].repair.success);
    let options = Options {
        observations: options.observations.clone(),
        repairs: options
            .repairs
            .iter()
            .copied()
            .filter(|f| *f != fault)
            .collect(),
        open: options.open.and(prices.repair_needs(fault.into())),
    };
    child.map_or(0.0, |child| {
        unsolved * best_minutes(prices, &child, &options)
    })
}
