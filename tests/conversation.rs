//! Whole conversations, every phase met with every sort of message, and any order of messages.

#[path = "conversation/assent.rs"]
mod assent;
#[path = "conversation/bike.rs"]
mod bike;
#[path = "conversation/heard.rs"]
mod heard;
#[path = "conversation/order.rs"]
mod order;
#[path = "conversation/phases.rs"]
mod phases;
#[path = "conversation/slow.rs"]
mod slow;
#[path = "conversation/small.rs"]
mod small;
#[path = "conversation/whole.rs"]
mod whole;
