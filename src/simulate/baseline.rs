//! The fair stick to measure by: a plain walk along the paths, battery to pump and tank to jets.

use crate::knowledge::model::{FaultIx, Model, Observation, ObservationKind};
use std::collections::BTreeSet;

/// Minutes until every fault is found and repaired, when the faults are looked for in path order,
/// each by the check that shows it best, a check already made not being made again.
#[must_use]
pub fn minutes(model: &Model, faults: &[FaultIx]) -> f64 {
    let mut walk = Walk {
        model,
        made: BTreeSet::new(),
        open: BTreeSet::new(),
        minutes: 0.0,
    };
    let last = faults.iter().map(|fault| fault.at()).max().unwrap_or(0);
    for at in 0..=last {
        walk.check(FaultIx::from(at));
        if faults.contains(&FaultIx::from(at)) {
            walk.repair(FaultIx::from(at));
        }
    }
    walk.minutes
}

struct Walk<'a> {
    model: &'a Model,
    made: BTreeSet<usize>,
    open: BTreeSet<usize>,
    minutes: f64,
}

impl Walk<'_> {
    fn check(&mut self, fault: FaultIx) {
        let checks = self.model.observations.iter().enumerate();
        let best = checks
            .filter(|(_, check)| {
                matches!(
                    check.kind,
                    ObservationKind::Choice | ObservationKind::Measurement
                )
            })
            .map(|(at, check)| (at, shows(check, fault)))
            .filter(|(_, shown)| *shown > 0.0)
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        let Some((at, _)) = best else { return };
        if self.made.insert(at) {
            let check = &self.model.observations[at];
            self.minutes += check.minutes;
            self.open(
                &check
                    .openings
                    .iter()
                    .map(|opening| opening.at())
                    .collect::<Vec<_>>(),
            );
        }
    }

    fn repair(&mut self, fault: FaultIx) {
        let repair = &self.model.faults[fault.at()].repair;
        self.minutes += repair.minutes;
        self.open(
            &repair
                .openings
                .iter()
                .map(|opening| opening.at())
                .collect::<Vec<_>>(),
        );
    }

    fn open(&mut self, openings: &[usize]) {
        for opening in openings {
            let mut next = Some(*opening);
            while let Some(at) = next.filter(|at| self.open.insert(*at)) {
                self.minutes += self.model.openings[at].open_minutes;
                next = self.model.openings[at]
                    .parent
                    .map(super::super::knowledge::model::OpeningIx::at);
            }
        }
    }
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
