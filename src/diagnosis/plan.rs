//! The next step worth most: the one after which fewest minutes are expected in all.

use super::belief::Belief;
use super::bundle::bundle;
use super::cost::{Openings, Prices, Terms};
use super::frame::Frame;
use super::ground::Ground;
use super::lookahead::look_ahead;
use super::persist::persist;
use super::sequence::Options;
use super::survey::{Offer, acting, minutes_with, offers, rank};
use crate::knowledge::model::{FaultIx, Model, ObservationIx, OpeningIx};

/// Everything a plan rests on. What is unsafe, refused, out of reach or already answered has been
/// left out of `observations` and `repairs` by the caller: it is never weighed.
#[derive(Debug, Clone, Copy)]
pub struct Situation<'a> {
    /// The system.
    pub model: &'a Model,
    /// What is believed now.
    pub belief: &'a Belief,
    /// What is already open, parents included.
    pub open: &'a [OpeningIx],
    /// What may be asked for.
    pub observations: &'a [ObservationIx],
    /// What the rider may repair. Repairs left to a shop and those already done do not count.
    pub repairs: &'a [FaultIx],
    /// What steps cost beyond what the model says.
    pub terms: Terms,
    /// How far to look ahead: one step everywhere, or two steps for the few best candidates.
    pub depth: Depth,
}

/// How far to look ahead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Depth {
    /// Every observation and outcome, then repairs only.
    OneStep,
    /// Two steps for the best few candidates, where they are close.
    #[default]
    TwoSteps,
}

/// One thing to do next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Step {
    /// Make an observation.
    Observe(ObservationIx),
    /// Put a fault right, and prove it.
    Repair(FaultIx),
    /// Leave it to a licensed shop.
    HandOver,
}

/// A step with what it brings and what it costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// What to do.
    pub step: Step,
    /// Expected minutes of acting at once, less those expected after the step.
    pub gain_minutes: f64,
    /// Minutes of the step itself, with what a needless repair is expected to cost.
    pub cost_minutes: f64,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub enum Choice {
    /// Make these observations, asked for in one message; at most [`MOST_AT_ONCE`].
    Observe(Vec<ObservationIx>),
    /// Put this fault right, and prove it.
    Repair(FaultIx),
    /// Leave it to a licensed shop.
    HandOver,
}

/// The most observations asked for in one message.
pub const MOST_AT_ONCE: usize = 3;

/// Why testing goes on or stops.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// An observation is expected to save more minutes than it takes.
    TestingPays {
        /// Expected minutes saved.
        gain_minutes: f64,
        /// Minutes it takes.
        cost_minutes: f64,
    },
    /// Repairing at once saves more minutes than any observation left would.
    ActingIsCheaper {
        /// Probability of the fault to be repaired.
        suspicion: f64,
        /// The observation that came closest.
        best_test: Candidate,
    },
    /// There is no observation left to ask for.
    NothingLeftToAsk {
        /// Probability of the fault to be repaired.
        suspicion: f64,
    },
    /// Handing over costs less than any other way on.
    HandingOverIsCheaper {
        /// Expected minutes of the best other way, where there is one.
        otherwise_minutes: Option<f64>,
        /// Minutes' worth of handing over.
        handover_minutes: f64,
    },
    /// What is suspected, only a shop may repair, or is not covered by the model.
    OutOfReach {
        /// Probability that a fault is present that the rider may not repair.
        probability: f64,
    },
    /// No set of faults the model knows can bring about this evidence.
    EvidenceFitsNothing,
    /// It is likelier than not that nothing is wrong any more.
    NothingSuspected {
        /// Probability of that.
        healthy: f64,
    },
}

/// The decision, with all that is needed to carry it out and to explain it.
#[derive(Debug, Clone, PartialEq)]
#[must_use]
pub struct Plan {
    /// What to do next.
    pub choice: Choice,
    /// Every step weighed, best first.
    pub candidates: Vec<Candidate>,
    /// Expected minutes from here to the end, the chosen step included, as they pass on the clock:
    /// without what wrong repairs and giving up are worth besides. Rather too many, since it counts
    /// on no further observation after the first.
    pub expected_left_minutes: f64,
    /// The same with what wrong repairs and giving up are worth: what the choice was made by.
    pub expected_minutes: f64,
    /// Why testing goes on or stops.
    pub reason: Reason,
}

impl Candidate {
    /// Minutes saved on balance; below zero for a step that does not pay.
    #[must_use]
    pub fn net_minutes(&self) -> f64 {
        self.gain_minutes - self.cost_minutes
    }
}

/// Chooses the next step.
pub fn plan(situation: &Situation) -> Plan {
    let Some(frame) = Frame::of(situation.belief) else {
        return hand_over(situation, Reason::EvidenceFitsNothing);
    };
    let options = options(situation);
    let ground = Ground::of(situation.model, situation.terms, &options.observations);
    let now = acting(&ground, &frame, &options).minutes;
    let offers = ranked(&ground, &frame, &options, situation.depth);
    let candidates: Vec<Candidate> = offers.iter().map(|offer| candidate(offer, now)).collect();
    let choice = chosen(&ground, &frame, &options, &offers);
    let reason = reason(situation, &frame, &candidates);
    let terms = Terms {
        discomfort_minutes: 0.0,
        wrong_repair_minutes: 0.0,
        giving_up_minutes: 0.0,
        ..situation.terms
    };
    let expected_left_minutes = minutes_with(&ground.on(terms), &frame, &options, offers[0].step);
    Plan {
        choice,
        candidates,
        expected_left_minutes,
        expected_minutes: offers[0].total(),
        reason,
    }
}

/// The next step alone, under a belief only imagined: weighed over the likeliest sets, which is a
/// small part of the work.
pub(super) fn likely_choice(situation: &Situation) -> Choice {
    let Some(frame) = Frame::roughly(situation.belief) else {
        return Choice::HandOver;
    };
    let options = options(situation);
    let ground = Ground::of(situation.model, situation.terms, &options.observations);
    let offers = ranked(&ground, &frame, &options, situation.depth);
    chosen(&ground, &frame, &options, &offers)
}

/// All next steps, best first, looking as far ahead as is asked for.
fn ranked(ground: &Ground, frame: &Frame, options: &Options, depth: Depth) -> Vec<Offer> {
    let mut offers = offers(ground, frame, options);
    rank(&mut offers);
    if depth == Depth::TwoSteps {
        look_ahead(ground, frame, options, &mut offers);
        rank(&mut offers);
        if offers[0].step == Step::HandOver {
            persist(ground, frame, options, &mut offers);
            rank(&mut offers);
        }
    }
    offers
}

/// What the best of the ranked offers comes to.
fn chosen(ground: &Ground, frame: &Frame, options: &Options, ranked: &[Offer]) -> Choice {
    match ranked[0].step {
        Step::Observe(_) => Choice::Observe(bundle(ground, frame, options, &observations(ranked))),
        Step::Repair(fault) => Choice::Repair(fault),
        Step::HandOver => Choice::HandOver,
    }
}

/// The observations among the offers, best first.
fn observations(offers: &[Offer]) -> Vec<ObservationIx> {
    let observation = |offer: &Offer| match offer.step {
        Step::Observe(observation) => Some(observation),
        Step::Repair(_) | Step::HandOver => None,
    };
    offers.iter().filter_map(observation).collect()
}

/// Why the best candidate is what it is.
fn reason(situation: &Situation, frame: &Frame, candidates: &[Candidate]) -> Reason {
    let best = candidates[0];
    let test = candidates
        .iter()
        .find(|c| matches!(c.step, Step::Observe(_)));
    match (best.step, test) {
        (Step::Observe(_), _) => Reason::TestingPays {
            gain_minutes: best.gain_minutes,
            cost_minutes: best.cost_minutes,
        },
        (Step::Repair(fault), Some(best_test)) => Reason::ActingIsCheaper {
            suspicion: frame.marginals[fault.at()],
            best_test: *best_test,
        },
        (Step::Repair(fault), None) => Reason::NothingLeftToAsk {
            suspicion: frame.marginals[fault.at()],
        },
        (Step::HandOver, _) => reason_to_hand_over(situation, frame, candidates),
    }
}

fn reason_to_hand_over(situation: &Situation, frame: &Frame, candidates: &[Candidate]) -> Reason {
    let out_of_reach =
        1.0 - frame.healthy() - frame.probability_within(&options(situation).repairs);
    let other = candidates.iter().find(|c| c.step != Step::HandOver);
    let handover_minutes = candidates
        .iter()
        .find(|c| c.step == Step::HandOver)
        .map_or(0.0, |c| c.cost_minutes);
    if frame.healthy() > 0.5 {
        Reason::NothingSuspected {
            healthy: frame.healthy(),
        }
    } else if out_of_reach > 0.5 {
        Reason::OutOfReach {
            probability: out_of_reach,
        }
    } else {
        let otherwise_minutes =
            other.map(|other| handover_minutes + candidates[0].net_minutes() - other.net_minutes());
        Reason::HandingOverIsCheaper {
            otherwise_minutes,
            handover_minutes,
        }
    }
}

/// What may be done: shop repairs and repairs already made are no options.
pub(super) fn options(situation: &Situation) -> Options {
    let mine = |f: &FaultIx| {
        !situation.model.faults[f.at()].repair.shop_only && !situation.belief.is_repaired(*f)
    };
    let mut repairs: Vec<usize> = situation
        .repairs
        .iter()
        .filter(|f| mine(f))
        .map(|f| f.at())
        .collect();
    let mut observations: Vec<usize> = situation.observations.iter().map(|o| o.at()).collect();
    repairs.sort_unstable();
    repairs.dedup();
    observations.sort_unstable();
    observations.dedup();
    Options {
        observations,
        repairs,
        open: Openings::with_parents(situation.model, situation.open),
    }
}

fn candidate(offer: &Offer, acting: f64) -> Candidate {
    Candidate {
        step: offer.step,
        gain_minutes: acting - offer.left,
        cost_minutes: offer.cost,
    }
}

fn hand_over(situation: &Situation, reason: Reason) -> Plan {
    let cost_minutes = Prices::of(situation.model, situation.terms).handing_over(1.0, 1.0);
    let candidates = vec![Candidate {
        step: Step::HandOver,
        gain_minutes: cost_minutes,
        cost_minutes,
    }];
    Plan {
        choice: Choice::HandOver,
        candidates,
        expected_left_minutes: situation.model.handover_minutes,
        expected_minutes: cost_minutes,
        reason,
    }
}
