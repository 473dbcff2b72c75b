//! One rider's conversation: a log of events, the state folded from it, and the turn that adds to it.
//!
//! [`turn::advance`] is the straight line on one screen: what came in is heard (`hear`), dangers
//! and commands come first, facts are taken up (`uptake`), the question on the table is answered
//! (`answer`), the evidence is weighed (`insight`), the next step decided (`agenda`), and the reply
//! put together (`compose`). Deliberately absent: words (they are in [`crate::reply::wording`]),
//! knowledge of any bike, time, chance and storage.

pub mod advice;
pub mod agenda;
pub mod amend;
pub mod answer;
pub mod asking;
pub mod compose;
pub mod condition;
pub mod doubt;
pub mod draft;
pub mod event;
pub mod explain;
pub mod gates;
pub mod hear;
pub mod insight;
pub mod intake;
pub mod measuring;
pub mod menu;
pub mod reading;
pub mod renew;
pub mod state;
pub mod trail;
pub mod turn;
pub mod uptake;
pub mod where_is;
pub mod work;

pub use event::{Incoming, Logged, Terms};
pub use state::State;
pub use trail::trail;
pub use turn::{advance, open, resume};
