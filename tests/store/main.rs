//! Turns kept, read back, copied, mended and forgotten, on every engine.

mod backup;
mod cli;
mod contract;
#[path = "../desk/fake.rs"]
mod fake;
mod folder;
mod forget;
mod record;
mod salvage;
mod samples;
mod turns;
#[path = "../desk/world.rs"]
mod world;
