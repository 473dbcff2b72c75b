//! The Discord channel against a local fake of Discord: the real library, REST over TLS, the gateway.

mod begin;
mod buttons;
mod crowd;
mod fake;
mod fake_test;
mod full_disk;
mod gateway_life;
mod helpers;
mod hostile;
mod orders;
mod pictures;
mod serve;
mod stage;
mod trouble;
