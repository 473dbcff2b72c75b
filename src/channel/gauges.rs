//! What is counted while serving: turns, how long they take, what waits, and how the gateway is.

use super::discord::gateway::{Gauge as Beat, Pulse};
use crate::conversation::event::{Event, Turn};
use crate::store::name::ConversationId;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::Registry;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::AtomicU64;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::time::Instant;

/// Upper limits of the buckets in seconds: a turn's computation at the left, Discord's three seconds
/// at the right, outages beyond.
const BUCKETS: [f64; 10] = [0.001, 0.0025, 0.005, 0.01, 0.05, 0.25, 1.0, 3.0, 15.0, 60.0];

/// A shard's number.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Shard {
    shard: u32,
}

/// All counts of the process.
pub struct Gauges {
    registry: Registry,
    turns: Counter,
    thinking: Histogram,
    replying: Histogram,
    not_understood: Counter,
    hazards: Counter,
    unreadable: Counter,
    waiting: Gauge,
    oldest: Gauge<f64, AtomicU64>,
    shards: Family<Shard, Gauge>,
    down: Mutex<BTreeSet<u32>>,
    outbox: Mutex<BTreeMap<(ConversationId, Turn), Instant>>,
}

impl Default for Gauges {
    fn default() -> Self {
        let mut gauges = Self {
            registry: Registry::with_prefix("floatbowl"),
            turns: Counter::default(),
            thinking: Histogram::new(BUCKETS),
            replying: Histogram::new(BUCKETS),
            not_understood: Counter::default(),
            hazards: Counter::default(),
            unreadable: Counter::default(),
            waiting: Gauge::default(),
            oldest: Gauge::default(),
            shards: Family::default(),
            down: Mutex::default(),
            outbox: Mutex::default(),
        };
        gauges.register();
        gauges
    }
}

impl Gauges {
    fn register(&mut self) {
        let registry = &mut self.registry;
        registry.register("turns", "Turns taken", self.turns.clone());
        registry.register(
            "turn_seconds",
            "Time to decide on a turn",
            self.thinking.clone(),
        );
        registry.register(
            "reply_seconds",
            "Time from a message to the reply being accepted by the channel",
            self.replying.clone(),
        );
        registry.register(
            "not_understood",
            "Turns in which nothing was understood",
            self.not_understood.clone(),
        );
        registry.register("hazards", "Dangers reported", self.hazards.clone());
        registry.register(
            "unreadable",
            "Events of the channel that could not be read",
            self.unreadable.clone(),
        );
        registry.register(
            "outbox_waiting",
            "Replies not yet accepted by the channel",
            self.waiting.clone(),
        );
        registry.register(
            "outbox_oldest_seconds",
            "How long the oldest of them has waited",
            self.oldest.clone(),
        );
        registry.register(
            "gateway_up",
            "Whether a shard is connected with a session",
            self.shards.clone(),
        );
    }

    /// Counts a turn by what happened in it and how long it took to decide.
    pub fn turn(&self, events: &[Event], took: Duration) {
        self.turns.inc();
        self.thinking.observe(took.as_secs_f64());
        let raised = events
            .iter()
            .filter(|event| matches!(event, Event::HazardRaised(_)))
            .count();
        self.hazards.inc_by(u64::try_from(raised).unwrap_or(0));
        if let [Event::Heard(_)] = events {
            self.not_understood.inc();
        }
    }

    /// A reply waits to be sent.
    pub fn waiting(&self, conversation: ConversationId, turn: Turn, since: Instant) {
        self.outbox().insert((conversation, turn), since);
    }

    /// A reply no longer waits.
    pub fn done(&self, conversation: ConversationId, turn: Turn) {
        self.outbox().remove(&(conversation, turn));
    }

    /// A reply was accepted, so long after what it answers.
    pub fn replied(&self, after: Duration) {
        self.replying.observe(after.as_secs_f64());
    }

    /// Something could not be read.
    pub fn unreadable(&self) {
        self.unreadable.inc();
    }

    /// All counts, in the text form of the open metrics standard.
    ///
    /// # Panics
    /// Never: writing to a string does not fail.
    #[must_use]
    pub fn text(&self) -> String {
        {
            let outbox = self.outbox();
            let oldest = outbox.values().map(Instant::elapsed).max();
            self.waiting
                .set(i64::try_from(outbox.len()).unwrap_or(i64::MAX));
            self.oldest.set(oldest.unwrap_or_default().as_secs_f64());
        }
        let mut text = String::new();
        encode(&mut text, &self.registry).expect("writing to a string does not fail");
        text
    }

    /// A shard is about to be begun.
    pub fn expect(&self, shard: u32) {
        self.note(shard, Beat::Down);
    }

    /// How many shards are not connected, of those that were ever begun.
    #[must_use]
    pub fn shards_down(&self) -> usize {
        self.down().len()
    }

    fn down(&self) -> MutexGuard<'_, BTreeSet<u32>> {
        self.down.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn outbox(&self) -> MutexGuard<'_, BTreeMap<(ConversationId, Turn), Instant>> {
        self.outbox.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Pulse for Gauges {
    fn note(&self, shard: u32, beat: Beat) {
        match beat {
            Beat::Up => {
                self.down().remove(&shard);
                self.shards.get_or_create(&Shard { shard }).set(1);
            }
            Beat::Down => {
                self.down().insert(shard);
                self.shards.get_or_create(&Shard { shard }).set(0);
            }
            Beat::Unreadable => self.unreadable(),
        }
    }
}
