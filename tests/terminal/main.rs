//! The terminal: how replies look there, and whole talks in it.

mod chat;
#[path = "../desk/fake.rs"]
mod fake;
mod real;
mod render;
mod scripts;
#[path = "../desk/world.rs"]
mod world;
