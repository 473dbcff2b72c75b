//! A reply as markdown, and as the one JSON object the machine interface prints.

use super::{Line, Reply};
use crate::reply::Phase;
use serde_json::{Map, Value, json};

/// What is said, as markdown. What was understood stands together, one line each.
#[must_use]
pub fn markdown(lines: &[Line]) -> String {
    let runs = lines.chunk_by(|a, b| receipt(a).is_some() && receipt(b).is_some());
    let blocks: Vec<String> = runs.map(run).collect();
    blocks.join("\n\n")
}

fn receipt(line: &Line) -> Option<&str> {
    match line {
        Line::Receipt(text) => Some(text),
        _ => None,
    }
}

fn run(lines: &[Line]) -> String {
    let receipts: Vec<&str> = lines.iter().filter_map(receipt).collect();
    match receipts.as_slice() {
        [] => lines.iter().map(block).collect(),
        [one] => format!("Understood: {one}"),
        several => {
            let items = several.iter().map(|text| format!("- {text}"));
            format!("Understood:\n{}", items.collect::<Vec<_>>().join("\n"))
        }
    }
}

fn block(line: &Line) -> String {
    match line {
        Line::Danger(text) => format!("**STOP. {text}**"),
        Line::Caution(text) => format!("> Caution: {text}"),
        Line::Receipt(text) | Line::Judgement(text) | Line::Plain(text) => text.clone(),
        Line::Instruction(text) | Line::Question(text) => format!("**{text}**"),
        Line::Steps(steps) => numbered(steps),
    }
}

fn numbered(steps: &[String]) -> String {
    let lines: Vec<String> = steps
        .iter()
        .zip(1..)
        .map(|(step, number)| format!("{number}. {step}"))
        .collect();
    lines.join("\n")
}

/// The object that `floatbowl chat --json` prints for a turn.
#[must_use]
pub fn json(reply: &Reply) -> Value {
    json!({
        "turn": reply.turn,
        "phase": reply.phase,
        "say": markdown(&reply.lines),
        "asks": reply.asks.iter().map(|ask| json!({
            "observation": ask.observation,
            "kind": ask.kind,
            "quantity": ask.quantity,
            "outcomes": ask.outcomes.iter().map(|(id, words)| json!({"id": id, "words": words})).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "choices": reply.choices,
        "cautions": reply.cautions,
        "hazards": reply.hazards,
        "judgements": judgements(reply),
        "suspects": reply.suspects,
        "ruled_out": reply.ruled_out,
        "conflict": reply.conflict,
        "step": reply.step,
        "minutes": {"spent": reply.minutes_spent, "expected_left": reply.minutes_left},
        "closed": matches!(reply.phase, Phase::Closed),
    })
}

fn judgements(reply: &Reply) -> Vec<Value> {
    let judged = reply.judgements.iter();
    judged
        .map(|judged| {
            let weights: Map<String, Value> = judged
                .weights
                .iter()
                .map(|(id, weight)| (id.to_string(), json!(weight)))
                .collect();
            json!({
                "observation": judged.observation,
                "raw": judged.raw,
                "offset": judged.offset,
                "corrected": judged.corrected,
                "unit": judged.unit,
                "uncertainty": judged.uncertainty,
                "low": judged.low,
                "high": judged.high,
                "weights": weights,
                "verdict": judged.verdict,
            })
        })
        .collect()
}
