//! Every step that may come next, each with what it costs and what is expected to be left after it.

use super::forecast::Forecast;
use super::frame::Frame;
use super::ground::Ground;
use super::plan::Step;
use super::sequence::{Case, Course, Done, Options, Reach};
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

/// Repairs below this probability are not offered as the next step, unless acting begins with one.
const WORTH_OFFERING: f64 = 0.005;

/// Sets times observations up to which every observation is weighed over every set.
const WEIGHED_IN_FULL: usize = 4000;
/// Beyond that, observations are first weighed leaving out this much probability, ..
const SCREENED_WITHOUT: f64 = 0.05;
/// .. and then those over every set that are this close to the best one so far, as a share of the
/// minutes without any, ..
const CLOSE: f64 = 0.02;
/// .. and no more than so many. In 3,000 turns of invented riders, nothing further from the best one by
/// the likeliest sets was the best of these over every set, and half as many were weighed in the mean.
const FINALISTS: usize = 6;

/// Repairing at once, without another look.
pub fn acting(ground: &Ground, frame: &Frame, options: &Options) -> Course {
    let prices = &ground.prices;
    case(frame).course(prices, &options.reach(prices), None)
}

/// All next steps, acting ones first, looking one step ahead.
pub fn offers(ground: &Ground, frame: &Frame, options: &Options) -> Vec<Offer> {
    let at_once = acting(ground, frame, options);
    let first = at_once.repairs.first().copied();
    let mut offers: Vec<Offer> = options
        .repairs
        .iter()
        .filter(|fault| frame.marginals[**fault] >= WORTH_OFFERING || first == Some(**fault))
        .map(|fault| repair_offer(ground, frame, options, *fault))
        .collect();
    offers.push(Offer {
        step: Step::HandOver,
        cost: handing_over(ground, frame),
        left: 0.0,
    });
    offers.extend(observing(ground, frame, options, at_once.minutes));
    offers
}

/// Fewest minutes first; ties keep their order: acting before testing, then by position.
pub fn rank(offers: &mut [Offer]) {
    offers.sort_by(|x, y| x.total().total_cmp(&y.total()));
}

/// Expected minutes when one more observation may be made, and then only repairs.
pub fn best_minutes(ground: &Ground, frame: &Frame, options: &Options) -> f64 {
    let acting = acting(ground, frame, options).minutes;
    let observing = observing(ground, frame, options, acting);
    observing.iter().map(Offer::total).fold(acting, f64::min)
}

/// Every observation as an offer. Where there is much to weigh, only the finalists are weighed over
/// every set; the others keep what they gain over the likeliest ones.
pub fn observing(ground: &Ground, frame: &Frame, options: &Options, acting_now: f64) -> Vec<Offer> {
    let weigh = |frame: &Frame, at: usize| observation_offer(ground, frame, options, at);
    let all = options.observations.iter().copied();
    if frame.size() * options.observations.len() <= WEIGHED_IN_FULL {
        return all.map(|at| weigh(frame, at)).collect();
    }
    let likeliest = frame.coarser(SCREENED_WITHOUT);
    let shift = acting_now - acting(ground, &likeliest, options).minutes;
    let mut offers: Vec<Offer> = all
        .map(|at| {
            let offer = weigh(&likeliest, at);
            let left = offer.left + shift;
            Offer { left, ..offer }
        })
        .collect();
    let mut order: Vec<usize> = (0..offers.len()).collect();
    order.sort_by(|x, y| offers[*x].total().total_cmp(&offers[*y].total()));
    let mut best = f64::INFINITY;
    for at in order.into_iter().take(FINALISTS) {
        if offers[at].total() > best + CLOSE * acting_now {
            break;
        }
        offers[at] = weigh(frame, options.observations[at]);
        best = best.min(offers[at].total());
    }
    offers
}

/// What is left for the rider to do once an observation is made and its openings are open.
pub fn options_after(ground: &Ground, options: &Options, observation: usize) -> Options {
    let needs = ground
        .prices
        .observation_needs(ObservationIx::from(observation));
    let others = options.observations.iter().copied();
    Options {
        observations: others.filter(|o| *o != observation).collect(),
        repairs: options.repairs.clone(),
        open: options.open.and(needs),
    }
}

/// Expected minutes of repairing, summed over the outcomes of an observation.
pub fn acting_after(ground: &Ground, frame: &Frame, reach: &Reach, seen: &Forecast) -> f64 {
    let outcome = |(at, total): (usize, &f64)| {
        let chance = |members| seen.chance(members, at);
        let case = Case {
            total: *total,
            marginals: seen.joint(at),
            healthy: frame.healthy() * chance([frame.faults(); 3]),
            left_with: |fault, done: &[Done]| frame.left_with(fault, done, chance),
        };
        case.course(&ground.prices, reach, None).minutes
    };
    seen.probabilities.iter().enumerate().map(outcome).sum()
}

/// Expected minutes with this step next, looking one step ahead.
pub fn minutes_with(ground: &Ground, frame: &Frame, options: &Options, step: Step) -> f64 {
    match step {
        Step::Observe(observation) => {
            observation_offer(ground, frame, options, observation.at()).total()
        }
        Step::Repair(fault) => repair_offer(ground, frame, options, fault.at()).total(),
        Step::HandOver => handing_over(ground, frame),
    }
}

fn handing_over(ground: &Ground, frame: &Frame) -> f64 {
    ground
        .prices
        .handing_over(1.0, frame.marginals.iter().sum())
}

fn observation_offer(ground: &Ground, frame: &Frame, options: &Options, at: usize) -> Offer {
    let observation = ObservationIx::from(at);
    let forecast = ground.forecast(at, frame);
    let needs = ground.prices.observation_needs(observation);
    let reach = options.once_open(&ground.prices, needs);
    Offer {
        step: Step::Observe(observation),
        cost: ground.prices.observing(&[observation], options.open),
        left: acting_after(ground, frame, &reach, &forecast),
    }
}

fn repair_offer(ground: &Ground, frame: &Frame, options: &Options, at: usize) -> Offer {
    let fault = FaultIx::from(at);
    let prices = &ground.prices;
    let needless = (1.0 - frame.marginals[at]) * prices.terms.wrong_repair_minutes;
    let cost = prices.repairing(fault, options.open) + needless;
    let total = case(frame)
        .course(prices, &options.reach(prices), Some(at))
        .minutes;
    Offer {
        step: Step::Repair(fault),
        cost,
        left: total - cost,
    }
}

fn case(frame: &Frame) -> Case<'_, impl Fn(usize, &[Done]) -> f64 + '_> {
    Case {
        total: 1.0,
        marginals: &frame.marginals,
        healthy: frame.healthy(),
        left_with: |fault, done: &[Done]| frame.left_with(fault, done, |_| 1.0),
    }
}
