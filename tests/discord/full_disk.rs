//! A disk that is full: the turn is refused, serving ends with the reason, nothing answered is lost.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use floatbowl::channel::discord::DiscordError;
use floatbowl::desk::{Desk, Given};
use floatbowl::store::engine::{Applied, Batch, Engine, Row, Tree, Visit};
use floatbowl::store::keys::Keys;
use floatbowl::store::memory::Memory;
use floatbowl::store::{Store, StoreError};

use crate::stage::{Real, Stage};

/// An engine whose medium can be filled up.
struct Filling {
    inner: Memory,
    full: Arc<AtomicBool>,
}

impl Engine for Filling {
    fn apply(&mut self, batch: &Batch) -> Result<Applied, StoreError> {
        if self.full.load(Ordering::SeqCst) {
            return Err(StoreError::WriteFailed {
                place: "the invented disk".to_owned(),
                what: "no space left".to_owned(),
            });
        }
        self.inner.apply(batch)
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.inner.sync()
    }

    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        self.inner.get(tree, key)
    }

    fn last(&self, tree: Tree, prefix: &[u8]) -> Result<Option<Row>, StoreError> {
        self.inner.last(tree, prefix)
    }

    fn scan(&self, tree: Tree, prefix: &[u8], visit: Visit<'_>) -> Result<(), StoreError> {
        self.inner.scan(tree, prefix, visit)
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_full_disk_refuses_the_turn_and_ends_serving_with_the_reason() {
    let mut stage = Stage::set().await;
    let full = Arc::new(AtomicBool::new(false));
    let engine = Filling {
        inner: Memory::default(),
        full: Arc::clone(&full),
    };
    let store = Store::over_engine(move || Ok((engine, Keys::in_memory()?)));
    let store = store.expect("a store");
    stage.desk = Arc::new(Desk::new(store, Real, Given::by_system()));
    stage.serve().await;
    let thread = stage.begun("it cranks but will not start").await;
    // What was answered is out of the outbox before the disk fills up.
    let settled = |world: &crate::fake::world::World| !world.pinned(thread).is_empty();
    stage.fake.wait_until("the summary", settled).await;
    full.store(true, Ordering::SeqCst);
    let refused = stage.say(thread, "nothing changed").await;
    let text = stage.text(refused);
    assert!(text.contains("I could not keep that"), "{text}");
    let error = stage.ended().await.expect_err("it ends");
    assert!(matches!(error, DiscordError::Broken(_)), "{error}");
    assert!(error.to_string().contains("no space left"), "{error}");
}
