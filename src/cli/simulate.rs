//! `floatbowl simulate`: virtual riders, and a table of how they fare.

use super::Failure;
use crate::conversation::Incoming;
use crate::knowledge::Knowledge;
use crate::knowledge::id::SystemId;
use crate::simulate::{Plan, Score, converse, simulate};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::Path;

#[derive(Debug, Args)]
pub(super) struct Simulate {
    /// Which system, for example pump-carb.
    #[arg(long)]
    system: String,
    /// How many riders.
    #[arg(long, default_value_t = 200)]
    riders: u32,
    /// Seed of chance; the same seed gives the same riders.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Share of answers that are slips.
    #[arg(long, default_value_t = 0.0, value_name = "RATE")]
    slips: f64,
    /// How many faults a bike has.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=4))]
    faults: u8,
    /// Share of riders whose bike has one fault more.
    #[arg(long, default_value_t = 0.0, value_name = "SHARE")]
    doubles: f64,
    /// Minutes until a rider answers: 0 at a terminal, hours in a forum.
    #[arg(long, default_value_t = 0.0, value_name = "MINUTES")]
    round_trip: f64,
    /// Print one JSON object in place of a table.
    #[arg(long)]
    json: bool,
    /// Print a JSON line for every rider too.
    #[arg(long)]
    each: bool,
    /// Print the conversation of one rider, numbered from 0, instead.
    #[arg(long, value_name = "RIDER")]
    show: Option<u32>,
}

pub(super) fn run(simulation: &Simulate, folder: Option<&Path>) -> Result<(), Failure> {
    let knowledge = super::knowledge(folder)?;
    let system = SystemId::from(simulation.system.as_str());
    if knowledge.model(&system).is_none() {
        return Err(super::knowledge::unknown_system(
            &knowledge,
            &simulation.system,
        ));
    }
    let plan = Plan {
        system,
        riders: simulation.riders,
        seed: simulation.seed,
        slips: simulation.slips.clamp(0.0, 1.0),
        faults: simulation.faults,
        doubles: simulation.doubles.clamp(0.0, 1.0),
        round_trip_minutes: simulation.round_trip.max(0.0),
    };
    if let Some(rider) = simulation.show {
        show(&knowledge, &plan, rider);
        return Ok(());
    }
    let bar = ProgressBar::new(u64::from(plan.riders));
    if let Ok(style) = ProgressStyle::with_template("{wide_bar} {pos}/{len} riders, {eta} left") {
        bar.set_style(style);
    }
    let score = simulate(&knowledge, &plan, &|fare| {
        bar.inc(1);
        if simulation.each {
            line(fare);
        }
    });
    bar.finish_and_clear();
    if simulation.json {
        line(&score);
    } else {
        table(&score);
    }
    Ok(())
}

/// One JSON line; what is printed here can always be written as JSON.
fn line(what: &impl serde::Serialize) {
    if let Ok(text) = serde_json::to_string(what) {
        anstream::println!("{text}");
    }
}

fn show(knowledge: &Knowledge, plan: &Plan, rider: u32) {
    let fare = converse(knowledge, plan, rider, &mut |_, said, reply| {
        let (Incoming::Text(said) | Incoming::Choose(said)) = said;
        let reply = crate::reply::view::markdown(&reply.lines);
        anstream::println!("> {said}\n\n{reply}\n");
    });
    line(&fare);
}

fn table(score: &Score) {
    let share = |name: &str, hits: u32, of: u32| {
        let (low, high) = crate::simulate::wilson(hits, of);
        let percent = 100.0 * f64::from(hits) / f64::from(of.max(1));
        anstream::println!(
            "{name:<34}{hits:>6} of {of:<6} {percent:>5.1} %  (95 %: {:.1} to {:.1})",
            100.0 * low,
            100.0 * high
        );
    };
    share(
        "first repair right, one fault",
        score.found_first,
        score.singles,
    );
    share("found", score.found, score.riders);
    share(
        "found, of faults to mend at home",
        score.found_at_home,
        score.at_home,
    );
    share(
        "handed over rightly, of a shop's",
        score.handed_over_rightly,
        score.shop_work,
    );
    share(
        "all found, several faults",
        score.found_both,
        score.riders - score.singles,
    );
    share("handed over", score.handed_over, score.riders);
    anstream::println!("{:<34}{:>6}", "needless repairs", score.wrong_repairs);
    anstream::println!(
        "{:<34}{:>8.1}  (fixed order: {:.1}; without checks that do not pay: {:.1})",
        "mean minutes",
        score.mean_minutes,
        score.fixed_order_minutes,
        score.skipping_order_minutes
    );
    if let Some(optimum) = score.optimum_minutes {
        anstream::println!(
            "{:<34}{optimum:>8.1}",
            "expected by the best policy, priced"
        );
    }
    anstream::println!("{:<34}{:>8.1}", "mean turns", score.mean_turns);
    share(
        "asked for a result once more",
        score.riders_asked_again,
        score.riders,
    );
    let missed = score.missed.iter();
    let missed: Vec<String> = missed.map(|(fault, n)| format!("{fault} {n}")).collect();
    anstream::println!("{:<34}{}", "came to neither end", missed.join(", "));
    anstream::println!("{:<34}{:>6}", "gate violations", score.gate_violations);
    anstream::println!("{:<34}{:>6}", "unfinished", score.unfinished);
}
