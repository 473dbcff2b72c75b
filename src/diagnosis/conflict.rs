//! Which one result fits the others so badly that it is worth asking for again.
//!
//! The measure is leave-one-out: a result conflicts by as many bits as the others have made it less
//! probable than it was before anything was known, log2 P(e) / P(e | the others). A rare but
//! consistent case has improbable results that support each other, which count below zero here.
//! As statistics go it is weak (on invented riders it puts the wrong answer first in three cases of
//! five), so a conflict is never announced: the result is asked for again, and only if it matters.

use super::belief::Belief;
use super::plan::{Choice, Situation, plan};
use crate::knowledge::model::ObservationIx;

/// Conflicts below this many bits are not worth a question: eight times less probable than before.
pub const WORTH_ASKING_BITS: f64 = 3.0;

/// A result that fits the others badly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conflict {
    /// What to ask for again.
    pub observation: ObservationIx,
    /// How badly it fits.
    pub bits: f64,
    /// Whether the next step would be another without it.
    pub changes_answer: bool,
}

/// How badly each result in force fits the others, in bits, oldest first.
#[must_use]
pub fn misfits(belief: &Belief) -> Vec<(ObservationIx, f64)> {
    let untouched = belief.untouched();
    let misfit = |at: usize| {
        let alone = untouched.log_predictive(belief, at);
        let with_others = belief.log_predictive_from_others(at);
        (
            belief.seen[at].0.observation,
            (alone - with_others) / std::f64::consts::LN_2,
        )
    };
    (0..belief.seen.len()).map(misfit).collect()
}

/// The result that fits worst, if it does so by [`WORTH_ASKING_BITS`].
///
/// Pass the situation with what may be asked for next; whether the answer would change is found by
/// planning once more without the result.
#[must_use]
pub fn conflict(situation: &Situation) -> Option<Conflict> {
    let misfits = misfits(situation.belief);
    let mut worst: Option<(usize, f64)> = None;
    for (at, (_, bits)) in misfits.iter().enumerate() {
        if *bits >= WORTH_ASKING_BITS && worst.is_none_or(|(_, most)| *bits > most) {
            worst = Some((at, *bits));
        }
    }
    let (at, bits) = worst?;
    let without = situation.belief.without(at);
    let changes_answer = choice(situation)
        != choice(&Situation {
            belief: &without,
            ..*situation
        });
    Some(Conflict {
        observation: misfits[at].0,
        bits,
        changes_answer,
    })
}

fn choice(situation: &Situation) -> Choice {
    plan(situation).choice
}
