//! The pace of our requests: under Discord's ceiling over all routes, replies before tidying.

use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;
use tokio::time::{Instant, sleep, sleep_until};

/// Requests a second we allow ourselves.
///
/// Source: Discord developer documentation, Rate Limits, Global Rate Limit: 50 a second. The library
/// learns of a global limit only by hitting it, and then holds one route back, not the others.
const A_SECOND: u32 = 40;
/// How often what can wait looks whether it may go.
const LOOK: Duration = Duration::from_millis(50);

/// How much a request matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Urgency {
    /// Somebody waits for it.
    Now,
    /// It can wait until nobody waits.
    Later,
}

/// One slot after the other for all requests of the process.
#[derive(Debug, Default)]
pub struct Pace {
    next: Mutex<Option<Instant>>,
    urgent: AtomicUsize,
}

impl Pace {
    /// Waits for a slot.
    pub async fn slot(&self, urgency: Urgency) {
        match urgency {
            Urgency::Now => {
                self.urgent.fetch_add(1, Ordering::SeqCst);
                let waiting = Waiting(&self.urgent);
                sleep_until(self.take()).await;
                drop(waiting);
            }
            Urgency::Later => {
                while self.urgent.load(Ordering::SeqCst) > 0 {
                    sleep(LOOK).await;
                }
                sleep_until(self.take()).await;
            }
        }
    }

    /// Lets no request go for a while: Discord said so for all routes.
    pub fn hold(&self, time: Duration) {
        let until = Instant::now() + time;
        let mut next = self.next.lock().unwrap_or_else(PoisonError::into_inner);
        *next = Some(next.map_or(until, |next| next.max(until)));
    }

    fn take(&self) -> Instant {
        let now = Instant::now();
        let mut next = self.next.lock().unwrap_or_else(PoisonError::into_inner);
        let at = next.map_or(now, |next| next.max(now));
        *next = Some(at + Duration::from_secs(1) / A_SECOND);
        at
    }
}

/// Counts a request as waiting until it is dropped, given up or not.
struct Waiting<'a>(&'a AtomicUsize);

impl Drop for Waiting<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test(start_paused = true)]
    async fn slots_keep_their_distance() {
        let pace = Pace::default();
        let begin = Instant::now();
        for _ in 0..=A_SECOND {
            pace.slot(Urgency::Now).await;
        }
        assert!(begin.elapsed() >= Duration::from_millis(999));
    }

    #[tokio::test(start_paused = true)]
    async fn a_hold_holds_everything() {
        let pace = Pace::default();
        pace.hold(Duration::from_secs(7));
        let begin = Instant::now();
        pace.slot(Urgency::Now).await;
        assert!(begin.elapsed() >= Duration::from_secs(7));
    }
}
