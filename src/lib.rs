//! Floatbowl finds out, in conversation, why fuel does not get where it should on a motorcycle.
//!
//! One message goes one way, once, through modules that know nothing of those before them:
//!
//! ```text
//! channel -> desk -> conversation -> language -> quantity -> diagnosis -> reply
//!              |                                                |
//!            store (load events, fold)       store (append events, then send)
//! ```
//!
//! Read the modules in this order:
//!
//! - [`quantity`]: numbers with units, readings, uncertainty, specs, judgement.
//! - [`knowledge`]: what is known about bikes: loaded from `knowledge/`, checked, compiled.
//! - [`language`]: what a rider's message says.
//! - [`diagnosis`]: what the evidence says about the faults, and which step is worth most.
//! - [`reply`]: what is said, as structure and in words.
//! - [`conversation`]: events, the state folded from them, and the turn.
//! - [`store`]: conversations as they are kept.
//! - [`desk`]: one turn at a time per conversation, durable before it is answered.
//! - [`review`]: what volunteers do: read, correct, confirm, keep cases, replay, learn.
//! - [`channel`]: where messages come from: the terminal, Discord.
//! - [`config`]: one deployment's settings.
//! - [`simulate`]: virtual riders.
//! - [`book`]: all that is known as one page for people.
//! - [`cli`]: the command line.

pub mod book;
pub mod channel;
pub mod cli;
pub mod config;
pub mod conversation;
pub mod desk;
pub mod diagnosis;
pub mod knowledge;
pub mod language;
pub mod quantity;
pub mod reply;
pub mod review;
pub mod simulate;
pub mod store;

/// Starting makes and drops some hundred thousand small pieces (steps of phrases, words, tables): in
/// the system's allocator that was a third of it. It stands here, not in the program, so that tests
/// and benches run with what riders run with.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
