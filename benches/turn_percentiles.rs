//! Median and 99th percentile of a full turn's belief and plan, over many invented riders.

#[path = "diagnosis/riders.rs"]
mod riders;

use floatbowl::diagnosis::Depth;
use riders::{Rider, riders};
use std::hint::black_box;
use std::time::{Duration, Instant};

const TURNS: usize = 2000;

fn main() {
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
