//! The fair sticks to measure by: a walk along the paths, battery to pump and tank to jets.

use super::bike::Bike;
use crate::diagnosis::{Belief, Choice, Depth, Finding, Situation, Step, Terms, plan};
use crate::knowledge::model::{
    FaultIx, Model, Observation, ObservationIx, ObservationKind, OpeningIx,
};

/// Minutes until every fault is found and repaired, when the faults are looked for in path order,
/// each by the check that shows it best, a check already made not being made again. No check errs
/// and every repair holds, which is more than a rider gets.
#[must_use]
pub(super) fn plain(model: &Model, faults: &[FaultIx], proof_minutes: f64) -> f64 {
    let mut walk = Walk::new(model);
    let last = faults.iter().map(|fault| fault.at()).max().unwrap_or(0);
    for fault in (0..=last).map(FaultIx::from) {
        if let Some(check) = best_check(model, fault) {
            walk.check(check);
        }
        if faults.contains(&fault) {
            walk.repair(fault, proof_minutes);
        }
    }
    walk.minutes
}

/// Minutes of the same walk where a check that is not worth its minutes is skipped, and where
/// repairing and giving up are decided as the conversation decides them: what is left of the
/// difference is the order of the checks. Answers are drawn from the bike.
#[must_use]
pub(super) fn skipping(mut bike: Bike<'_>, complaint: &[Finding], terms: Terms) -> f64 {
    let model = bike.model;
    let mut walk = Walk::new(model);
    let mut findings = complaint.to_vec();
    let order: Vec<ObservationIx> = in_path_order(model);
    let mut left = order.clone();
    loop {
        let belief = Belief::given(model, &findings);
        let repairs: Vec<FaultIx> = belief
            .faults()
            .filter(|f| !belief.is_repaired(*f))
            .collect();
        let plan = plan(&Situation {
            model,
            belief: &belief,
            open: &walk.openings(),
            observations: &left,
            repairs: &repairs,
            terms,
            depth: Depth::OneStep,
        });
        let pays = |check: &ObservationIx| {
            plan.candidates
                .iter()
                .any(|c| c.step == Step::Observe(*check) && c.net_minutes() > 0.0)
        };
        let acting = plan.candidates.iter().find_map(|c| match c.step {
            Step::Repair(fault) => Some(Choice::Repair(fault)),
            Step::HandOver => Some(Choice::HandOver),
            Step::Observe(_) => None,
        });
        match (left.iter().copied().find(pays), acting) {
            (Some(check), _) => {
                walk.check(check);
                left.retain(|other| *other != check);
                findings.push(seen(model, check, bike.shows(check)));
            }
            (None, Some(Choice::Repair(fault))) => {
                walk.repair(fault, terms.proof_minutes);
                bike.repair(fault);
                findings.push(Finding::Repaired(fault));
                if bike.present.is_empty() {
                    return walk.minutes;
                }
                // Whatever was seen before may be different now.
                walk.made.clear();
                left.clone_from(&order);
            }
            _ => return walk.minutes,
        }
    }
}

/// Expected minutes' worth of the best policy from the start, before any complaint; none where the
/// model is too large to know.
#[must_use]
pub(super) fn optimum(model: &Model, terms: Terms) -> Option<f64> {
    let belief = Belief::given(model, &[]);
    let is_proof = |at: &usize| model.observations[*at].kind == ObservationKind::Proof;
    let observations: Vec<ObservationIx> = (0..model.observations.len())
        .filter(|at| !is_proof(at))
        .map(ObservationIx::from)
        .collect();
    let repairs: Vec<FaultIx> = belief.faults().collect();
    crate::diagnosis::optimum::optimum(&Situation {
        model,
        belief: &belief,
        open: &[],
        observations: &observations,
        repairs: &repairs,
        terms,
        depth: Depth::OneStep,
    })
}

/// A plain result.
#[must_use]
pub(super) fn seen(model: &Model, observation: ObservationIx, outcome: usize) -> Finding {
    let mut weights = vec![0.0; model.observations[observation.at()].outcomes.len()];
    weights[outcome] = 1.0;
    Finding::Seen {
        observation,
        weights,
        strength: 1.0,
    }
}

/// Each fault's best check, in path order, none twice.
fn in_path_order(model: &Model) -> Vec<ObservationIx> {
    let mut order: Vec<ObservationIx> = Vec::new();
    for fault in 0..model.faults.len() {
        if let Some(check) = best_check(model, FaultIx::from(fault))
            && !order.contains(&check)
        {
            order.push(check);
        }
    }
    order
}

/// The check or measurement that shows a fault best.
fn best_check(model: &Model, fault: FaultIx) -> Option<ObservationIx> {
    let is_check = |check: &Observation| {
        matches!(
            check.kind,
            ObservationKind::Choice | ObservationKind::Measurement
        )
    };
    model
        .observations
        .iter()
        .enumerate()
        .filter(|(_, check)| is_check(check))
        .map(|(at, check)| (at, shows(check, fault)))
        .filter(|(_, shown)| *shown > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
        .map(|(at, _)| ObservationIx::from(at))
}

/// Total variation between what a check shows with the fault and without.
fn shows(check: &Observation, fault: FaultIx) -> f64 {
    let cause = check.causes.iter().find(|cause| cause.fault == fault);
    cause.map_or(0.0, |cause| {
        0.5 * cause
            .outcomes
            .iter()
            .zip(&check.normal)
            .map(|(a, b)| (a - b).abs())
            .sum::<f64>()
    })
}

/// Minutes counted as the conversation counts them: hands-on, opening and proof.
struct Walk<'a> {
    model: &'a Model,
    made: Vec<ObservationIx>,
    open: Vec<bool>,
    minutes: f64,
}

impl<'a> Walk<'a> {
    fn new(model: &'a Model) -> Self {
        Self {
            model,
            made: Vec::new(),
            open: vec![false; model.openings.len()],
            minutes: 0.0,
        }
    }

    fn check(&mut self, at: ObservationIx) {
        if !self.made.contains(&at) {
            self.made.push(at);
            let check = &self.model.observations[at.at()];
            self.minutes += check.minutes;
            self.open(&check.openings);
        }
    }

    fn repair(&mut self, fault: FaultIx, proof_minutes: f64) {
        let repair = &self.model.faults[fault.at()].repair;
        self.minutes += repair.minutes + proof_minutes;
        self.open(&repair.openings);
    }

    fn open(&mut self, openings: &[OpeningIx]) {
        for opening in openings {
            let mut next = Some(*opening);
            while let Some(at) = next.filter(|at| !self.open[at.at()]) {
                self.open[at.at()] = true;
                self.minutes += self.model.openings[at.at()].open_minutes;
                next = self.model.openings[at.at()].parent;
            }
        }
    }

    fn openings(&self) -> Vec<OpeningIx> {
        (0..self.open.len())
            .filter(|at| self.open[*at])
            .map(OpeningIx::from)
            .collect()
    }
}
