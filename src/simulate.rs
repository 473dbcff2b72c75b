//! Virtual riders who talk to the conversation itself, and the score of how they fare.
//!
//! A rider's bike has a fault or several, drawn by their priors; what a check shows is drawn from
//! the same model the beliefs come from, so that the score measures the conversation and the plan,
//! not the knowledge. [`simulate`] scores many, [`converse`] lets one be followed turn by turn. Deliberately absent: any look into beliefs or plans.

mod baseline;
mod bike;
mod rider;
mod slip;
mod talk;

use crate::conversation::Terms;
use crate::conversation::insight::terms;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, SystemId};
use crate::knowledge::model::{FaultIx, Model, ObservationIx, ObservationKind};
use bike::Bike;
use fastrand::Rng;
use rider::Rider;
use serde::Serialize;
use std::collections::BTreeMap;
use talk::{Told, talk};

pub use talk::Watch;

/// What to simulate.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Whose riders.
    pub system: SystemId,
    /// How many.
    pub riders: u32,
    /// Seed of chance.
    pub seed: u64,
    /// Share of answers that are slips.
    pub slips: f64,
    /// How many faults a bike has.
    pub faults: u8,
    /// Share of riders whose bike has one more.
    pub doubles: f64,
    /// Minutes until a rider answers.
    pub round_trip_minutes: f64,
}

impl Plan {
    /// Under which terms the riders talk.
    fn terms(&self) -> Terms {
        Terms {
            system: Some(self.system.clone()),
            round_trip_minutes: self.round_trip_minutes,
            ..Terms::default()
        }
    }
}

/// How the riders fared.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Score {
    /// Riders in all.
    pub riders: u32,
    /// Riders with one fault.
    pub singles: u32,
    /// Of those, whose first repair, or hand-over by name, was the right one.
    pub found_first: u32,
    /// Riders all of whose faults were repaired, or the last of them named first to the shop.
    pub found: u32,
    /// Riders all of whose faults the rider may repair at home.
    pub at_home: u32,
    /// Of those, all of whose faults were found.
    pub found_at_home: u32,
    /// Riders with a fault whose repair is a licensed shop's work.
    pub shop_work: u32,
    /// Of those, who ended at the shop with no other fault left and theirs among the suspects named.
    pub handed_over_rightly: u32,
    /// By fault: riders with it who came to neither end.
    pub missed: BTreeMap<FaultId, u32>,
    /// Of the riders with two faults or more, those all of whose faults were.
    pub found_both: u32,
    /// Repairs of what was not broken, over all riders.
    pub wrong_repairs: u32,
    /// Riders handed over.
    pub handed_over: u32,
    /// Mean minutes of work.
    pub mean_minutes: f64,
    /// Mean messages.
    pub mean_turns: f64,
    /// Mean minutes of a plain walk from battery to pump and tank to jets, for the same riders.
    pub fixed_order_minutes: f64,
    /// Mean minutes of that walk where checks that do not pay are skipped.
    pub skipping_order_minutes: f64,
    /// Expected minutes' worth of the best policy there is, prices included; small models only.
    pub optimum_minutes: Option<f64>,
    /// Results asked for a second time because they fitted the others badly, over all riders.
    pub asked_again: u32,
    /// Riders who were asked so at least once.
    pub riders_asked_again: u32,
    /// Hands-on steps asked for without every condition confirmed.
    pub gate_violations: u32,
    /// Conversations that came to no end.
    pub unfinished: u32,
}

/// How a rider came to a shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HandedOver {
    /// With nothing left but a shop's work, among the suspects named.
    Rightly,
    /// With something left to do at home, or with other suspects named.
    Otherwise,
}

/// Whose work a bike's faults are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Work {
    /// The rider may repair all of them.
    Home,
    /// At least one is a licensed shop's.
    Shop,
}

/// How one rider fared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fare {
    /// Which rider.
    pub rider: u32,
    /// What was wrong at the start.
    pub faults: Vec<FaultId>,
    /// What was repaired, in order.
    pub repairs: Vec<FaultId>,
    /// What was first to be repaired, or named to the shop.
    pub first_named: Option<FaultId>,
    /// Whether it ended in a shop's hands, and how.
    pub handed_over: Option<HandedOver>,
    /// Whether every fault was repaired, or named first to the shop.
    pub found: bool,
    /// Whose work the faults are.
    pub work: Work,
    /// Results asked for a second time because they fitted the others badly.
    pub asked_again: u32,
    /// Minutes of work.
    pub minutes: f64,
    /// Messages.
    pub turns: u32,
    /// Whether the conversation came to an end.
    pub finished: bool,
    /// Hands-on steps asked for without every condition confirmed.
    pub gate_violations: u32,
}

/// Lets every rider talk, on all cores; calls `tick` after each.
#[must_use]
pub fn simulate(knowledge: &Knowledge, plan: &Plan, tick: &(dyn Fn(&Fare) + Sync)) -> Score {
    let Some(model) = knowledge.model(&plan.system) else {
        return Score::default();
    };
    let ride = |at: u32| {
        let (fare, baselines) = ride(knowledge, model, (plan, at), &mut |_, _, _| {});
        tick(&fare);
        Score::of(&fare, baselines)
    };
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let told: Vec<Score> = std::thread::scope(|scope| {
        let share = |first: usize| {
            let riders = (0..plan.riders).skip(first).step_by(threads);
            scope.spawn(move || riders.map(ride).collect::<Vec<Score>>())
        };
        let shares: Vec<_> = (0..threads).map(share).collect();
        let joined = shares.into_iter().map(|share| {
            share
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        });
        joined.flatten().collect()
    });
    let mut score = told.iter().fold(Score::default(), Score::and);
    let riders = f64::from(score.riders.max(1));
    score.mean_minutes /= riders;
    score.mean_turns /= riders;
    score.fixed_order_minutes /= riders;
    score.skipping_order_minutes /= riders;
    score.optimum_minutes = baseline::optimum(model, terms(knowledge, 0.0));
    score
}

/// Lets one of the riders talk, turn by turn before your eyes; none for a system that is not there.
pub fn converse(knowledge: &Knowledge, plan: &Plan, at: u32, watch: Watch<'_>) -> Option<Fare> {
    let model = knowledge.model(&plan.system)?;
    let mut rider = rider(knowledge, model, plan, at);
    let told = talk(knowledge, &plan.terms(), &mut rider, watch);
    Some(Fare::of(model, at, &rider.faults, told))
}

fn rider<'a>(knowledge: &'a Knowledge, model: &'a Model, plan: &Plan, at: u32) -> Rider<'a> {
    let mut chance = Rng::with_seed(
        plan.seed
            .wrapping_mul(0x9E37_79B9_7F4A_7C15)
            .wrapping_add(u64::from(at)),
    );
    let faults = usize::from(plan.faults) + usize::from(chance.f64() < plan.doubles);
    let answers = chance.u64(..);
    let bike = Bike::drawn(model, faults, chance);
    Rider::new(knowledge, plan, bike, answers)
}

/// Minutes of the two fixed orders, for the same bike.
type Baselines = [f64; 2];

fn ride(
    knowledge: &Knowledge,
    model: &Model,
    (plan, at): (&Plan, u32),
    watch: Watch<'_>,
) -> (Fare, Baselines) {
    let mut rider = rider(knowledge, model, plan, at);
    let mut bike = rider.bike.clone();
    let told = talk(knowledge, &plan.terms(), &mut rider, watch);
    let fare = Fare::of(model, at, &rider.faults, told);
    let terms = terms(knowledge, 0.0);
    let walked = baseline::plain(model, &rider.faults, terms.proof_minutes);
    let complaints = complaints(knowledge, &mut bike);
    (fare, [walked, baseline::skipping(bike, &complaints, terms)])
}

/// What the rider would complain of.
fn complaints(knowledge: &Knowledge, bike: &mut Bike) -> Vec<crate::diagnosis::Finding> {
    let model = bike.model;
    let complaint = |at: &ObservationIx| {
        let seen = &model.observations[at.at()];
        seen.kind == ObservationKind::Symptom
            && knowledge
                .symptoms
                .get(&seen.id)
                .is_some_and(|s| s.complaint)
    };
    (0..model.observations.len())
        .map(ObservationIx::from)
        .filter(complaint)
        .filter(|at| bike.shows(*at) == 0)
        .map(|at| baseline::seen(model, at, 0))
        .collect()
}

impl Fare {
    fn of(model: &Model, rider: u32, faults: &[FaultIx], told: Told) -> Self {
        let id = |fault: &FaultIx| model.faults[fault.at()].id.clone();
        let shop = |fault: &FaultIx| model.faults[fault.at()].repair.shop_only;
        let work = if faults.iter().any(shop) {
            Work::Shop
        } else {
            Work::Home
        };
        let left = |fault: &&FaultIx| !told.repairs.contains(&id(fault));
        let rightly = |fault: &FaultIx| shop(fault) && told.named_to_shop.contains(&id(fault));
        let handed_over = if faults.iter().filter(left).all(rightly) {
            HandedOver::Rightly
        } else {
            HandedOver::Otherwise
        };
        let faults: Vec<FaultId> = faults.iter().map(id).collect();
        let named = |fault: &FaultId| told.named_to_shop.first() == Some(fault);
        Self {
            rider,
            found: faults
                .iter()
                .all(|fault| told.repairs.contains(fault) || named(fault)),
            work,
            asked_again: told.asked_again,
            faults,
            first_named: told.first_named,
            handed_over: told.handed_over.then_some(handed_over),
            minutes: told.minutes,
            turns: told.turns,
            finished: told.finished,
            gate_violations: told.violations,
            repairs: told.repairs,
        }
    }

    /// Repairs of what was not broken.
    fn needless(&self) -> u32 {
        let needless = |repair: &&FaultId| !self.faults.contains(repair);
        let count = self.repairs.iter().filter(needless).count();
        u32::try_from(count).unwrap_or(u32::MAX)
    }
}

impl Score {
    /// The score of one rider, sums in place of means.
    fn of(fare: &Fare, [plain, skipping]: Baselines) -> Self {
        let single = fare.faults.len() == 1;
        let first = single && fare.first_named.as_ref() == fare.faults.first();
        let home = fare.work == Work::Home;
        let rightly = !home && fare.handed_over == Some(HandedOver::Rightly);
        let missed = !fare.found && !rightly;
        let left = fare
            .faults
            .iter()
            .filter(|f| missed && !fare.repairs.contains(f));
        Self {
            riders: 1,
            singles: u32::from(single),
            found_first: u32::from(first),
            found: u32::from(fare.found),
            at_home: u32::from(home),
            found_at_home: u32::from(home && fare.found),
            shop_work: u32::from(!home),
            handed_over_rightly: u32::from(rightly),
            missed: left.map(|fault| (fault.clone(), 1)).collect(),
            found_both: u32::from(fare.found && !single),
            wrong_repairs: fare.needless(),
            handed_over: u32::from(fare.handed_over.is_some()),
            mean_minutes: fare.minutes,
            mean_turns: f64::from(fare.turns),
            fixed_order_minutes: plain,
            skipping_order_minutes: skipping,
            optimum_minutes: None,
            asked_again: fare.asked_again,
            riders_asked_again: u32::from(fare.asked_again > 0),
            gate_violations: fare.gate_violations,
            unfinished: u32::from(!fare.finished),
        }
    }

    /// Both together.
    fn and(mut self, other: &Self) -> Self {
        self.riders += other.riders;
        self.singles += other.singles;
        self.found_first += other.found_first;
        self.found += other.found;
        self.at_home += other.at_home;
        self.found_at_home += other.found_at_home;
        self.shop_work += other.shop_work;
        self.handed_over_rightly += other.handed_over_rightly;
        for (fault, riders) in &other.missed {
            *self.missed.entry(fault.clone()).or_default() += riders;
        }
        self.found_both += other.found_both;
        self.wrong_repairs += other.wrong_repairs;
        self.handed_over += other.handed_over;
        self.mean_minutes += other.mean_minutes;
        self.mean_turns += other.mean_turns;
        self.fixed_order_minutes += other.fixed_order_minutes;
        self.skipping_order_minutes += other.skipping_order_minutes;
        self.asked_again += other.asked_again;
        self.riders_asked_again += other.riders_asked_again;
        self.gate_violations += other.gate_violations;
        self.unfinished += other.unfinished;
        self
    }
}

/// Wilson's 95 % interval of a share (Newcombe 1998, Statistics in Medicine 17:857, method 3).
#[must_use]
pub fn wilson(hits: u32, of: u32) -> (f64, f64) {
    const Z: f64 = 1.959_963_984_540_054;
    if of == 0 {
        return (0.0, 1.0);
    }
    let (n, p) = (f64::from(of), f64::from(hits) / f64::from(of));
    let centre = p + Z * Z / (2.0 * n);
    let half = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    let scale = 1.0 + Z * Z / n;
    ((centre - half) / scale, (centre + half) / scale)
}

#[cfg(test)]
mod tests {
    use super::wilson;

    /// Newcombe 1998, Statistics in Medicine 17:857, table I.
    #[test]
    fn intervals_are_the_published_ones() {
        for (hits, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let (l, h) = wilson(hits, of);
            assert!(
                (l - low).abs() < 5e-5 && (h - high).abs() < 5e-5,
                "{hits}/{of}: {l} {h}"
            );
        }
    }
}
