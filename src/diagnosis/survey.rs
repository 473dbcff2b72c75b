//! Every step that may come next, each with what it costs and what is expected to be left after it.

use super::cost::Prices;
use super::forecast::Forecast;
use super::frame::Frame;
use super::plan::Step;
use super::sequence::{Case, Course, Options};
use crate::knowledge::model::{FaultIx, ObservationIx};

/// A step with its price and what is left to do after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    /// What to do.
    pub step: Step,
    /// Minutes for the step itself.
    pub cost: f64,
    /// Expected minutes after it.
    pub left: f64,
}

impl Offer {
    /// Expected minutes in all.
    pub fn total(&self) -> f64 {
        self.cost + self.left
    }
}

/// Repairs below this probability are not offered as the next step.
const WORTH_OFFERING: f64 = 0.005;

/// Repairing at once, without another look.
pub fn acting(prices: &Prices, frame: &Frame, options: &Options) -> Course {
    case(frame).course(prices, options, None)
}

/// All next steps, acting ones first, looking one step ahead.
pub fn offers(prices: &Prices, frame: &Frame, options: &Options) -> Vec<Offer> {
    let mut offers = Vec::with_capacity(options.observations.len() + options.repairs.len() + 1);
    for fault in &options.repairs {
        if frame.marginals[*fault] >= WORTH_OFFERING {
            offers.push(repair_offer(prices, frame, options, *fault));
        }
    }
    offers.push(Offer {
        step: Step::HandOver,
        cost: prices.model.handover_minutes,
        left: 0.0,
    });
    for observation in &options.observations {
        offers.push(observation_offer(prices, frame, options, *observation));
    }
    offers
}

/// Expected minutes when one more observation may be made, and then only repairs.
pub fn best_minutes(prices: &Prices, frame: &Frame, options: &Options) -> f64 {
    let acting = acting(prices, frame, options).minutes;
    let observing = options
        .observations
        .iter()
        .map(|o| observation_offer(prices, frame, options, *o).total());
    observing.fold(acting, f64::min)
}

/// What is left for the rider to do once an observation is made and its openings are open.
pub fn options_after(prices: &Prices, options: &Options, observation: usize) -> Options {
    Options {
        observations: options
            .observations
            .iter()
            .copied()
            .filter(|o| *o != observation)
            .collect(),
        repairs: options.repairs.clone(),
        open: options
            .open
            .and(prices.observation_needs(ObservationIx::from(observation))),
    }
}

/// Expected minutes of repairing, summed over the outcomes of an observation.
pub fn acting_after(prices: &Prices, frame: &Frame, options: &Options, forecast: &Forecast) -> f64 {
    let outcome = |(at, (total, marginals)): (usize, (&f64, &Vec<f64>))| {
        let weight = |members| match frame.weight(members) {
            0.0 => 0.0,
            weight => weight * forecast.chance(members, at),
        };
        Case {
            total: *total,
            marginals,
            weight,
        }
        .course(prices, options, None)
        .minutes
    };
    forecast
        .probabilities
        .iter()
        .zip(&forecast.joint)
        .enumerate()
        .map(outcome)
        .sum()
}

fn observation_offer(prices: &Prices, frame: &Frame, options: &Options, at: usize) -> Offer {
    let observation = ObservationIx::from(at);
    let forecast = Forecast::of(&prices.model.observations[at], frame);
    let opened = Options {
        open: options.open.and(prices.observation_needs(observation)),
        ..options.clone()
    };
    Offer {
        step: Step::Observe(observation),
        cost: prices.observing(&[observation], options.open),
        left: acting_after(prices, frame, &opened, &forecast),
    }
}

fn repair_offer(prices: &Prices, frame: &Frame, options: &Options, at: usize) -> Offer {
    let fault = FaultIx::from(at);
    let needless = (1.0 - frame.marginals[at]) * prices.terms.wrong_repair_minutes;
    let cost = prices.repairing(fault, options.open) + needless;
    let total = case(frame).course(prices, options, Some(at)).minutes;
    Offer {
        step: Step::Repair(fault),
        cost,
        left: total - cost,
    }
}

fn case<'a>(frame: &'a Frame) -> Case<'a, impl Fn([usize; 3]) -> f64 + 'a> {
    Case {
        total: 1.0,
        marginals: &frame.marginals,
        weight: |members| frame.weight(members),
    }
}
