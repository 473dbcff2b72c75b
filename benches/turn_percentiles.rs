//! Median and 99th percentile of a turn: belief and plan over many invented models, and whole turns
//! of virtual riders with the shipped systems, from what the rider says to the reply.

#[path = "diagnosis/riders.rs"]
mod riders;

use floatbowl::conversation::{Incoming, State, advance};
use floatbowl::diagnosis::Depth;
use floatbowl::knowledge::Knowledge;
use floatbowl::simulate::{Plan, converse};
use riders::{Rider, riders};
use std::hint::black_box;
use std::time::{Duration, Instant};

const TURNS: usize = 2000;

/// Virtual riders whose every turn is timed, for each system.
const RIDERS: u32 = 15;

fn main() {
    invented();
    shipped();
}

/// Whole turns: reading the message, belief, plan, conflict and reply.
fn shipped() {
    let knowledge = Knowledge::embedded();
    println!("\nsystem          faults  observations  turns  median      99th        slowest");
    for model in &knowledge.models {
        let system = model.system.as_str();
        let turns = turns_of(&knowledge, system);
        let mut times: Vec<Duration> = turns
            .iter()
            .map(|(state, said)| {
                let start = Instant::now();
                black_box(advance(state, said, &knowledge));
                start.elapsed()
            })
            .collect();
        times.sort();
        let count = times.len();
        println!(
            "{:14}  {:6}  {:12}  {count:5}  {:<10.2?}  {:<10.2?}  {:.2?}",
            system,
            model.faults.len(),
            model.observations.len(),
            times[count / 2],
            times[count * 99 / 100],
            times[count - 1]
        );
    }
}

fn turns_of(knowledge: &Knowledge, system: &str) -> Vec<(State, Incoming)> {
    let plan = Plan {
        system: system.into(),
        riders: RIDERS,
        seed: 1,
        slips: 0.05,
        faults: 1,
        doubles: 0.2,
        round_trip_minutes: 0.0,
    };
    let mut turns = Vec::new();
    for rider in 0..RIDERS {
        let _ = converse(knowledge, &plan, rider, &mut |state, said, _| {
            turns.push((state.clone(), said.clone()));
        });
    }
    turns
}

fn invented() {
    println!("faults  observations  steps  median      99th        slowest");
    for (faults, observations) in [(40, 45), (55, 45), (60, 45), (80, 45), (80, 60)] {
        let riders = riders(faults, observations);
        for (name, depth, turns) in [
            ("one", Depth::OneStep, TURNS),
            ("two", Depth::TwoSteps, TURNS / 5),
        ] {
            let times = times(&riders, depth, turns);
            let (median, late, slowest) =
                (times[turns / 2], times[turns * 99 / 100], times[turns - 1]);
            println!(
                "{faults:6}  {observations:12}  {name}    {median:<10.2?}  {late:<10.2?}  {slowest:.2?}"
            );
        }
    }
}

fn times(riders: &[Rider], depth: Depth, turns: usize) -> Vec<Duration> {
    let time = |turn: usize| {
        let start = Instant::now();
        black_box(riders[turn % riders.len()].turn(depth));
        start.elapsed()
    };
    let mut times: Vec<Duration> = (0..turns).map(time).collect();
    times.sort();
    times
}
