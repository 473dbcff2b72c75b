//! A store with very many conversations: size, opening, memory, a turn, forgetting a person.
//!
//! `FLOATBOWL_CONVERSATIONS` sets how many (100,000 unless set), each of 20 turns with 60 events and
//! replies as long as real ones, under ids by chance as real ones are; `FLOATBOWL_BENCH_DIR` names the
//! disk. Each stage is a process of its own, so that none finds memory that another has left. Opening is
//! measured with the files in the system's cache.

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
use floatbowl::store::name::{Address, ConversationId, MessageId, Rider, Status};
use floatbowl::store::{Entry, Home, Store};
use jiff::Timestamp;
use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use world::{given, message};

/// Turns of a conversation; each has three events.
const TURNS: u32 = 20;
/// Conversations written side by side.
const AT_ONCE: u64 = 512;
/// Spreads numbers in a row over all there are (an odd multiplier, so no two become one).
const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;

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

fn conversation(id: u64) -> ConversationId {
    ConversationId(id.wrapping_mul(SPREAD))
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
        conversation: conversation(id),
        opens: (turn == 0).then_some(home),
        at: Timestamp::from_second(1_700_000_000 + i64::from(turn)).unwrap(),
        after: 3 * turn,
        events: logged.to_vec(),
        message: Some(MessageId::new(&format!("bench/{id}/{turn}"))),
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
                    store.mark_sent(conversation(id), turn).await.unwrap();
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

/// Memory of this process in MB: now, and at most so far.
fn memory() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let field = |name: &str| {
        let line = status.lines().find(|line| line.starts_with(name));
        let number = line.and_then(|line| line.split_whitespace().nth(1));
        number.and_then(|kb| kb.parse::<u64>().ok()).unwrap_or(0) / 1024
    };
    format!("{} MB, at most {} MB", field("VmRSS:"), field("VmHWM:"))
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
    let words: Vec<String> = env::args().skip(1).collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["fill", path, number] => filling(Path::new(path), number.parse().unwrap()),
        ["crash", path, _] => crashed(Path::new(path)),
        ["use", path, number] => using(Path::new(path), number.parse().unwrap()),
        _ => all_stages(),
    }
}

fn all_stages() {
    let conversations: u64 = env::var("FLOATBOWL_CONVERSATIONS")
        .map_or(100_000, |n| n.parse().expect("a number of conversations"));
    let folder = folder();
    let path: PathBuf = folder.path().join("data");
    for stage in ["fill", "use", "crash"] {
        let mut command = Command::new(env::current_exe().unwrap());
        command.arg(stage).arg(&path).arg(conversations.to_string());
        assert!(command.status().unwrap().success(), "{stage}");
    }
}

fn filling(path: &Path, conversations: u64) {
    let store = Store::open(path).unwrap();
    let runtime = Runtime::new().unwrap();
    timed("filling", || runtime.block_on(fill(&store, conversations)));
    println!("memory: {}", memory());
    timed("closing, with its seal", || drop(store));
    let events = conversations * u64::from(3 * TURNS);
    println!(
        "{conversations} conversations, {events} events: {} MB, {} bytes an event with its share of the reply",
        bytes(path) >> 20,
        bytes(path) / events
    );
}

fn crashed(path: &Path) {
    fs::remove_file(path.join("seal")).unwrap();
    let store = timed("opening after a crash, reading everything", || {
        Store::open(path).unwrap()
    });
    timed("closing again", || drop(store));
}

fn using(path: &Path, conversations: u64) {
    let store = timed("opening", || Store::open(path).unwrap());
    println!("memory: {}", memory());
    let desk = Desk::new(store.clone(), Counting, given(1 << 40));
    Runtime::new().unwrap().block_on(async {
        turns(&desk, conversations).await;
        forgetting(&desk, conversations).await;
        looking_over(&store).await;
    });
    println!("memory: {}", memory());
    drop(desk);
    timed("closing after some use", || drop(store));
    let store = timed("opening again", || Store::open(path).unwrap());
    timed("closing unused", || drop(store));
}

async fn turns(desk: &Desk<Counting>, conversations: u64) {
    let every = (conversations / 500).max(1);
    let mut times = Vec::new();
    for id in (0..conversations).filter(|id| id % every == every / 2) {
        let address = format!("bench/group {}/place {id}", id % 50);
        let start = Instant::now();
        let answer = desk.take(message(&address, None, "on"), &terms()).await;
        times.push(start.elapsed());
        assert!(matches!(answer.unwrap(), Answer::New(answers) if answers.len() == 1));
    }
    println!(
        "the first turn of all: {:.1} ms",
        times[0].as_secs_f64() * 1000.0
    );
    percentiles("a durable turn in a conversation of 60 events", times);
}

async fn forgetting(desk: &Desk<Counting>, conversations: u64) {
    let every = usize::try_from((conversations / 500).max(1)).unwrap();
    let mut times = Vec::new();
    for rider in (0..conversations / 3).step_by(every) {
        let rider = Rider::new(&format!("rider {rider}"));
        let start = Instant::now();
        let erased = desk.forget(rider).await.unwrap();
        times.push(start.elapsed());
        assert_eq!(erased.conversations, 3);
    }
    percentiles("forgetting a person with three conversations", times);
}

async fn looking_over(store: &Store) {
    let start = Instant::now();
    let now = Timestamp::from_second(1_700_000_000 + 86_400 * 100).unwrap();
    store.sweep(now).await.unwrap();
    let waiting = store.silent(Status::Unfinished, now).await.unwrap();
    println!(
        "looking over {} unfinished conversations: {:.3} s",
        waiting.len(),
        start.elapsed().as_secs_f64()
    );
}
