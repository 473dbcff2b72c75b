//! Beliefs about a model in a file: evidence in, belief out, one JSON object a line each way.
//!
//! `cargo run --example belief_of_model -- MODEL.json < EVIDENCE.jsonl`, where the model has the
//! shape of `floatbowl knowledge export`. For checks against other programs. With `--time N` it prints
//! instead the seconds that one update and one step of looking ahead take, as the mean over N.

#[path = "../diagnosis/exported.rs"]
mod exported;

use floatbowl::diagnosis::report::{Evidence, Report};
use floatbowl::diagnosis::{Belief, Depth, Finding, Prior, Situation, Terms, plan};
use floatbowl::knowledge::model::{FaultIx, Model, ObservationIx, ObservationKind};
use std::error::Error;
use std::hint::black_box;
use std::io::{BufRead, Write};
use std::sync::Arc;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args()
        .nth(1)
        .ok_or("name the file that holds the model")?;
    let model = exported::model(&std::fs::read_to_string(&path)?);
    let times = match std::env::args().nth(2).as_deref() {
        Some("--time") => Some(std::env::args().nth(3).ok_or("say how often")?.parse()?),
        _ => None,
    };
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let findings = Evidence::parse(&line?)?.findings(&model)?;
        if let Some(times) = times {
            write!(out, "{:e}", seconds(&model, &findings, times))?;
        } else {
            let report = Report::of(&model, &findings, Terms::default());
            serde_json::to_writer(&mut out, &report)?;
        }
        writeln!(out)?;
    }
    Ok(())
}

/// Mean seconds of the belief after these findings, and of the plan over every other observation. What
/// is made once for a model, its prior, is made beforehand, as any engine's network is.
fn seconds(model: &Model, findings: &[Finding], times: u32) -> f64 {
    let repairs: Vec<FaultIx> = (0..model.faults.len()).map(FaultIx::from).collect();
    let seen = |at: ObservationIx| {
        findings
            .iter()
            .any(|f| matches!(f, Finding::Seen { observation, .. } if *observation == at))
    };
    let left = (0..model.observations.len()).map(ObservationIx::from);
    let left: Vec<ObservationIx> = left
        .filter(|at| model.observations[at.at()].kind != ObservationKind::Proof && !seen(*at))
        .collect();
    let prior = Arc::new(Prior::of(model));
    let start = Instant::now();
    for _ in 0..times {
        let belief = Belief::from_prior(&prior, model, black_box(findings));
        let _ = black_box(plan(&Situation {
            model,
            belief: &belief,
            open: &[],
            observations: &left,
            repairs: &repairs,
            terms: Terms::default(),
            depth: Depth::OneStep,
        }));
    }
    start.elapsed().as_secs_f64() / f64::from(times)
}
