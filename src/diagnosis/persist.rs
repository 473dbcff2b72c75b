//! Whether to go on where giving up looks cheapest: a row of checks may pay where no single one does.
//!
//! With the likeliest fault a shop's, what is left is spread over many faults of which each check
//! rules out one or two. Looking one or two steps ahead, none of them pays, and the case would be
//! handed over with a fair chance that a fuse had blown. So the plan of a patient helper is priced as it
//! is: the best check; if it finds something, act; if it finds nothing, the next best, and so on.

use super::frame::Frame;
use super::ground::Ground;
use super::plan::Step;
use super::sequence::Options;
use super::survey::{Offer, acting, observing, options_after};

/// How many of the best observations are tried as the first of such a row.
const FIRST: usize = 3;
/// So many checks in a row are thought of at most.
const IN_A_ROW: usize = 12;

/// Replaces what is left after the best few observations of the ranked offers by what it costs to go
/// on from one to the next, where that is less.
pub fn persist(ground: &Ground, frame: &Frame, options: &Options, offers: &mut [Offer]) {
    let observations = offers
        .iter_mut()
        .filter(|offer| matches!(offer.step, Step::Observe(_)));
    for offer in observations.take(FIRST) {
        if let Step::Observe(observation) = offer.step {
            let row = (observation.at(), IN_A_ROW - 1);
            offer.left = offer.left.min(after(ground, frame, options, row));
        }
    }
}

/// Expected minutes after an observation: its likeliest outcome leads on to the next one.
fn after(ground: &Ground, frame: &Frame, options: &Options, (at, further): (usize, usize)) -> f64 {
    let forecast = ground.forecast(at, frame);
    let options = options_after(ground, options, at);
    let likeliest = forecast.probabilities.iter().copied().fold(0.0, f64::max);
    let outcome = |(outcome, probability): (usize, &f64)| {
        frame.given(&forecast, outcome).map_or(0.0, |child| {
            let further = if *probability >= likeliest {
                further
            } else {
                0
            };
            probability * minutes(ground, &child, &options, further)
        })
    };
    forecast.probabilities.iter().enumerate().map(outcome).sum()
}

/// Expected minutes with so many more observations in a row, given up where acting is cheaper.
fn minutes(ground: &Ground, frame: &Frame, options: &Options, further: usize) -> f64 {
    let at_once = acting(ground, frame, options).minutes;
    if further == 0 {
        return at_once;
    }
    let offers = observing(ground, frame, options, at_once);
    let best = offers.iter().min_by(|x, y| x.total().total_cmp(&y.total()));
    let going_on = best.and_then(|offer| match offer.step {
        Step::Observe(next) => {
            Some(offer.cost + after(ground, frame, options, (next.at(), further - 1)))
        }
        Step::Repair(_) | Step::HandOver => None,
    });
    going_on.map_or(at_once, |minutes| minutes.min(at_once))
}
