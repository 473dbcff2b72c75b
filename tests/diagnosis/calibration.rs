//! How often an honest result is called a conflict on the shipped systems, and a misread meter is found.

use crate::policy::hard;
use crate::random::Dice;
use floatbowl::diagnosis::conflict::conflict_in;
use floatbowl::diagnosis::{Belief, Choice, Depth, Finding, Prior, Situation, Terms, plan};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx, ObservationKind};
use std::sync::Arc;

/// Faults as seldom as this are the rare ones.
const RARE: f64 = 0.003;

/// One bike with one fault, and its rider.
struct Rider<'a> {
    model: &'a Model,
    fault: FaultIx,
    dice: Dice,
    /// Whether the first number read off a meter is another than the meter shows.
    misreads: bool,
    misread: Option<ObservationIx>,
}

/// What came of one rider.
struct Ride {
    rare: bool,
    misread: Option<ObservationIx>,
    asked_again: Vec<ObservationIx>,
}

impl Rider<'_> {
    fn kind(&self, at: ObservationIx) -> ObservationKind {
        self.model.observations[at.at()].kind
    }

    /// What the bike shows: the distribution of its fault, or the usual one.
    fn shows(&mut self, at: ObservationIx) -> usize {
        let seen = &self.model.observations[at.at()];
        let cause = seen.causes.iter().find(|cause| cause.fault == self.fault);
        self.dice
            .pick(cause.map_or(&seen.normal, |cause| &cause.outcomes))
    }

    fn answer(&mut self, at: ObservationIx) -> Finding {
        let mut outcome = self.shows(at);
        let meter = self.kind(at) == ObservationKind::Measurement;
        if self.misreads && meter && self.misread.is_none() {
            self.misread = Some(at);
            outcome = (outcome + 1) % self.model.observations[at.at()].outcomes.len();
        }
        hard(self.model, at, outcome)
    }

    /// Everything the bike complains of.
    fn complaints(&mut self) -> Vec<Finding> {
        let all = (0..self.model.observations.len()).map(ObservationIx::from);
        let symptoms: Vec<ObservationIx> = all
            .filter(|at| self.kind(*at) == ObservationKind::Symptom)
            .collect();
        let shown = symptoms.into_iter().filter(|at| self.shows(*at) == 0);
        let shown: Vec<ObservationIx> = shown.collect();
        shown
            .into_iter()
            .map(|at| hard(self.model, at, 0))
            .collect()
    }

    /// Follows the plan until something is to be repaired or handed over.
    fn ride(mut self, prior: &Arc<Prior>) -> Ride {
        const MOST: usize = 40;
        let mut findings = self.complaints();
        let all = (0..self.model.observations.len()).map(ObservationIx::from);
        let mut left: Vec<ObservationIx> = all
            .filter(|at| {
                let kind = self.kind(*at);
                matches!(kind, ObservationKind::Choice | ObservationKind::Measurement)
            })
            .collect();
        let (mut made, mut asked_again) = (Vec::new(), Vec::new());
        for _ in 0..MOST {
            let belief = Belief::from_prior(prior, self.model, &findings);
            let situation = Situation {
                model: self.model,
                belief: &belief,
                open: &[],
                observations: &left,
                repairs: &belief.faults().collect::<Vec<_>>(),
                terms: Terms::default(),
                depth: Depth::OneStep,
            };
            let choice = plan(&situation).choice;
            let may_repeat = |at: ObservationIx| made.contains(&at) && !asked_again.contains(&at);
            let conflict = conflict_in(&situation, &choice, may_repeat);
            if let Some(conflict) = conflict.filter(|conflict| conflict.changes_answer) {
                asked_again.push(conflict.observation);
                findings.push(self.answer(conflict.observation));
                continue;
            }
            let Choice::Observe(observations) = choice else {
                break;
            };
            for at in observations {
                left.retain(|other| *other != at);
                made.push(at);
                findings.push(self.answer(at));
            }
        }
        Ride {
            rare: self.model.faults[self.fault.at()].prior < RARE,
            misread: self.misread,
            asked_again,
        }
    }
}

/// So many riders of a system, faults taken in turn, so that the rare ones come as often as the common.
fn rides(model: &Model, riders: u64, misreads: bool) -> Vec<Ride> {
    let prior = Arc::new(Prior::of(model));
    // The last fault stands for all that the knowledge does not cover.
    let faults = model.faults.len() - 1;
    let step = if riders < 50 { 7 } else { 1 };
    let ride = |seed: u64| {
        let nth = usize::try_from(seed).expect("few riders");
        let rider = Rider {
            model,
            fault: FaultIx::from(nth * step % faults),
            dice: Dice::of(seed),
            misreads,
            misread: None,
        };
        rider.ride(&prior)
    };
    (0..riders).map(ride).collect()
}

/// How many of those that count, and of how many.
fn share(rides: &[Ride], counts: impl Fn(&Ride) -> bool, holds: impl Fn(&Ride) -> bool) -> f64 {
    let counted: Vec<&Ride> = rides.iter().filter(|ride| counts(ride)).collect();
    let held = counted.iter().filter(|ride| holds(ride)).count();
    let number = |n: usize| f64::from(u32::try_from(n).expect("few riders"));
    number(held) / number(counted.len())
}

fn riders_each() -> u64 {
    let long = std::env::var("FLOATBOWL_CONFLICT").is_ok_and(|runs| runs == "long");
    if long { 200 } else { 24 }
}

/// Over a whole conversation at most 35 of 100 honest riders are asked for a result again, and at most
/// half of those with a rare fault; of those who misread the meter once, that very reading is asked for
/// again for at least half. Of 800 riders each (`FLOATBOWL_CONFLICT=long`) they were 29, 40 and 60 of 100.
#[test]
fn a_rare_case_is_seldom_a_conflict_and_a_misread_meter_is_found() {
    let knowledge = Knowledge::embedded();
    let (mut honest, mut slipped) = (Vec::new(), Vec::new());
    for system in knowledge.systems.keys() {
        let model = knowledge.model(system).expect("every system has a model");
        let sure = rides(model, riders_each(), false);
        let unsure = rides(model, riders_each(), true);
        println!(
            "{system}: honest asked again {:.2}, misread reading named {:.2}",
            share(&sure, |_| true, |ride| !ride.asked_again.is_empty()),
            share(&unsure, |ride| ride.misread.is_some(), named),
        );
        honest.extend(sure);
        slipped.extend(unsure);
    }
    let again = |ride: &Ride| !ride.asked_again.is_empty();
    let all = share(&honest, |_| true, again);
    let rare = share(&honest, |ride| ride.rare, again);
    let found = share(&slipped, |ride| ride.misread.is_some(), named);
    println!("all: honest {all:.2}, with a rare fault {rare:.2}, misread reading named {found:.2}");
    assert!(all <= 0.35, "honest riders asked again: {all}");
    assert!(rare <= 0.5, "riders with a rare fault asked again: {rare}");
    assert!(found >= 0.5, "misread readings asked again: {found}");
}

fn named(ride: &Ride) -> bool {
    ride.misread
        .is_some_and(|misread| ride.asked_again.contains(&misread))
}
