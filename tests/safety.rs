//! No unsafe step, whatever is typed: every combination of answers, every danger at every turn, and
//! a watcher that knows only the rules over a great many turns.
//!
//! `FLOATBOWL_SAFETY=long cargo test --release --test safety` runs all combinations, 1,000
//! conversations and a million turns.

#[path = "safety/dangers.rs"]
mod dangers;
#[path = "safety/exhaustive.rs"]
mod exhaustive;
#[path = "safety/million.rs"]
mod million;
#[path = "safety/riders.rs"]
mod riders;
#[path = "safety/rules.rs"]
mod rules;
#[path = "safety/slices.rs"]
mod slices;
#[path = "safety/watch.rs"]
mod watch;

use floatbowl::knowledge::Knowledge;
use std::sync::LazyLock;

static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);
static RULES: LazyLock<rules::Rules> = LazyLock::new(rules::Rules::read);

/// Whether everything is to be run, rather than what fits into an ordinary run of the tests.
fn long() -> bool {
    std::env::var_os("FLOATBOWL_SAFETY").is_some_and(|value| value == "long")
}
