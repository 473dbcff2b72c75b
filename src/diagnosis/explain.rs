//! The reasons behind a decision, as figures: what would follow, what is ruled out, what is split.

use super::belief::Belief;
use super::forecast::{Deciders, Forecast};
use super::frame::Frame;
use super::plan::{Choice, Situation, plan};
use crate::knowledge::model::{FaultIx, ObservationIx, OutcomeIx};

/// How many suspects are named after each outcome.
const SUSPECTS: usize = 3;

/// What one outcome would make of things.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// The outcome.
    pub outcome: OutcomeIx,
    /// Probability that the observation shows it.
    pub probability: f64,
    /// The leading suspects after it, likeliest first.
    pub suspects: Vec<(FaultIx, f64)>,
    /// What would be done next.
    pub choice: Choice,
}

/// What would follow from each outcome of an observation, in the order of the outcomes.
#[must_use]
pub fn what_if(situation: &Situation, observation: ObservationIx) -> Vec<WhatIf> {
    let looked_at = &situation.model.observations[observation.at()];
    let observations: Vec<ObservationIx> = situation
        .observations
        .iter()
        .copied()
        .filter(|other| *other != observation)
        .collect();
    let deciders = Deciders::of(looked_at, situation.model.faults.len());
    let forecast = Frame::of(situation.belief).map(|frame| Forecast::of(&deciders, &frame));
    let follow = |(at, probability): (usize, &f64)| {
        let mut weights = vec![0.0; looked_at.outcomes.len()];
        weights[at] = 1.0;
        let belief = situation
            .belief
            .after(situation.model, observation, &weights, 1.0);
        let mut suspects = belief.suspects();
        suspects.truncate(SUSPECTS);
        let after = Situation {
            belief: &belief,
            observations: &observations,
            ..*situation
        };
        WhatIf {
            outcome: OutcomeIx::from(at),
            probability: *probability,
            suspects,
            choice: plan(&after).choice,
        }
    };
    forecast
        .iter()
        .flat_map(|forecast| forecast.probabilities.iter().enumerate())
        .map(follow)
        .collect()
}

/// A fault no longer worth naming, and the result that spoke most against it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuledOut {
    /// Which fault.
    pub fault: FaultIx,
    /// Probability that it is present now.
    pub probability: f64,
    /// What spoke against it.
    pub by: ObservationIx,
    /// How many times less probable that result was with this fault than with the leading suspect.
    pub times: f64,
}

/// A fault below this probability may count as ruled out.
pub const RULED_OUT: f64 = 0.02;
/// A single result must have spoken against it this many times, or it was merely never suspected.
pub const SPEAKS_AGAINST: f64 = 4.0;

/// The faults that the results have ruled out, by position: less probable than [`RULED_OUT`], less
/// probable than before anything was seen, and with a result [`SPEAKS_AGAINST`] them.
///
/// A result speaks against a fault as many times as it was less probable with that fault alone than
/// with the leading suspect alone.
#[must_use]
pub fn ruled_out(belief: &Belief) -> Vec<RuledOut> {
    let Some((leader, _)) = belief.suspects().first().copied() else {
        return Vec::new();
    };
    let before = belief.untouched();
    let spoke_most = |fault: FaultIx| {
        let mut most: Option<RuledOut> = None;
        for (sighting, likelihood) in belief.seen() {
            let times = likelihood.alone(leader.at()) / likelihood.alone(fault.at());
            if times >= most.map_or(SPEAKS_AGAINST, |most| most.times) {
                let probability = belief.present_now(fault);
                most = Some(RuledOut {
                    fault,
                    probability,
                    by: sighting.observation,
                    times,
                });
            }
        }
        most
    };
    let fallen = |fault: &FaultIx| {
        let now = belief.present_now(*fault);
        now < RULED_OUT && now < before.present_now(*fault) && !belief.is_repaired(*fault)
    };
    belief
        .faults()
        .filter(fallen)
        .filter_map(spoke_most)
        .collect()
}

/// Suspects that one outcome of an observation would point to.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// The outcome.
    pub outcome: OutcomeIx,
    /// Probability that the observation shows it.
    pub probability: f64,
    /// The suspects it makes likelier, with their probability after it, likeliest first.
    pub suspects: Vec<(FaultIx, f64)>,
}

/// Which suspects an observation tells apart: for each outcome, those it makes likelier. Suspects
/// below [`RULED_OUT`] both before and after are left out. None where the evidence is impossible.
#[must_use]
pub fn why(situation: &Situation, observation: ObservationIx) -> Vec<Side> {
    let Some(frame) = Frame::of(situation.belief) else {
        return Vec::new();
    };
    let looked_at = &situation.model.observations[observation.at()];
    let deciders = Deciders::of(looked_at, frame.faults());
    let forecast = Forecast::of(&deciders, &frame);
    let side = |(at, probability): (usize, &f64)| {
        let after = |fault: usize| forecast.joint(at)[fault] / probability;
        let raised =
            |fault: &usize| after(*fault) >= RULED_OUT && after(*fault) > frame.marginals[*fault];
        let mut suspects: Vec<(FaultIx, f64)> = (0..frame.faults())
            .filter(raised)
            .map(|fault| (FaultIx::from(fault), after(fault)))
            .collect();
        suspects.sort_by(|x, y| y.1.total_cmp(&x.1));
        Side {
            outcome: OutcomeIx::from(at),
            probability: *probability,
            suspects,
        }
    };
    forecast
        .probabilities
        .iter()
        .enumerate()
        .map(side)
        .collect()
}
