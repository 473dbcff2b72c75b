//! Where messages come from and replies go.

pub mod counted;
pub mod discord;
pub mod gauges;
pub mod health;
pub mod terminal;
