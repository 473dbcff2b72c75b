//! Durable turns per second with 1, 8 and 64 conversations in flight, beside bare appends with a
//! sync each on the same disk.
//!
//! A turn here is a real one: load the conversation, fold nothing, append two events and a reply,
//! sync, answer. `FLOATBOWL_BENCH_DIR` names the disk; without it, a temporary folder is used.

#[path = "../tests/desk/fake.rs"]
mod fake;
#[path = "../tests/desk/world.rs"]
mod world;

use divan::Bencher;
use divan::counter::ItemsCount;
use fake::{Counting, terms};
use floatbowl::desk::{Answer, Desk};
use floatbowl::store::Store;
use std::env;
use std::fs::File;
use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use world::{given, message};

/// About what one turn writes.
const BYTES: usize = 1024;
/// A conversation of this many turns is left for a new one.
const TURNS: usize = 24;

fn main() {
    divan::main();
}

fn folder() -> TempDir {
    match env::var_os("FLOATBOWL_BENCH_DIR") {
        Some(dir) => tempfile::tempdir_in(dir).unwrap(),
        None => tempfile::tempdir().unwrap(),
    }
}

#[divan::bench(sample_count = 100)]
fn bare_append_and_sync(bencher: Bencher) {
    let folder = folder();
    let mut file = File::create(folder.path().join("log")).unwrap();
    let piece = vec![b'x'; BYTES];
    bencher.counter(ItemsCount::new(64_usize)).bench_local(|| {
        for _ in 0..64 {
            file.write_all(&piece).unwrap();
            file.sync_data().unwrap();
        }
    });
}

/// 64 turns, so many at a time.
#[divan::bench(args = [1, 8, 64], sample_count = 100)]
fn durable_turns(bencher: Bencher, in_flight: usize) {
    let folder = folder();
    let store = Store::open(&folder.path().join("data")).unwrap();
    let desk = Arc::new(Desk::new(store, Counting, given(1)));
    let runtime = Runtime::new().unwrap();
    let round = AtomicUsize::new(0);
    bencher.counter(ItemsCount::new(64_usize)).bench(|| {
        let round = round.fetch_add(1, Ordering::Relaxed);
        runtime.block_on(turns(&desk, in_flight, round));
    });
}

async fn turns(desk: &Arc<Desk<Counting>>, in_flight: usize, round: usize) {
    let each = 64 / in_flight;
    let riders = (0..in_flight).map(|rider| {
        let desk = Arc::clone(desk);
        let address = format!("rider {rider} of {}", round * each / TURNS);
        tokio::spawn(async move {
            for _ in 0..each {
                let said = message(&address, None, "it is dead");
                let answer = desk.take(said, &terms()).await.unwrap();
                assert!(matches!(answer, Answer::New(_)));
            }
        })
    });
    for rider in riders.collect::<Vec<_>>() {
        rider.await.unwrap();
    }
}
