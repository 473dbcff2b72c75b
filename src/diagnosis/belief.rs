//! The probability of every set of faults given the evidence.

use super::finding::Finding;
use super::floor::floor;
use super::frame::Entry;
use super::likelihood::Likelihood;
use super::prior::Prior;
use super::sets::{Members, Sets, without};
use super::timeline::{Sighting, Timeline};
use super::truncation::dropped_mass_bound;
use crate::knowledge::model::{FaultIx, Model, ObservationIx};
use std::sync::Arc;

/// What is believed after some evidence: exact over all sets of at most three faults (Bayes' rule,
/// in the log domain).
///
/// A belief is never stored: it is folded anew from the findings of a conversation.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    prior: Arc<Prior>,
    evidence: Evidence,
    /// By set: natural logarithm of its unnormalised posterior.
    log_weights: Vec<f64>,
    /// By set: the same as a part of the largest. Kept, since planning and conflict need it too and
    /// exponentials are a good part of an update.
    parts: Vec<f64>,
    /// The sum of the parts.
    total: f64,
    at_start: Vec<f64>,
    log_total: f64,
}

/// What a belief was folded from.
#[derive(Debug, Clone, PartialEq)]
struct Evidence {
    /// Results in force with their likelihoods, oldest first.
    seen: Vec<(Sighting, Likelihood)>,
    /// By fault, whether it has been repaired by now.
    repaired: Vec<bool>,
    /// How many repairs have been made.
    repairs: usize,
}

impl Belief {
    /// What to believe after these findings.
    #[must_use]
    pub fn given(model: &Model, findings: &[Finding]) -> Self {
        Self::from_prior(&Arc::new(Prior::of(model)), model, findings)
    }

    /// As [`Belief::given`], with the model's prior made beforehand.
    #[must_use]
    pub fn from_prior(prior: &Arc<Prior>, model: &Model, findings: &[Finding]) -> Self {
        let timeline = Timeline::of(findings, model.faults.len());
        let judged = |sighting: Sighting| {
            let likelihood = Likelihood::of(model, &sighting);
            (sighting, likelihood)
        };
        let seen = timeline.sightings.into_iter().map(judged).collect();
        let evidence = Evidence {
            seen,
            repaired: timeline.repaired,
            repairs: timeline.repairs,
        };
        Self::folded(Arc::clone(prior), evidence)
    }

    fn folded(prior: Arc<Prior>, evidence: Evidence) -> Self {
        let mut log_weights = prior.log_weights.clone();
        for (_, likelihood) in &evidence.seen {
            likelihood.add_to(&prior.sets, &mut log_weights);
        }
        Self::normalised(prior, evidence, log_weights)
    }

    fn normalised(prior: Arc<Prior>, evidence: Evidence, log_weights: Vec<f64>) -> Self {
        let largest = largest(&log_weights);
        let parts = parts(&log_weights, largest);
        let (at_start, total) = marginals(&prior.sets, &parts);
        Self {
            prior,
            evidence,
            log_weights,
            parts,
            total,
            at_start,
            log_total: largest + total.ln(),
        }
    }

    /// What to believe after one more result: one pass, without going back over the others.
    ///
    /// A result that replaces an earlier one is folded from the start instead.
    #[must_use]
    pub fn after(
        &self,
        model: &Model,
        observation: ObservationIx,
        weights: &[f64],
        strength: f64,
    ) -> Self {
        let mut evidence = self.evidence.clone();
        let sighting = Sighting {
            observation,
            weights: weights.to_vec(),
            strength,
            repaired: evidence.repaired.clone(),
            repairs: evidence.repairs,
        };
        let likelihood = Likelihood::of(model, &sighting);
        let same =
            |(s, _): &(Sighting, _)| s.observation == observation && s.repairs == evidence.repairs;
        if let Some(at) = evidence.seen.iter().position(same) {
            evidence.seen[at] = (sighting, likelihood);
            return Self::folded(Arc::clone(&self.prior), evidence);
        }
        let mut log_weights = self.log_weights.clone();
        likelihood.add_to(&self.prior.sets, &mut log_weights);
        evidence.seen.push((sighting, likelihood));
        Self::normalised(Arc::clone(&self.prior), evidence, log_weights)
    }

    /// What to believe had one of the results in force not been seen.
    ///
    /// Its likelihood is taken off again, which saves folding the others anew, unless it is zero
    /// somewhere.
    pub(super) fn without(&self, at: usize) -> Self {
        let mut evidence = self.evidence.clone();
        let (_, likelihood) = evidence.seen.remove(at);
        if !likelihood.is_never_zero() {
            return Self::folded(Arc::clone(&self.prior), evidence);
        }
        let mut log_weights = self.log_weights.clone();
        likelihood.take_off(&self.prior.sets, &mut log_weights);
        Self::normalised(Arc::clone(&self.prior), evidence, log_weights)
    }

    /// The belief before anything was seen or repaired.
    pub(super) fn untouched(&self) -> Self {
        let evidence = Evidence {
            seen: Vec::new(),
            repaired: vec![false; self.at_start.len()],
            repairs: 0,
        };
        Self::folded(Arc::clone(&self.prior), evidence)
    }

    /// Results in force with their likelihoods, oldest first.
    pub(super) fn seen(&self) -> &[(Sighting, Likelihood)] {
        &self.evidence.seen
    }

    /// Probability that the fault was present when the conversation began, given all findings.
    #[must_use]
    pub fn present_at_start(&self, fault: FaultIx) -> f64 {
        self.at_start[fault.at()]
    }

    /// Probability that the fault is present now: as at the start, but none for one repaired since.
    #[must_use]
    pub fn present_now(&self, fault: FaultIx) -> f64 {
        if self.evidence.repaired[fault.at()] {
            0.0
        } else {
            self.at_start[fault.at()]
        }
    }

    /// Every fault of the model.
    pub fn faults(&self) -> impl Iterator<Item = FaultIx> {
        (0..self.at_start.len()).map(FaultIx::from)
    }

    /// Whether the fault has been repaired.
    #[must_use]
    pub fn is_repaired(&self, fault: FaultIx) -> bool {
        self.evidence.repaired[fault.at()]
    }

    /// Whether any fault has been repaired.
    pub(super) fn is_anything_repaired(&self) -> bool {
        self.evidence.repairs > 0
    }

    /// Probability that no fault is present now.
    #[must_use]
    pub fn healthy_now(&self) -> f64 {
        let none = self.prior.sets.faults();
        let gone = |fault: usize| fault == none || self.evidence.repaired[fault];
        let mut healthy = 0.0;
        self.prior.sets.for_each(|at, [a, b, c]| {
            if gone(a) && gone(b) && gone(c) {
                healthy += self.weight(at);
            }
        });
        healthy
    }

    /// Natural logarithm of the probability of all the findings together; minus infinity where no
    /// set of faults can bring them about.
    #[must_use]
    pub fn log_evidence(&self) -> f64 {
        self.log_total - self.prior.log_total
    }

    /// An upper bound on the probability, given all findings, that more than three faults were
    /// present when the conversation began, all of which this belief leaves out. No probability
    /// here is off by more than that. Often loose: good for checking, not for telling a rider.
    #[must_use]
    pub fn dropped_mass_bound(&self) -> f64 {
        let seen: Vec<&Likelihood> = self
            .evidence
            .seen
            .iter()
            .map(|(_, likelihood)| likelihood)
            .collect();
        dropped_mass_bound(&self.prior, &seen, self.log_total)
    }

    /// Whether at least one set of faults can bring about the findings.
    #[must_use]
    pub fn is_possible(&self) -> bool {
        self.log_total > f64::NEG_INFINITY
    }

    /// The faults present now with their probability, likeliest first, ties by position.
    #[must_use]
    pub fn suspects(&self) -> Vec<(FaultIx, f64)> {
        let mut ranked: Vec<(FaultIx, f64)> = (0..self.at_start.len())
            .map(|at| (FaultIx::from(at), self.present_now(FaultIx::from(at))))
            .filter(|(_, probability)| *probability > 0.0)
            .collect();
        ranked.sort_by(|x, y| y.1.total_cmp(&x.1));
        ranked
    }

    /// The `most` likeliest sets of faults at the start, likeliest first, ties by position.
    #[must_use]
    pub fn hypotheses(&self, most: usize) -> Vec<(Vec<FaultIx>, f64)> {
        let none = self.prior.sets.faults();
        let mut ranked: Vec<(Members, usize)> = Vec::with_capacity(self.log_weights.len());
        self.prior
            .sets
            .for_each(|at, members| ranked.push((members, at)));
        let log = |at: usize| self.log_weights[at];
        ranked.sort_by(|x, y| log(y.1).total_cmp(&log(x.1)));
        ranked.truncate(most);
        let named = |members: Members| {
            members
                .iter()
                .filter(|f| **f < none)
                .map(|f| FaultIx::from(*f))
                .collect()
        };
        ranked
            .into_iter()
            .map(|(members, at)| (named(members), self.weight(at)))
            .collect()
    }

    /// The likeliest sets as they are now, repaired faults taken out, leaving out up to this much
    /// probability. Sets that have become equal come more than once and in no order; where nothing
    /// was repaired, sets that share their first two members come together and by their third.
    pub(super) fn likeliest_now(&self, left_out: f64) -> Vec<Entry> {
        // Most sets are so improbable that all of those together need no counting.
        let sets = u32::try_from(self.log_weights.len()).map_or(f64::INFINITY, f64::from);
        let small = 0.25 * left_out / sets;
        let mut likeliest = self.above(small);
        let above: f64 = likeliest.iter().map(|e| e.weight).sum();
        let floor = floor(likeliest.iter().map(|e| e.weight), left_out - (1.0 - above));
        likeliest.retain(|e| e.weight >= floor);
        let none = self.prior.sets.faults();
        for fault in (0..none).filter(|fault| self.evidence.repaired[*fault]) {
            for entry in &mut likeliest {
                entry.members = without(entry.members, fault, none);
            }
        }
        likeliest
    }

    /// Every set above a probability, those that share their first two members together and by
    /// their third.
    fn above(&self, small: f64) -> Vec<Entry> {
        let (sets, parts) = (&self.prior.sets, &self.parts);
        let none = sets.faults();
        let least = self.total * small;
        let mut found = Vec::with_capacity(parts.len() / 2);
        let mut keep = |members, part: f64| {
            if part > least {
                let weight = part / self.total;
                found.push(Entry { members, weight });
            }
        };
        keep([none; 3], parts[0]);
        for a in 0..none {
            keep([a, none, none], parts[1 + a]);
            for b in a + 1..none {
                for (c, part) in (b + 1..).zip(&parts[sets.triples(a, b)]) {
                    keep([a, b, c], *part);
                }
                keep([a, b, none], parts[sets.pair_row(a) + b]);
            }
        }
        found
    }

    /// The posterior of a set; zero where the evidence is impossible.
    fn weight(&self, at: usize) -> f64 {
        if self.is_possible() {
            self.parts[at] / self.total
        } else {
            0.0
        }
    }

    /// The numbering of sets in use.
    pub(super) fn sets(&self) -> &Sets {
        &self.prior.sets
    }

    /// By set: its posterior times a factor that all share; zero where the evidence is impossible.
    pub(super) fn parts(&self) -> &[f64] {
        &self.parts
    }
}

/// Every weight as a part of the largest one; all zero where every weight is.
fn parts(log_weights: &[f64], largest: f64) -> Vec<f64> {
    /// Below this distance from the largest, even 10^6 sets together stay under 10^-13 of it: less than
    /// what rounding takes when so many are summed.
    const NEGLIGIBLE: f64 = -44.0;
    if largest == f64::NEG_INFINITY {
        return vec![0.0; log_weights.len()];
    }
    let part = |log: &f64| {
        let below = log - largest;
        if below < NEGLIGIBLE { 0.0 } else { below.exp() }
    };
    log_weights.iter().map(part).collect()
}

/// By fault: the probability of the sets that hold it; and the sum of all weights. All zero where every
/// weight is.
fn marginals(sets: &Sets, parts: &[f64]) -> (Vec<f64>, f64) {
    let none = sets.faults();
    let mut sums = vec![0.0; none];
    let mut total = parts[0];
    for a in 0..none {
        let alone = parts[1 + a];
        sums[a] += alone;
        total += alone;
        for b in a + 1..none {
            let mut with_pair = parts[sets.pair_row(a) + b];
            let row = &parts[sets.triples(a, b)];
            for (sum, part) in sums[b + 1..].iter_mut().zip(row) {
                *sum += part;
                with_pair += part;
            }
            sums[a] += with_pair;
            sums[b] += with_pair;
            total += with_pair;
        }
    }
    if total > 0.0 {
        for sum in &mut sums {
            *sum /= total;
        }
    }
    (sums, total)
}

/// In several strands, which the processor follows at once.
fn largest(logs: &[f64]) -> f64 {
    let mut strands = [f64::NEG_INFINITY; 8];
    let chunks = logs.chunks_exact(8);
    let rest = chunks.remainder();
    for chunk in chunks {
        for (strand, log) in strands.iter_mut().zip(chunk) {
            *strand = if *log > *strand { *log } else { *strand };
        }
    }
    let all = strands.iter().chain(rest);
    all.copied().fold(f64::NEG_INFINITY, f64::max)
}
