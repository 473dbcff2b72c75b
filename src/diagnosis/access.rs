//! What is worth doing besides the next step: while its openings are open, or with kit that is missing.

use super::cost::Openings;
use super::frame::Frame;
use super::ground::Ground;
use super::plan::{Candidate, Choice, Situation, Step, options, plan};
use super::survey::{acting, offers, rank};
use crate::knowledge::model::{Model, ObservationIx, OpeningIx};

/// The most observations suggested while something is open.
pub const MOST_SUGGESTED: usize = 2;

/// The observations behind the openings of the next step that would pay by themselves once these
/// are open, best first; none where the step opens nothing.
///
/// Gates are not weighed here: whoever suggests one of these clears it like any other step.
#[must_use]
pub fn while_open(situation: &Situation, choice: &Choice) -> Vec<Candidate> {
    let mut options = options(situation);
    let ground = Ground::of(situation.model, situation.terms, &options.observations);
    let prices = &ground.prices;
    let (needs, asked) = match choice {
        Choice::Observe(asked) => {
            let needs = asked.iter().map(|o| prices.observation_needs(*o));
            (needs.fold(Openings::default(), Openings::and), &asked[..])
        }
        Choice::Repair(fault) => (prices.repair_needs(*fault), &[][..]),
        Choice::HandOver => return Vec::new(),
    };
    let opened = needs.but_not(options.open);
    let Some(frame) = Frame::of(situation.belief).filter(|_| opened != Openings::default()) else {
        return Vec::new();
    };
    options.open = options.open.and(needs);
    let behind = |at: &usize| {
        let its = prices.observation_needs(ObservationIx::from(*at));
        let reached = its.but_not(options.open) == Openings::default();
        let through = its.but_not(opened) != its;
        reached && through && !asked.contains(&ObservationIx::from(*at))
    };
    options.observations.retain(behind);
    let now = acting(&ground, &frame, &options).minutes;
    let mut offers = offers(&ground, &frame, &options);
    rank(&mut offers);
    offers
        .iter()
        .filter(|offer| matches!(offer.step, Step::Observe(_)))
        .map(|offer| Candidate {
            step: offer.step,
            gain_minutes: now - offer.left,
            cost_minutes: offer.cost,
        })
        .filter(|candidate| candidate.net_minutes() > 0.0)
        .take(MOST_SUGGESTED)
        .collect()
}

/// What is open, in the order to close it: an opening before the one it lies behind.
#[must_use]
pub fn closing_order(model: &Model, open: &[OpeningIx]) -> Vec<OpeningIx> {
    let depth = |opening: &OpeningIx| {
        let behind = |at: &OpeningIx| model.openings[at.at()].parent;
        std::iter::successors(Some(*opening), behind)
            .take(model.openings.len())
            .count()
    };
    let mut order = open.to_vec();
    order.sort_by_key(|opening| std::cmp::Reverse(depth(opening)));
    order
}

/// Minutes that these further observations are expected to save, could they be made: what is left
/// with those allowed now, less what would be left with these besides. Never below zero.
#[must_use]
pub fn saved_by(situation: &Situation, more: &[ObservationIx]) -> f64 {
    let minutes = |observations: &[ObservationIx]| {
        plan(&Situation {
            observations,
            ..*situation
        })
        .expected_minutes
    };
    let all: Vec<ObservationIx> = situation.observations.iter().chain(more).copied().collect();
    (minutes(situation.observations) - minutes(&all)).max(0.0)
}
