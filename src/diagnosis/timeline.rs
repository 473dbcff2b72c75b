//! Which findings are in force, and which faults had been repaired when each was made.

use super::finding::Finding;
use crate::knowledge::model::ObservationIx;

/// A result in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// What was looked at.
    pub observation: ObservationIx,
    /// Weight of each outcome.
    pub weights: Vec<f64>,
    /// Share of the likelihood that is the model's.
    pub strength: f64,
    /// By fault, whether it had been repaired by then.
    pub repaired: Vec<bool>,
}

/// The evidence after replacing repeated results.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    /// Results in force, oldest first.
    pub sightings: Vec<Sighting>,
    /// By fault, whether it has been repaired by now.
    pub repaired: Vec<bool>,
}

impl Timeline {
    /// Reads the findings in order. A result replaces an earlier one of the same observation unless
    /// a repair stands between.
    pub fn of(findings: &[Finding], faults: usize) -> Self {
        let mut sightings: Vec<Sighting> = Vec::with_capacity(findings.len());
        let mut repaired = vec![false; faults];
        let mut since_repair = 0;
        for finding in findings {
            match finding {
                Finding::Repaired(fault) => {
                    repaired[fault.at()] = true;
                    since_repair = sightings.len();
                }
                Finding::Seen {
                    observation,
                    weights,
                    strength,
                } => {
                    let sighting = Sighting {
                        observation: *observation,
                        weights: weights.clone(),
                        strength: *strength,
                        repaired: repaired.clone(),
                    };
                    let earlier = sightings[since_repair..]
                        .iter_mut()
                        .find(|s| s.observation == *observation);
                    match earlier {
                        Some(earlier) => *earlier = sighting,
                        None => sightings.push(sighting),
                    }
                }
            }
        }
        Self {
            sightings,
            repaired,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::model::FaultIx;

    fn seen(observation: u16, first: f64) -> Finding {
        Finding::Seen {
            observation: ObservationIx(observation),
            weights: vec![first, 1.0 - first],
            strength: 1.0,
        }
    }

    #[test]
    fn a_repeat_replaces_unless_a_repair_stands_between() {
        let findings = [
            seen(0, 1.0),
            seen(1, 1.0),
            seen(0, 0.0),
            Finding::Repaired(FaultIx(1)),
            seen(0, 0.5),
            seen(0, 0.25),
        ];
        let timeline = Timeline::of(&findings, 2);
        let firsts: Vec<f64> = timeline.sightings.iter().map(|s| s.weights[0]).collect();
        assert_eq!(firsts, [0.0, 1.0, 0.25]);
        assert_eq!(timeline.sightings[2].repaired, [false, true]);
        assert_eq!(timeline.sightings[1].repaired, [false, false]);
    }
}
