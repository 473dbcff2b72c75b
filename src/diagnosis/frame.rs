//! The belief as planning needs it: the sets present now that matter, and their marginals.

use super::belief::Belief;
use super::forecast::Forecast;
use super::sets::{Members, Sets, without};

/// Planning leaves out the least likely sets, up to this much probability in all: expected minutes
/// move by no more than about that share of what handing over costs.
const LEFT_OUT: f64 = 5e-4;
/// As [`LEFT_OUT`], for what is only imagined when looking further ahead.
const LEFT_OUT_AHEAD: f64 = 1e-3;

/// A set with its probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// Which faults.
    pub members: Members,
    /// How probable.
    pub weight: f64,
}

/// Sets that share their first two members.
#[derive(Debug, Clone, Copy)]
pub struct Run<'a> {
    /// The members they share.
    pub shared: [usize; 2],
    /// The third member and the probability of each.
    pub sets: &'a [(u16, f64)],
    /// The sum of their probabilities.
    pub total: f64,
}

/// What a run keeps: its first two members, where its sets end, their sum.
#[derive(Debug, Clone, Copy)]
struct Shared {
    members: [u16; 2],
    end: usize,
    total: f64,
}

/// A normalised distribution over the sets of faults present now.
#[derive(Debug, Clone)]
pub struct Frame<'a> {
    sets: &'a Sets,
    runs: Vec<Shared>,
    /// Third member and probability. A set may come twice, where a repair has made two sets equal.
    thirds: Vec<(u16, f64)>,
    /// By set: its probability.
    dense: Vec<f64>,
    /// By fault: the probability that it is present.
    pub marginals: Vec<f64>,
}

impl<'a> Frame<'a> {
    /// The belief with repaired faults taken out of every set; none where it is impossible.
    pub fn of(belief: &'a Belief) -> Option<Self> {
        let floor = floor(belief.weights().iter().copied(), LEFT_OUT);
        let mut draft = Draft::default();
        belief.for_each_now(floor, |members, weight| {
            draft.add(Entry { members, weight });
        });
        draft.finished(belief.sets())
    }

    /// After one of an observation's outcomes; none where it cannot come about.
    pub fn given(&self, forecast: &Forecast, outcome: usize) -> Option<Self> {
        let changed = |e: Entry| Entry {
            weight: e.weight * forecast.chance(e.members, outcome),
            ..e
        };
        self.child(self.entries().map(changed).collect())
    }

    /// After a repair that did not end the complaint, with the probability of that.
    pub fn after_repair(&self, fault: usize, success: f64) -> (f64, Option<Self>) {
        let none = self.sets.faults();
        let mut entries = Vec::with_capacity(self.thirds.len());
        for entry in self.entries().filter(|e| e.members[0] != none) {
            let rest = without(entry.members, fault, none);
            let cured = if rest == entry.members { 0.0 } else { success };
            if cured > 0.0 && rest[0] != none {
                entries.push(Entry {
                    members: rest,
                    weight: entry.weight * cured,
                });
            }
            if cured < 1.0 {
                entries.push(Entry {
                    weight: entry.weight * (1.0 - cured),
                    ..entry
                });
            }
        }
        (entries.iter().map(|e| e.weight).sum(), self.child(entries))
    }

    fn child(&self, entries: Vec<Entry>) -> Option<Self> {
        let floor = floor(entries.iter().map(|e| e.weight), LEFT_OUT_AHEAD);
        let mut draft = Draft::default();
        entries
            .into_iter()
            .filter(|e| e.weight >= floor)
            .for_each(|entry| draft.add(entry));
        draft.finished(self.sets)
    }

    /// The sets in runs.
    pub fn runs(&self) -> impl Iterator<Item = Run<'_>> {
        let mut start = 0;
        self.runs.iter().map(move |run| {
            let sets = &self.thirds[start..run.end];
            start = run.end;
            Run {
                shared: run.members.map(usize::from),
                sets,
                total: run.total,
            }
        })
    }

    /// The sets one by one.
    fn entries(&self) -> impl Iterator<Item = Entry> {
        let entry = |[a, b]: [usize; 2], (c, weight): (u16, f64)| Entry {
            members: [a, b, c.into()],
            weight,
        };
        self.runs()
            .flat_map(move |run| run.sets.iter().map(move |set| entry(run.shared, *set)))
    }

    /// The probability of a set given in any order, padded with the count of faults.
    pub fn weight(&self, members: Members) -> f64 {
        self.dense[self.sets.position(members)]
    }

    /// The probability that nothing is wrong now.
    pub fn healthy(&self) -> f64 {
        self.dense[0]
    }

    /// The probability that something is wrong, and all of it among these faults.
    pub fn probability_within(&self, faults: &[usize]) -> f64 {
        let none = self.faults();
        let within = |e: &Entry| e.members.iter().all(|f| *f == none || faults.contains(f));
        self.entries().filter(within).map(|e| e.weight).sum::<f64>() - self.healthy()
    }

    /// How many sets are kept.
    pub fn size(&self) -> usize {
        self.thirds.len()
    }

    /// How many faults there are; also the padding of sets.
    pub fn faults(&self) -> usize {
        self.sets.faults()
    }
}

/// A distribution being put together, not normalised yet.
#[derive(Default)]
struct Draft {
    runs: Vec<Shared>,
    thirds: Vec<(u16, f64)>,
}

impl Draft {
    fn add(&mut self, entry: Entry) {
        let [a, b, c] = entry.members.map(narrow);
        self.thirds.push((c, entry.weight));
        let end = self.thirds.len();
        match self.runs.last_mut() {
            Some(run) if run.members == [a, b] => {
                run.end = end;
                run.total += entry.weight;
            }
            _ => self.runs.push(Shared {
                members: [a, b],
                end,
                total: entry.weight,
            }),
        }
    }

    fn finished(self, sets: &Sets) -> Option<Frame<'_>> {
        let Self {
            mut runs,
            mut thirds,
        } = self;
        let total: f64 = runs.iter().map(|run| run.total).sum();
        if total <= 0.0 {
            return None;
        }
        let mut dense = vec![0.0; sets.count()];
        let mut marginals = vec![0.0; sets.faults() + 1];
        let mut start = 0;
        for run in &mut runs {
            run.total /= total;
            let [a, b] = run.members.map(usize::from);
            for (third, weight) in &mut thirds[start..run.end] {
                let c = usize::from(*third);
                *weight /= total;
                dense[sets.position([a, b, c])] += *weight;
                marginals[c] += *weight;
            }
            marginals[a] += run.total;
            marginals[b] += run.total;
            start = run.end;
        }
        marginals.truncate(sets.faults());
        Some(Frame {
            sets,
            runs,
            thirds,
            dense,
            marginals,
        })
    }
}

fn narrow(fault: usize) -> u16 {
    u16::try_from(fault).expect("a model holds fewer than 65,536 faults")
}

/// The weight below which all together stay under this part of the sum.
///
/// Weights are counted by their binary exponent, so that one pass suffices.
fn floor(weights: impl Iterator<Item = f64>, left_out: f64) -> f64 {
    const FRACTION_BITS: u32 = 52;
    let exponent =
        |weight: f64| usize::try_from(weight.to_bits() >> FRACTION_BITS).expect("eleven bits");
    let mut by_exponent = vec![0.0; 2048];
    weights.for_each(|weight| by_exponent[exponent(weight)] += weight);
    let mut spare = left_out * by_exponent.iter().sum::<f64>();
    let kept = by_exponent.iter().position(|mass| {
        spare -= mass;
        spare < 0.0
    });
    kept.map_or(f64::MIN_POSITIVE, |bits| {
        f64::from_bits((bits.max(1) as u64) << FRACTION_BITS)
    })
}
