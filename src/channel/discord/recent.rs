//! What is remembered about the threads last busy; the oldest is let go, so that memory stays small.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// How many are remembered.
const MOST: usize = 4096;

/// A small memory by id. Ids rise with time, so the least is the oldest.
#[derive(Debug)]
pub struct Recent<V>(Mutex<BTreeMap<u64, V>>);

impl<V> Default for Recent<V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<V: Clone> Recent<V> {
    /// What is remembered.
    #[must_use]
    pub fn get(&self, id: u64) -> Option<V> {
        self.lock().get(&id).cloned()
    }

    /// Remembers; what was remembered before.
    pub fn put(&self, id: u64, value: V) -> Option<V> {
        let mut all = self.lock();
        let before = all.insert(id, value);
        if all.len() > MOST {
            all.pop_first();
        }
        before
    }

    /// Forgets.
    pub fn drop(&self, id: u64) -> Option<V> {
        self.lock().remove(&id)
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<u64, V>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_is_let_go() {
        let recent = Recent::default();
        let most = u64::try_from(MOST).expect("small");
        for id in 0..=most {
            recent.put(id, id);
        }
        assert_eq!(recent.get(0), None);
        assert_eq!(recent.get(most), Some(most));
        assert_eq!(recent.drop(most), Some(most));
        assert_eq!(recent.get(most), None);
    }
}
