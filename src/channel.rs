//! Where messages come from and replies go: each channel renders replies its own way.

pub mod terminal;
