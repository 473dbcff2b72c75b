//! The belief as planning needs it: the sets present now that matter, and their marginals.

use super::belief::Belief;
use super::by_fault::ByFault;
use super::floor::floor;
use super::forecast::Forecast;
use super::sequence::Done;
use super::sets::{Members, without};

/// Planning leaves out the least likely sets, up to this much probability in all: expected minutes
/// move by no more than about that share of what handing over costs.
const LEFT_OUT: f64 = 5e-4;
/// As [`LEFT_OUT`], for what is only imagined when looking further ahead.
const LEFT_OUT_AHEAD: f64 = 5e-3;
/// As [`LEFT_OUT`], where only the next step under another belief is wanted.
const LEFT_OUT_ROUGHLY: f64 = 0.05;
/// What is imagined is left whole where no more sets than this are left.
const FEW: usize = 64;

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

/// What a run keeps: its first two members, where its sets begin and end, their sum.
#[derive(Debug, Clone, Copy)]
struct Shared {
    members: [u16; 2],
    start: usize,
    end: usize,
    total: f64,
}

/// A normalised distribution over the sets of faults present now.
#[derive(Debug, Clone)]
pub struct Frame {
    faults: usize,
    runs: Vec<Shared>,
    /// Third member and probability.
    thirds: Vec<(u16, f64)>,
    /// By pair of faults, row by row: whether any set holds both.
    together: Vec<bool>,
    /// By pair of first members: one more than the position of its run, 0 where there is none.
    run_of: Vec<u32>,
    /// By fault: the runs of which it is a shared member.
    shared_by: ByFault<u32>,
    /// By fault: the run and the probability of every set of which it is the third member.
    third_in: ByFault<(u32, f64)>,
    healthy: f64,
    /// By fault: the probability that it is present.
    pub marginals: Vec<f64>,
}

impl Frame {
    /// The belief with repaired faults taken out of every set; none where it is impossible.
    pub fn of(belief: &Belief) -> Option<Self> {
        Self::leaving_out(belief, LEFT_OUT)
    }

    /// The same with the likeliest sets only, for asking what would be done next.
    pub fn roughly(belief: &Belief) -> Option<Self> {
        Self::leaving_out(belief, LEFT_OUT_ROUGHLY)
    }

    fn leaving_out(belief: &Belief, left_out: f64) -> Option<Self> {
        let mut entries = belief.likeliest_now(left_out);
        if belief.is_anything_repaired() {
            merge(&mut entries);
        }
        Self::from_entries(belief.sets().faults(), &entries)
    }

    /// The likeliest sets only, leaving out up to this much probability.
    pub fn coarser(&self, left_out: f64) -> Self {
        let floor = floor(self.thirds.iter().map(|(_, weight)| *weight), left_out);
        let kept: Vec<Entry> = self.entries().filter(|e| e.weight >= floor).collect();
        Self::from_entries(self.faults, &kept).unwrap_or_else(|| self.clone())
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
        let none = self.faults;
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
        merge(&mut entries);
        (entries.iter().map(|e| e.weight).sum(), self.child(entries))
    }

    fn child(&self, mut entries: Vec<Entry>) -> Option<Self> {
        if entries.len() > FEW {
            let total: f64 = entries.iter().map(|e| e.weight).sum();
            let floor = floor(entries.iter().map(|e| e.weight), LEFT_OUT_AHEAD * total);
            entries.retain(|e| e.weight >= floor);
        }
        Self::from_entries(self.faults, &entries)
    }

    /// Entries of which those with the same first two members stand together.
    fn from_entries(faults: usize, entries: &[Entry]) -> Option<Self> {
        let total: f64 = entries.iter().map(|e| e.weight).sum();
        if total <= 0.0 {
            return None;
        }
        let mut frame = Self {
            faults,
            runs: Vec::new(),
            thirds: Vec::with_capacity(entries.len()),
            together: vec![false; (faults + 1) * (faults + 1)],
            run_of: vec![0; (faults + 1) * (faults + 1)],
            shared_by: ByFault::default(),
            third_in: ByFault::default(),
            healthy: 0.0,
            marginals: vec![0.0; faults + 1],
        };
        for entry in entries {
            frame.add(entry.members, entry.weight / total);
        }
        for run in &frame.runs {
            for member in run.members {
                frame.marginals[usize::from(member)] += run.total;
            }
        }
        frame.marginals.truncate(faults);
        frame.index();
        Some(frame)
    }

    fn index(&mut self) {
        let runs = || (0_u32..).zip(&self.runs);
        self.shared_by = ByFault::of(self.faults + 1, || {
            runs().flat_map(|(at, run)| run.members.map(|member| (usize::from(member), at)))
        });
        self.third_in = ByFault::of(self.faults + 1, || {
            runs().flat_map(|(at, run)| {
                let sets = self.thirds[run.start..run.end].iter();
                sets.map(move |(third, weight)| (usize::from(*third), (at, *weight)))
            })
        });
    }

    fn add(&mut self, [a, b, c]: Members, weight: f64) {
        let pair = |x: usize, y: usize| x * (self.faults + 1) + y;
        for pair in [pair(a, b), pair(a, c), pair(b, c)] {
            self.together[pair] = true;
        }
        let run_of = pair(a, b);
        let members = [narrow(a), narrow(b)];
        self.thirds.push((narrow(c), weight));
        self.marginals[c] += weight;
        let end = self.thirds.len();
        match self.runs.last_mut() {
            Some(run) if run.members == members => {
                run.end = end;
                run.total += weight;
            }
            _ => {
                self.runs.push(Shared {
                    members,
                    start: end - 1,
                    end,
                    total: weight,
                });
                self.run_of[run_of] =
                    u32::try_from(self.runs.len()).expect("fewer pairs than that");
            }
        }
        if a == self.faults {
            self.healthy += weight;
        }
    }

    /// The sets in runs.
    fn runs(&self) -> impl Iterator<Item = Run<'_>> {
        self.runs.iter().map(|run| self.run(run))
    }

    /// The runs of which a fault is a shared member.
    pub fn runs_with(&self, fault: usize) -> impl Iterator<Item = Run<'_>> {
        let runs = self.shared_by.get(fault).iter();
        runs.map(|at| self.run(&self.runs[*at as usize]))
    }

    /// The sets of which a fault is the third member: the others, and how probable.
    pub fn with_third(&self, fault: usize) -> impl Iterator<Item = ([usize; 2], f64)> {
        let sets = self.third_in.get(fault).iter();
        sets.map(|(run, weight)| (self.runs[*run as usize].members.map(usize::from), *weight))
    }

    fn run(&self, run: &Shared) -> Run<'_> {
        Run {
            shared: run.members.map(usize::from),
            sets: &self.thirds[run.start..run.end],
            total: run.total,
        }
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

    /// The probability that nothing is wrong now.
    pub fn healthy(&self) -> f64 {
        self.healthy
    }

    /// The probability of all sets that hold a fault and otherwise only faults already repaired,
    /// each times the chance that those are cured, and times a `chance` of its own.
    pub fn left_with(&self, fault: usize, done: &[Done], chance: impl Fn(Members) -> f64) -> f64 {
        let none = self.faults;
        let weigh = |members: Members| match self.weight(ordered(members)) {
            0.0 => 0.0,
            weight => weight * chance(members),
        };
        let mut sum = weigh([fault, none, none]);
        for (at, (other, success)) in done.iter().enumerate() {
            if !self.are_together(fault, *other) {
                continue;
            }
            let mut with_other = weigh([fault, *other, none]);
            for (third, success) in &done[..at] {
                if self.are_together(fault, *third) {
                    with_other += success * weigh([fault, *other, *third]);
                }
            }
            sum += success * with_other;
        }
        sum
    }

    fn are_together(&self, x: usize, y: usize) -> bool {
        self.together[x.min(y) * (self.faults + 1) + x.max(y)]
    }

    /// The probability of a set given in order, padded with the count of faults.
    fn weight(&self, [a, b, c]: Members) -> f64 {
        let Some(at) = (self.run_of[a * (self.faults + 1) + b] as usize).checked_sub(1) else {
            return 0.0;
        };
        let run = &self.runs[at];
        let sets = &self.thirds[run.start..run.end];
        // Thirds ascend from b + 1 on: where none is left out, this is the place; otherwise before.
        let latest = c.saturating_sub(b + 1).min(sets.len() - 1);
        let not_after = sets[..=latest].iter().rev();
        let found = not_after.skip_while(|(third, _)| usize::from(*third) > c);
        found
            .take(1)
            .find(|(third, _)| usize::from(*third) == c)
            .map_or(0.0, |(_, weight)| *weight)
    }

    /// The probability that something is wrong, and all of it among these faults.
    pub fn probability_within(&self, faults: &[usize]) -> f64 {
        let none = self.faults;
        let within = |e: &Entry| e.members.iter().all(|f| *f == none || faults.contains(f));
        self.entries().filter(within).map(|e| e.weight).sum::<f64>() - self.healthy()
    }

    /// How many sets are kept.
    pub fn size(&self) -> usize {
        self.thirds.len()
    }

    /// How many faults there are; also the padding of sets.
    pub fn faults(&self) -> usize {
        self.faults
    }
}

fn ordered(mut members: Members) -> Members {
    members.sort_unstable();
    members
}

fn narrow(fault: usize) -> u16 {
    u16::try_from(fault).expect("a model holds fewer than 65,536 faults")
}

/// Puts sets in order and makes one of those that a repair has made equal.
fn merge(entries: &mut Vec<Entry>) {
    entries.sort_unstable_by_key(|e| e.members);
    entries.dedup_by(|later, earlier| {
        let same = later.members == earlier.members;
        if same {
            earlier.weight += later.weight;
        }
        same
    });
}
