//! A world that the test drives: ids, a clock, messages. Nothing in it runs by itself.

use floatbowl::conversation::event::Incoming;
use floatbowl::desk::{Given, Message};
use floatbowl::store::name::{Address, ConversationId, MessageId};
use jiff::Timestamp;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

/// Ids in a row, and a clock that moves a second at each look.
pub fn given(first: u64) -> Given {
    let (ids, clock) = (AtomicU64::new(first), AtomicI64::new(1_700_000_000));
    Given {
        ids: Box::new(move || ConversationId(ids.fetch_add(1, Ordering::Relaxed))),
        clock: Box::new(move || {
            let second = clock.fetch_add(1, Ordering::Relaxed);
            Timestamp::from_second(second).expect("within the calendar")
        }),
    }
}

pub fn message(address: &str, id: Option<&str>, text: &str) -> Message {
    Message {
        address: Address::new(address),
        rider: None,
        id: id.map(MessageId::new),
        incoming: Incoming::Text(text.to_owned()),
    }
}
