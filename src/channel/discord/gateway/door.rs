//! The door through which shards identify: a few side by side, one after another in each lane.

use std::collections::BTreeMap;
use std::time::Duration;
use tokio::sync::Mutex;
use tokio::time::{Instant, sleep_until};

/// Time between two identifications in a lane.
///
/// Source: Discord developer documentation, Gateway, Sharding, Max Concurrency.
pub const BETWEEN: Duration = Duration::from_secs(5);

/// Lets shards through at the pace Discord allows. Several processes each have a door of their own;
/// started together they may be told to wait, which is handled as any lost connection.
pub struct Door {
    lanes: u32,
    between: Duration,
    last: Mutex<BTreeMap<u32, Instant>>,
}

impl Door {
    /// A door with so many lanes (`max_concurrency`).
    #[must_use]
    pub fn new(lanes: u32, between: Duration) -> Self {
        Self {
            lanes: lanes.max(1),
            between,
            last: Mutex::default(),
        }
    }

    /// Waits until a shard may identify.
    pub async fn pass(&self, shard: u32) {
        let lane = shard % self.lanes;
        let now = Instant::now();
        let at = {
            let mut last = self.last.lock().await;
            let at = last
                .get(&lane)
                .map_or(now, |last| (*last + self.between).max(now));
            last.insert(lane, at);
            at
        };
        sleep_until(at).await;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn lanes_do_not_wait_for_each_other() {
        let between = Duration::from_millis(120);
        let door = Door::new(2, between);
        let begin = Instant::now();
        door.pass(0).await;
        door.pass(1).await;
        assert!(begin.elapsed() < between);
        door.pass(2).await;
        assert!(begin.elapsed() >= between);
    }
}
