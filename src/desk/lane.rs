//! One message at a time per address; an address nobody waits at costs nothing.

use crate::store::name::Address;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::OwnedMutexGuard;

type Gate = Arc<tokio::sync::Mutex<()>>;

/// The addresses where something is going on.
#[derive(Default)]
pub struct Lanes {
    gates: Mutex<BTreeMap<Address, Gate>>,
}

/// The right to work at an address, until it is dropped.
pub struct Lane<'a> {
    lanes: &'a Lanes,
    address: Address,
    hold: Option<OwnedMutexGuard<()>>,
}

impl Lanes {
    /// Waits until the address is free; those who wait get in, in the order they came.
    pub async fn enter(&self, address: &Address) -> Lane<'_> {
        let gate = Arc::clone(self.gates().entry(address.clone()).or_default());
        // Made before waiting, so that giving up while waiting clears up as well.
        let mut lane = Lane {
            lanes: self,
            address: address.clone(),
            hold: None,
        };
        lane.hold = Some(gate.lock_owned().await);
        lane
    }

    fn gates(&self) -> MutexGuard<'_, BTreeMap<Address, Gate>> {
        // The map is never left half changed, so a panic elsewhere does not spoil it.
        self.gates.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Lane<'_> {
    fn drop(&mut self) {
        let mut gates = self.lanes.gates();
        self.hold = None;
        if gates
            .get(&self.address)
            .is_some_and(|gate| Arc::strong_count(gate) == 1)
        {
            gates.remove(&self.address);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;
    use tokio::time::timeout;

    #[tokio::test]
    async fn the_same_address_waits_and_another_does_not() {
        let lanes = Lanes::default();
        let (here, there) = (Address::new("here"), Address::new("there"));
        let first = lanes.enter(&here).await;
        let soon = Duration::from_millis(20);
        assert!(timeout(soon, lanes.enter(&here)).await.is_err());
        assert!(timeout(soon, lanes.enter(&there)).await.is_ok());
        drop(first);
        assert!(timeout(soon, lanes.enter(&here)).await.is_ok());
    }

    #[tokio::test]
    async fn nothing_is_left_behind_not_even_by_those_who_gave_up() {
        let lanes = Lanes::default();
        let here = Address::new("here");
        let first = lanes.enter(&here).await;
        let soon = Duration::from_millis(5);
        assert!(timeout(soon, lanes.enter(&here)).await.is_err());
        assert_eq!(lanes.gates().len(), 1);
        drop(first);
        assert!(lanes.gates().is_empty());
    }
}
