//! The Discord channel with two hundred threads active: time from event to reply request, start to
//! ready, and memory for ten thousand open conversations. Against the local fake; run it alone.

#[path = "../tests/discord"]
#[expect(dead_code, reason = "the tests of the channel use the rest of it")]
mod scene {
    pub mod fake;
}

use std::sync::Arc;
use std::time::{Duration, Instant};

use floatbowl::channel::discord::{self, Registration, Setting};
use floatbowl::channel::gauges::Gauges;
use floatbowl::conversation::event::{Incoming, Terms};
use floatbowl::desk::{Assistant, Desk, Given, Message};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::load::embedded;
use floatbowl::store::Store;
use floatbowl::store::name::{Address, MessageId, Rider};
use scene::fake;
use scene::fake::Fake;
use serde_json::Value;
use tokio_util::sync::CancellationToken;

const GUILD: u64 = 2 << 22;
const THREADS: u64 = 200;
/// Messages a second over all threads: what 200 riders who answer every ten seconds write.
const A_SECOND: u64 = 20;
const MESSAGES: u64 = 600;
const OPEN: u64 = 10_000;

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime");
    runtime.block_on(latency());
    runtime.block_on(memory());
}

fn desk() -> Arc<Desk<Assistant>> {
    let knowledge = Knowledge::compile(embedded()).expect("the knowledge is well");
    let store = Store::in_memory().expect("a store");
    Arc::new(Desk::new(store, Assistant(knowledge), Given::by_system()))
}

async fn latency() {
    let fake = Fake::start().await;
    fake.guild(GUILD);
    fake.set(|settings| settings.patience = Duration::from_secs(60));
    let channel = fake.text_channel(GUILD, "help");
    let people: Vec<(u64, u64)> = (0..THREADS)
        .map(|number| {
            let rider = fake.member(GUILD, &format!("demo-{number}"), &[]);
            let message = fake.say(channel, rider, "hello");
            (fake.start_thread(message, rider, "bike"), rider)
        })
        .collect();
    let begin = Instant::now();
    let desk = desk();
    let mut setting = Setting::new(&fake.token(), Terms::default());
    setting.message_content = true;
    setting.registration = Registration::Everywhere;
    setting.client = Some(fake.http_client());
    let stop = CancellationToken::new();
    let serving = tokio::spawn(discord::serve(
        Arc::clone(&desk),
        setting,
        Arc::<Gauges>::default(),
        stop.clone(),
    ));
    fake.wait_for_shards(1).await;
    println!(
        "start to ready: {:?} (knowledge compiled, session open)",
        begin.elapsed()
    );
    fake.wait_until("commands", |world| !world.registered(None).is_empty())
        .await;
    open_all(&fake, &people).await;
    // Titles and summaries of the openings are over before the count begins.
    tokio::time::sleep(Duration::from_secs(20)).await;
    let mut took = talk(&fake, &people).await;
    took.sort_unstable();
    let at = |share: usize| took[(took.len() - 1) * share / 100];
    println!(
        "event to reply request, {THREADS} threads, {A_SECOND} messages a second, {} replies: p50 {:?}, p99 {:?}, max {:?}",
        took.len(),
        at(50),
        at(99),
        at(100)
    );
    stop.cancel();
    serving.await.expect("no panic").expect("a graceful end");
}

async fn open_all(fake: &Fake, people: &[(u64, u64)]) {
    for (thread, rider) in people {
        fake.slash(*thread, *rider, "bike-trouble", &[]);
        tokio::time::sleep(Duration::from_millis(120)).await;
    }
    fake.wait_until("all greetings", |world| {
        people
            .iter()
            .all(|(thread, _)| !world.bot_said(*thread).is_empty())
    })
    .await;
}

/// Riders write at an even pace; the time from each message to the post of its reply.
async fn talk(fake: &Fake, people: &[(u64, u64)]) -> Vec<Duration> {
    let texts = ["it cranks but will not start", "nothing changed", "why?"];
    let mut sent = Vec::new();
    let mut pace = tokio::time::interval(Duration::from_millis(1000 / A_SECOND));
    for number in 0..MESSAGES {
        pace.tick().await;
        let at = usize::try_from(number % THREADS).expect("small");
        let (thread, rider) = people[at];
        let text = texts[usize::try_from(number / THREADS).expect("small") % texts.len()];
        let before = posts(fake, thread);
        sent.push((thread, before, Instant::now()));
        fake.say(thread, rider, text);
    }
    tokio::time::sleep(Duration::from_secs(5)).await;
    let reply = |(thread, before, at): &(u64, usize, Instant)| {
        let calls = fake.requests_like("POST", &format!("^/channels/{thread}/messages$"));
        let replies = calls.into_iter().filter(|call| !is_summary(&call.body));
        replies
            .skip(*before)
            .map(|call| call.at.duration_since(*at))
            .next()
    };
    sent.iter().filter_map(reply).collect()
}

fn posts(fake: &Fake, thread: u64) -> usize {
    let calls = fake.requests_like("POST", &format!("^/channels/{thread}/messages$"));
    calls.iter().filter(|call| !is_summary(&call.body)).count()
}

fn is_summary(body: &Value) -> bool {
    let text = body["content"].as_str().unwrap_or_default();
    text.starts_with("**Where we are**")
}

/// Memory that ten thousand open conversations take while nobody speaks.
async fn memory() {
    let folder = tempfile::tempdir().expect("a folder");
    let knowledge = Knowledge::compile(embedded()).expect("the knowledge is well");
    let store = Store::open(folder.path()).expect("a store");
    let desk = Desk::new(store, Assistant(knowledge), Given::by_system());
    let before = resident();
    for number in 0..OPEN {
        let message = Message {
            address: Address::new(&format!("discord/{GUILD}/{}", number + 1)),
            rider: Some(Rider::new(&format!("discord/{number}"))),
            id: Some(MessageId::new(&format!("discord/m{number}"))),
            incoming: Incoming::Text("it cranks but will not start".to_owned()),
        };
        desk.take(message, &Terms::default()).await.expect("taken");
    }
    let after = resident();
    println!(
        "memory: {before} MB with none, {after} MB with {OPEN} open conversations ({} bytes each, the database's cache included)",
        (after.saturating_sub(before)) * 1_000_000 / OPEN
    );
}

/// Resident memory of this process, in megabytes.
fn resident() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let kilobytes = line.and_then(|line| line.split_whitespace().nth(1));
    kilobytes
        .and_then(|text| text.parse::<u64>().ok())
        .unwrap_or(0)
        / 1000
}
