//! What the fault that stands for everything not covered shows.

use super::Draft;
use crate::knowledge::model::{Cause, FaultIx, Observation, ObservationKind};

impl Draft<'_> {
    /// `outside-model` shows what the observation says of it, or else what riders of this system see
    /// on average, flattened.
    pub(super) fn outside(&self, observation: &Observation, outside: usize) -> Cause {
        let count = observation.outcomes.len();
        let flat = match observation.kind {
            ObservationKind::Symptom | ObservationKind::History => {
                self.system.outside_flatness_of_words
            }
            _ => self.system.outside_flatness,
        };
        if observation.kind == ObservationKind::Proof {
            let there = 1.0 - self.system.false_recovery;
            return Cause {
                fault: FaultIx::from(outside),
                outcomes: vec![there, 1.0 - there],
            };
        }
        if let Some(told) = self.told_of_outside(observation) {
            return Cause {
                fault: FaultIx::from(outside),
                outcomes: told,
            };
        }
        let mut mean = vec![0.0; count];
        let mut total = 0.0;
        for (at, fault) in self.faults.iter().enumerate() {
            let prior = self.prior(&fault.prior);
            let shown = observation
                .causes
                .iter()
                .find(|cause| cause.fault.at() == at);
            let shown = shown.map_or(&observation.normal, |cause| &cause.outcomes);
            mean.iter_mut()
                .zip(shown)
                .for_each(|(mean, share)| *mean += prior * share);
            total += prior;
        }
        #[expect(
            clippy::cast_precision_loss,
            reason = "an observation has a handful of outcomes"
        )]
        let uniform = 1.0 / count as f64;
        Cause {
            fault: FaultIx::from(outside),
            outcomes: mean
                .iter()
                .map(|mean| (1.0 - flat) * mean / total + flat * uniform)
                .collect(),
        }
    }

    /// The distribution written beside the observation, if there is one.
    fn told_of_outside(&self, observation: &Observation) -> Option<Vec<f64>> {
        let checks = &self.library.observations;
        let check = checks.iter().find(|check| check.id == observation.id)?;
        let share = |id| check.outside.get(id).copied().unwrap_or(0.0);
        let outcomes = check.outcome.iter().map(|outcome| share(&outcome.id));
        (!check.outside.is_empty()).then(|| outcomes.collect())
    }
}
