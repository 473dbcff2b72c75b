//! Priors from confirmed outcomes: counts on top of a weak prior, never a word of any message.
//!
//! Which fault a bike turned out to have is one draw from the faults of its system. With a Dirichlet
//! prior whose shares are those of the knowledge and whose strength is [`STRENGTH`] draws, the shares
//! after counting are (strength x share + count) / (strength + all counts), and each has a beta
//! distribution (Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.4). A fault's new prior is
//! its share times the sum of all priors, so that counting tells which faults are common and not how
//! often bikes break.

use super::transcript::Past;
use crate::knowledge::Knowledge;
use crate::knowledge::compile::OUTSIDE;
use crate::knowledge::id::{FaultId, SystemId};
use crate::knowledge::model::Model;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use statrs::distribution::{Beta, ContinuousCDF};
use std::collections::BTreeMap;

/// How many confirmed outcomes the priors of the knowledge are worth. Common practice, no source:
/// few enough that a season's outcomes count, enough that the first handful moves little.
pub const STRENGTH: f64 = 30.0;
/// The share of the belief that the interval holds.
pub const INSIDE: f64 = 0.95;
/// No fault becomes likelier than this before anything is known.
const HIGHEST: f64 = 0.5;

/// How often each fault was confirmed, by system.
pub type Counts = BTreeMap<SystemId, BTreeMap<FaultId, u32>>;

/// Adds the outcome of a conversation, if the rider consented and a volunteer confirmed it.
pub fn count(counts: &mut Counts, past: &Past, system: Option<&SystemId>) {
    let (Some(true), Some(faults), Some(system)) = (past.consent(), past.confirmed(), system)
    else {
        return;
    };
    let counted = counts.entry(system.clone()).or_default();
    if faults.is_empty() {
        *counted.entry(FaultId::from(OUTSIDE)).or_default() += 1;
    }
    for fault in faults {
        *counted.entry(fault).or_default() += 1;
    }
}

/// A fault before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The system.
    pub system: SystemId,
    /// The fault.
    pub fault: FaultId,
    /// How often it was confirmed.
    pub count: u32,
    /// Its prior in the knowledge.
    pub before: f64,
    /// Its prior after counting.
    pub after: f64,
    /// Lower end of the interval that holds [`INSIDE`] of the belief about it.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Every fault of the systems with confirmed outcomes.
#[must_use]
pub fn table(counts: &Counts, knowledge: &Knowledge) -> Vec<Row> {
    let with_counts = counts
        .iter()
        .filter_map(|(system, counts)| Some((knowledge.model(system)?, counts)));
    with_counts
        .flat_map(|(model, counts)| rows(model, counts))
        .collect()
}

fn rows(model: &Model, counts: &BTreeMap<FaultId, u32>) -> Vec<Row> {
    let sum: f64 = model.faults.iter().map(|fault| fault.prior).sum();
    let count = |fault: &FaultId| counts.get(fault).copied().unwrap_or(0);
    let known = model.faults.iter();
    let all: f64 = known.clone().map(|fault| f64::from(count(&fault.id))).sum();
    known
        .map(|fault| {
            let share = fault.prior / sum;
            let [mean, low, high] = posterior(STRENGTH, share, (count(&fault.id), all));
            let as_prior = |share: f64| (share * sum).min(HIGHEST);
            Row {
                system: model.system.clone(),
                fault: fault.id.clone(),
                count: count(&fault.id),
                before: fault.prior,
                after: as_prior(mean),
                low: as_prior(low),
                high: as_prior(high),
            }
        })
        .collect()
}

/// Mean and ends of the central interval of a share that was `share` with the weight of `strength`
/// draws, after so many of so many draws.
#[must_use]
pub fn posterior(strength: f64, share: f64, (count, all): (u32, f64)) -> [f64; 3] {
    let drawn = strength * share + f64::from(count);
    let beta = Beta::new(drawn, strength + all - drawn);
    let at = |p: f64| beta.as_ref().map_or(f64::NAN, |beta| beta.inverse_cdf(p));
    let outside = (1.0 - INSIDE) / 2.0;
    [drawn / (strength + all), at(outside), at(1.0 - outside)]
}

/// What a moderator decided: which priors stand in place of those of the knowledge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Act {
    /// When.
    pub at: Timestamp,
    /// Whether it took an earlier act back.
    pub reverts: bool,
    /// System, fault and prior; all others are as in the knowledge.
    pub priors: Vec<(SystemId, FaultId, f64)>,
}

/// The act that puts a table in force.
#[must_use]
pub fn act(rows: &[Row], at: Timestamp) -> Act {
    let priors = rows.iter();
    Act {
        at,
        reverts: false,
        priors: priors
            .map(|row| (row.system.clone(), row.fault.clone(), row.after))
            .collect(),
    }
}

/// The act that takes the last one in force back; none if nothing is in force.
#[must_use]
pub fn reverting(acts: &[Act], at: Timestamp) -> Option<Act> {
    let standing = standing(acts);
    standing.last()?;
    let before = standing.len().checked_sub(2).map(|at| standing[at]);
    Some(Act {
        at,
        reverts: true,
        priors: before.map(|act| act.priors.clone()).unwrap_or_default(),
    })
}

/// Acts that were not taken back.
fn standing(acts: &[Act]) -> Vec<&Act> {
    let mut standing = Vec::new();
    for act in acts {
        if act.reverts {
            standing.pop();
        } else {
            standing.push(act);
        }
    }
    standing
}

/// Puts the last act in force, and says so in the revision of the knowledge.
pub fn put_in_force(knowledge: &mut Knowledge, acts: &[Act]) {
    let Some(act) = acts.last().filter(|act| !act.priors.is_empty()) else {
        return;
    };
    for model in &mut knowledge.models {
        for fault in &mut model.faults {
            let learned = act
                .priors
                .iter()
                .find(|(system, id, _)| *system == model.system && *id == fault.id);
            if let Some((_, _, prior)) = learned {
                fault.prior = *prior;
            }
        }
    }
    knowledge.revision = format!("{}+learned-{}", knowledge.revision, acts.len());
}
