//! The gateway: one loop a shard that keeps a connection to Discord and passes events on in order.
//!
//! - [`close`]: what a close code asks for.
//! - [`frame`]: what goes over a connection, both ways.
//! - [`session`]: what is needed to resume, also after a restart.
//! - [`link`]: one WebSocket.
//! - [`door`]: the pace at which shards may identify.
//! - [`shard`]: the loop itself.
//!
//! The loop is our own, with the chat library's types and REST calls around it: the library's own
//! loop spins for up to a minute after a close frame without a code, ignores the address to resume
//! at, and cannot resume across a restart.

pub mod close;
pub mod door;
pub mod frame;
pub mod link;
pub mod session;
pub mod shard;

use close::Refusal;
use serde_json::Value;

/// An event, as it came.
#[derive(Debug, Clone)]
pub struct Dispatch {
    /// Over which shard.
    pub shard: u32,
    /// What sort: `MESSAGE_CREATE`.
    pub name: String,
    /// What.
    pub data: Value,
}

/// Something worth counting about a shard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gauge {
    /// It is connected and has a session.
    Up,
    /// It is not connected.
    Down,
    /// A payload or an event could not be read.
    Unreadable,
}

/// Whoever counts.
pub trait Pulse: Send + Sync {
    /// Notes something about a shard.
    fn note(&self, shard: u32, gauge: Gauge);
}

/// Why the gateway is given up.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GatewayError {
    /// Discord will not have us.
    #[error(transparent)]
    Refused(#[from] Refusal),
}
