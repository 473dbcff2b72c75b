//! A store with very many conversations: size, opening, memory, a turn, forgetting a person.
//!
//! `FLOATBOWL_CONVERSATIONS` sets how many (100,000 unless set), each of 20 turns with 60 events and
//! replies as long as real ones; `FLOATBOWL_BENCH_DIR` names the disk.

#[path = "../tests/desk/fake.rs"]
mod fake;
#[path = "../tests/desk/world.rs"]
mod world;

use fake::{Counting, terms};
use floatbowl::conversation::event::{Event, Found, Incoming, Logged, Terms};
use floatbowl::conversation::open;
use floatbowl::desk::{Answer, Desk};
use floatbowl::knowledge::Knowledge;
use floatbowl::reply::Reply;
use floatbowl::store::name::{Address, ConversationId, Rider, Status};
use floatbowl::store::{Entry, Home, Store};
use jiff::Timestamp;
use std::env;
use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use world::{given, message};

/// Turns of a conversation; each has three events.
const TURNS: u32 = 20;
/// Conversations written side by side.
const AT_ONCE: u64 = 256;

fn folder() -> TempDir {
    match env::var_os("FLOATBOWL_BENCH_DIR") {
        Some(dir) => tempfile::tempdir_in(dir).unwrap(),
        None => tempfile::tempdir().unwrap(),
    }
}

/// A reply as long as one to a rider who is being asked to measure.
fn real_reply() -> Reply {
    let terms = Terms {
        system: Some("pump-carb".into()),
        ..Terms::default()
    };
    open(&terms, &Knowledge::embedded()).1
}

fn entry(id: u64, turn: u32, reply: &Reply) -> Entry {
    let events = [
        Event::Heard(Incoming::Text(format!(
            "it read {turn}.4 V with the key on, I think"
        ))),
        Event::Found(Found {
            observation: "pump-voltage".into(),
            weights: vec![
                ("pump-voltage-full".into(), 0.97),
                ("pump-voltage-low".into(), 0.03),
            ],
            strength: 1.0,
            measured: None,
            asked: true,
        }),
        Event::Spent(4.0),
    ];
    let logged = events.map(|event| Logged { turn, event });
    let home = Home {
        address: Address::new(&format!("bench/group {}/place {id}", id % 50)),
        rider: Rider::new(&format!("rider {}", id / 3)),
    };
    Entry {
        conversation: ConversationId(id),
        opens: (turn == 0).then_some(home),
        at: Timestamp::from_second(1_700_000_000 + i64::from(turn)).unwrap(),
        after: 3 * turn,
        events: logged.to_vec(),
        message: None,
        resting: false,
        reply: Reply {
            turn,
            ..reply.clone()
        },
    }
}

async fn fill(store: &Store, conversations: u64) {
    let reply = Arc::new(real_reply());
    let writers = (0..AT_ONCE).map(|writer| {
        let (store, reply) = (store.clone(), Arc::clone(&reply));
        tokio::spawn(async move {
            for id in (0..conversations).filter(|id| id % AT_ONCE == writer) {
                for turn in 0..TURNS {
                    store.append(entry(id, turn, &reply)).await.unwrap();
                    store.mark_sent(ConversationId(id), turn).await.unwrap();
                }
            }
        })
    });
    for writer in writers.collect::<Vec<_>>() {
        writer.await.unwrap();
    }
}

fn bytes(folder: &Path) -> u64 {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    entries
        .map(|entry| match entry.metadata().unwrap() {
            data if data.is_dir() => bytes(&entry.path()),
            data => data.len(),
        })
        .sum()
}

/// Memory of this process, in MB.
fn memory() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().nth(1));
    number.and_then(|kb| kb.parse::<u64>().ok()).unwrap_or(0) / 1024
}

/// Processor time of this process so far, in seconds: what does not depend on who else is busy.
fn processor() -> f64 {
    const TICKS_PER_SECOND: f64 = 100.0;
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // After the name in brackets; proc_pid_stat(5) counts utime and stime as fields 14 and 15.
    let fields = stat.rsplit(')').next().unwrap_or_default();
    let ticks = fields.split_whitespace().skip(11).take(2);
    let ticks: f64 = ticks.filter_map(|ticks| ticks.parse::<f64>().ok()).sum();
    ticks / TICKS_PER_SECOND
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let (start, busy) = (Instant::now(), processor());
    let done = work();
    println!(
        "{what}: {:.3} s, of which the processor {:.2} s",
        start.elapsed().as_secs_f64(),
        processor() - busy
    );
    done
}

fn percentiles(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: usize| times[(times.len() - 1) * share / 100].as_secs_f64() * 1000.0;
    println!(
        "{what}: p50 {:.2} ms, p99 {:.2} ms, of {}",
        at(50),
        at(99),
        times.len()
    );
}

fn main() {
    let conversations: u64 = env::var("FLOATBOWL_CONVERSATIONS")
        .map_or(100_000, |n| n.parse().expect("a number of conversations"));
    let (folder, runtime) = (folder(), Runtime::new().unwrap());
    let path = folder.path().join("data");
    let store = Store::open(&path).unwrap();
    timed("filling", || runtime.block_on(fill(&store, conversations)));
    timed("closing, with its seal", || drop(store));
    let events = conversations * u64::from(3 * TURNS);
    println!(
        "{conversations} conversations, {events} events: {} MB, {} bytes an event with its share of the reply",
        bytes(&path) >> 20,
        bytes(&path) / events
    );
    fs::remove_file(path.join("seal")).unwrap();
    timed("opening after a crash, reading everything", || {
        drop(Store::open(&path).unwrap());
    });
    let before = memory();
    let store = timed("opening", || Store::open(&path).unwrap());
    println!(
        "memory: {} MB more, {} MB in all",
        memory().saturating_sub(before),
        memory()
    );
    let desk = Desk::new(store.clone(), Counting, given(1 << 40));
    let every = (conversations / 500).max(1);
    runtime.block_on(async {
        let mut times = Vec::new();
        for id in (0..conversations).filter(|id| id % every == 1) {
            let address = format!("bench/group {}/place {id}", id % 50);
            let start = Instant::now();
            let answer = desk
                .take(message(&address, None, "on"), &terms())
                .await
                .unwrap();
            times.push(start.elapsed());
            assert!(matches!(answer, Answer::New(_)));
        }
        percentiles("a durable turn in a conversation of 60 events", times);
        let mut times = Vec::new();
        for rider in (0..conversations / 3).step_by(usize::try_from(every).unwrap()) {
            let start = Instant::now();
            let erased = desk
                .forget(Rider::new(&format!("rider {rider}")))
                .await
                .unwrap();
            times.push(start.elapsed());
            assert!(erased.conversations > 0);
        }
        percentiles("forgetting a person with three conversations", times);
        let start = Instant::now();
        let now = Timestamp::from_second(1_700_000_000 + 86_400 * 100).unwrap();
        store.sweep(now).await.unwrap();
        let waiting = store.silent(Status::Unfinished, now).await.unwrap();
        println!(
            "looking over {} unfinished conversations: {:.3} s",
            waiting.len(),
            start.elapsed().as_secs_f64()
        );
    });
}
