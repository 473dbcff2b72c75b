//! Work in order per key and side by side over keys; a key with nothing to do costs nothing.

use std::collections::BTreeMap;
use std::future::Future;
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio_util::task::TaskTracker;

/// What is done with a job.
type Work<J> = dyn Fn(J) -> Pin<Box<dyn Future<Output = ()> + Send>> + Send + Sync;

/// Where jobs stand in line, one line a key. Jobs that wait together go by their order (a message by
/// its id), so that what arrived out of order is still handled in order.
pub struct Lanes<K, J> {
    waiting: Arc<Mutex<BTreeMap<K, Vec<J>>>>,
    work: Arc<Work<J>>,
    running: TaskTracker,
}

impl<K, J> Lanes<K, J>
where
    K: Ord + Copy + Send + 'static,
    J: Ord + Send + 'static,
{
    /// Lanes that do this with every job, counted among what is running.
    pub fn new<W, F>(running: TaskTracker, work: W) -> Self
    where
        W: Fn(J) -> F + Send + Sync + 'static,
        F: Future<Output = ()> + Send + 'static,
    {
        Self {
            waiting: Arc::default(),
            work: Arc::new(move |job| Box::pin(work(job))),
            running,
        }
    }

    /// Puts a job in line.
    pub fn put(&self, key: K, job: J) {
        let mut waiting = lock(&self.waiting);
        if let Some(line) = waiting.get_mut(&key) {
            line.push(job);
            return;
        }
        waiting.insert(key, vec![job]);
        drop(waiting);
        let (waiting, work) = (Arc::clone(&self.waiting), Arc::clone(&self.work));
        self.running.spawn(async move {
            while let Some(job) = first(&waiting, key) {
                work(job).await;
            }
        });
    }

    /// How many keys have something to do.
    #[must_use]
    pub fn busy(&self) -> usize {
        lock(&self.waiting).len()
    }
}

/// The least of those that wait; none closes the lane.
fn first<K: Ord + Copy, J: Ord>(waiting: &Mutex<BTreeMap<K, Vec<J>>>, key: K) -> Option<J> {
    let mut waiting = lock(waiting);
    let line = waiting.get_mut(&key)?;
    let least = (0..line.len()).min_by(|a, b| line[*a].cmp(&line[*b]));
    if let Some(position) = least {
        return Some(line.remove(position));
    }
    waiting.remove(&key);
    None
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;
    use tokio::sync::mpsc;

    #[tokio::test]
    async fn one_at_a_time_in_order_and_nothing_is_left() {
        let (out, mut seen) = mpsc::unbounded_channel();
        let running = TaskTracker::new();
        let lanes = Lanes::new(running.clone(), move |job: u32| {
            let out = out.clone();
            async move {
                tokio::time::sleep(Duration::from_millis(1)).await;
                out.send(job).expect("listened to");
            }
        });
        for job in [5, 4, 3, 2, 1] {
            lanes.put("a", job);
        }
        lanes.put("b", 9);
        running.close();
        running.wait().await;
        assert_eq!(lanes.busy(), 0);
        let mut order = Vec::new();
        while let Ok(job) = seen.try_recv() {
            order.push(job);
        }
        let of_a: Vec<u32> = order.iter().copied().filter(|job| *job < 9).collect();
        assert_eq!(of_a, [1, 2, 3, 4, 5]);
        assert!(order.contains(&9));
    }
}
