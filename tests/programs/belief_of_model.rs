//! Beliefs about a model in a file: evidence in, belief out, one JSON object a line each way.
//!
//! `cargo run --example belief_of_model -- MODEL.json < EVIDENCE.jsonl`, where the model has the
//! shape of `floatbowl knowledge export`. For checks against other programs.

#[path = "../diagnosis/exported.rs"]
mod exported;

use floatbowl::diagnosis::Terms;
use floatbowl::diagnosis::report::{Evidence, Report};
use std::error::Error;
use std::io::{BufRead, Write};

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args()
        .nth(1)
        .ok_or("name the file that holds the model")?;
    let model = exported::model(&std::fs::read_to_string(&path)?);
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let findings = Evidence::parse(&line?)?.findings(&model)?;
        serde_json::to_writer(&mut out, &Report::of(&model, &findings, Terms::default()))?;
        writeln!(out)?;
    }
    Ok(())
}
