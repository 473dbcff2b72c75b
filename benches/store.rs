//! Durable turns per second with 1, 8 and 64 conversations in flight, beside bare appends with a sync
//! each on the same disk, and beside bare writes to a file that has its length already, as the database's
//! log mostly has: a file that grows must have its new length synced as well.
//!
//! A turn here is a real one: load the conversation, fold nothing, append two events and a reply, sync,
//! answer. Rounds of all take turns, since a disk shared with others is fast now and slow then; what
//! is printed is the median round of each. `FLOATBOWL_BENCH_DIR` names the disk; without it, a temporary
//! folder is used.

#[path = "../tests/desk/fake.rs"]
mod fake;
#[path = "../tests/desk/world.rs"]
mod world;

use fake::{Counting, terms};
use floatbowl::desk::{Answer, Desk};
use floatbowl::store::Store;
use std::env;
use std::fs::File;
use std::io::{Seek, Write};
use std::sync::Arc;
use std::time::{Duration, Instant};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use world::{given, message};

/// About what one turn writes.
const BYTES: usize = 1024;
/// A conversation of this many turns is left for a new one.
const TURNS: usize = 24;

/// Appends, and turns, of a round.
const PIECES: u16 = 64;
/// Rounds of each.
const ROUNDS: usize = 150;

fn main() {
    let folder = folder();
    let mut growing = File::create(folder.path().join("growing")).unwrap();
    let mut long = File::create(folder.path().join("long")).unwrap();
    let pieces = ROUNDS * usize::from(PIECES);
    long.write_all(&vec![0; pieces * BYTES]).unwrap();
    long.sync_all().unwrap();
    long.rewind().unwrap();
    let store = Store::open(&folder.path().join("data")).unwrap();
    let desk = Arc::new(Desk::new(store, Counting, given(1)));
    let runtime = Runtime::new().unwrap();
    let mut times = [const { Vec::new() }; 5];
    for round in 0..ROUNDS {
        times[0].push(timed(|| bare_writes(&mut growing)));
        times[1].push(timed(|| bare_writes(&mut long)));
        for (at, in_flight) in [(2, 1), (3, 8), (4, 64)] {
            let turns = turns(&desk, in_flight, round);
            times[at].push(timed(|| runtime.block_on(turns)));
        }
    }
    let each = |time: Duration| f64::from(PIECES) / time.as_secs_f64();
    let [growing, long, turns @ ..] = times.map(median).map(each);
    println!("{growing:>8.0} appends of {BYTES} bytes a second, each with a sync");
    println!("{long:>8.0} writes of {BYTES} bytes a second within a file, each with a sync");
    for (in_flight, each) in [1, 8, 64].into_iter().zip(turns) {
        let (of_appends, of_writes) = (100.0 * each / growing, 100.0 * each / long);
        println!(
            "{each:>8.0} durable turns a second, {in_flight} in flight: {of_appends:.0} % of the \
             appends, {of_writes:.0} % of the writes"
        );
    }
}

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

fn folder() -> TempDir {
    match env::var_os("FLOATBOWL_BENCH_DIR") {
        Some(dir) => tempfile::tempdir_in(dir).unwrap(),
        None => tempfile::tempdir().unwrap(),
    }
}

fn bare_writes(file: &mut File) {
    let piece = vec![b'x'; BYTES];
    for _ in 0..PIECES {
        file.write_all(&piece).unwrap();
        file.sync_data().unwrap();
    }
}

async fn turns(desk: &Arc<Desk<Counting>>, in_flight: usize, round: usize) {
    let each = usize::from(PIECES) / in_flight;
    let riders = (0..in_flight).map(|rider| {
        let desk = Arc::clone(desk);
        let address = format!("{in_flight}: rider {rider} of {}", round * each / TURNS);
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
