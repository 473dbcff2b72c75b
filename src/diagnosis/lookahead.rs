//! More steps of looking ahead, for the few steps that look best after the first.

use super::frame::Frame;
use super::ground::Ground;
use super::plan::Step;
use super::sequence::Options;
use super::survey::{Offer, acting, best_minutes, offers, options_after, rank};

/// How many of the best observations and repairs are looked at more deeply. On random models
/// against the exact optimum, more of either does not pay; a further step does.
#[derive(Debug, Clone, Copy)]
struct Beam {
    observations: usize,
    repairs: usize,
}

/// At the step to be taken.
const NOW: Beam = Beam {
    observations: 3,
    repairs: 2,
};
/// At the step to be taken, where few sets are left: with wrong repairs and giving up at their price
/// the best step is now and then not among the best three by one step.
const NOW_OF_FEW: Beam = Beam {
    observations: 5,
    repairs: 3,
};
/// At the step after it.
const NEXT: Beam = Beam {
    observations: 3,
    repairs: 2,
};

/// A third step is looked at where few sets are left: sets times observations up to this.
const SMALL: usize = 1500;
/// And a fourth where fewer still are: with wrong repairs at their price, two checks that pay only
/// together are worth nothing to a shorter look.
const TINY: usize = 750;
/// Where more is left, only steps this close to the best one are looked at more deeply, as a share
/// of the minutes expected with it.
const CLOSE: f64 = 0.02;

/// At later steps only so many observations are thought of: those that gain most now.
const THOUGHT_OF: usize = 16;

/// Replaces what is left after the best few of the ranked offers by a deeper estimate.
pub fn look_ahead(ground: &Ground, frame: &Frame, options: &Options, offers: &mut [Offer]) {
    let size = frame.size() * options.observations.len();
    let small = size <= SMALL;
    let options = &most_telling(options, offers);
    let close = if small {
        offers.len()
    } else {
        let limit = offers[0].total() * (1.0 + CLOSE);
        offers.partition_point(|offer| offer.total() <= limit)
    };
    if close > 1 {
        let (beam, further) = if size <= TINY {
            (NOW_OF_FEW, 2)
        } else if small {
            (NOW_OF_FEW, 1)
        } else {
            (NOW, 0)
        };
        deepen(
            ground,
            frame,
            options,
            (&mut offers[..close], beam, further),
        );
    }
}

/// The options with only those observations that leave least to do.
fn most_telling(options: &Options, offers: &[Offer]) -> Options {
    let observation = |offer: &Offer| match offer.step {
        Step::Observe(observation) => Some((observation.at(), offer.left)),
        Step::Repair(_) | Step::HandOver => None,
    };
    let mut telling: Vec<(usize, f64)> = offers.iter().filter_map(observation).collect();
    telling.sort_by(|x, y| x.1.total_cmp(&y.1));
    telling.truncate(THOUGHT_OF);
    let mut observations: Vec<usize> = telling.into_iter().map(|(at, _)| at).collect();
    observations.sort_unstable();
    Options {
        observations,
        ..options.clone()
    }
}

fn deepen(
    ground: &Ground,
    frame: &Frame,
    options: &Options,
    (offers, mut beam, further): (&mut [Offer], Beam, usize),
) {
    for offer in offers {
        match offer.step {
            Step::Observe(observation) if beam.observations > 0 => {
                beam.observations -= 1;
                offer.left = after_observation(ground, frame, options, (observation.at(), further));
            }
            Step::Repair(fault) if beam.repairs > 0 => {
                beam.repairs -= 1;
                offer.left = after_repair(ground, frame, options, (fault.at(), further));
            }
            _ => {}
        }
    }
}

/// Expected minutes with at least one more step looked at, and `further` steps after that.
fn minutes(ground: &Ground, frame: &Frame, options: &Options, further: usize) -> f64 {
    if further == 0 {
        return best_minutes(ground, frame, options);
    }
    let mut offers = offers(ground, frame, options);
    rank(&mut offers);
    deepen(ground, frame, options, (&mut offers, NEXT, further - 1));
    offers
        .iter()
        .map(Offer::total)
        .fold(acting(ground, frame, options).minutes, f64::min)
}

fn after_observation(
    ground: &Ground,
    frame: &Frame,
    options: &Options,
    (observation, further): (usize, usize),
) -> f64 {
    let forecast = ground.forecast(observation, frame);
    let options = options_after(ground, options, observation);
    let outcome = |(at, probability): (usize, &f64)| {
        frame.given(&forecast, at).map_or(0.0, |child| {
            probability * minutes(ground, &child, &options, further)
        })
    };
    forecast.probabilities.iter().enumerate().map(outcome).sum()
}

fn after_repair(
    ground: &Ground,
    frame: &Frame,
    options: &Options,
    (fault, further): (usize, usize),
) -> f64 {
    let success = ground.prices.model.faults[fault].repair.success;
    let (unsolved, child) = frame.after_repair(fault, success);
    let others = options.repairs.iter().copied();
    let options = Options {
        observations: options.observations.clone(),
        repairs: others.filter(|f| *f != fault).collect(),
        open: options.open.and(ground.prices.repair_needs(fault.into())),
    };
    child.map_or(0.0, |child| {
        unsolved * minutes(ground, &child, &options, further)
    })
}
