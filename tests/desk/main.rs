//! The desk: one message at a time for each conversation, and what is tended between them.

mod fake;
mod talk;
mod tend;
mod world;
