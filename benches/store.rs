//! Durable turns per second.
fn main() {}
