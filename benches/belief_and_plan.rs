//! What one turn's belief and plan take, and how that grows with faults and observations.
//!
//! Models are invented and shaped like fuel systems; evidence is what a rider with one of the faults
//! would report. `turn` is the update with one more answer and the one-step plan, `look_ahead` the
//! same with two steps.

#[path = "diagnosis/riders.rs"]
mod riders;

use divan::{Bencher, black_box};
use floatbowl::diagnosis::Depth;
use riders::{Rider, riders};

fn main() {
    divan::main();
}

fn in_turn(bencher: Bencher, riders: &[Rider], act: impl Fn(&Rider) -> f64 + Sync) {
    let next = std::sync::atomic::AtomicUsize::new(0);
    bencher.bench(|| {
        let at = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        black_box(act(&riders[at % riders.len()]))
    });
}

#[divan::bench(args = [40, 55, 60, 80], sample_count = 600, sample_size = 1)]
fn turn(bencher: Bencher, faults: usize) {
    in_turn(bencher, &riders(faults, 45), |rider| {
        rider.turn(Depth::OneStep)
    });
}

#[divan::bench(args = [40, 55, 60, 80], sample_count = 120, sample_size = 1)]
fn look_ahead(bencher: Bencher, faults: usize) {
    in_turn(bencher, &riders(faults, 45), |rider| {
        rider.turn(Depth::TwoSteps)
    });
}

#[divan::bench(args = [15, 30, 45, 60], sample_count = 300, sample_size = 1)]
fn turn_by_observations(bencher: Bencher, observations: usize) {
    in_turn(bencher, &riders(55, observations), |rider| {
        rider.turn(Depth::OneStep)
    });
}

#[divan::bench(args = [20, 40, 60, 80], sample_count = 300, sample_size = 1)]
fn belief_alone(bencher: Bencher, faults: usize) {
    in_turn(bencher, &riders(faults, 45), |rider| {
        rider.belief().log_evidence()
    });
}
