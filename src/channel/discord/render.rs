//! A reply as Discord messages: dangers first, then cautions, one instruction, a receipt, buttons.

use super::layout::layout;
use super::markdown::{pages, plain};
use super::words;
use crate::reply::{Line, Reply};
use serde_json::{Value, json};
use serenity::model::id::UserId;

/// The messages of a reply, in order, without nonces. Buttons stand under the last one.
///
/// Everything that is not our own mark is made plain, since a rider's words may be among it, and nobody
/// is pinged but the rider who is hailed.
#[must_use]
pub fn messages(reply: &Reply, hailed: Option<UserId>) -> Vec<Value> {
    let layout = layout(reply);
    let hail = hailed.map(words::made_for);
    let mut blocks: Vec<String> = hail.into_iter().chain(blocks(&reply.lines)).collect();
    if !layout.listed.is_empty() {
        let listed: Vec<String> = layout.listed.iter().map(|line| plain(line)).collect();
        blocks.push(format!("{}\n{}", words::NUMBERED, listed.join("\n")));
    }
    let mut messages: Vec<Value> = pages(&blocks)
        .into_iter()
        .map(|page| json!({"content": page, "allowed_mentions": mentions(None)}))
        .collect();
    if let Some(first) = messages.first_mut() {
        first["allowed_mentions"] = mentions(hailed);
    }
    if let Some(last) = messages.last_mut() {
        last["components"] = Value::Array(layout.rows);
    }
    messages
}

/// Who may be pinged by a message.
#[must_use]
pub fn mentions(rider: Option<UserId>) -> Value {
    let users: Vec<String> = rider.iter().map(ToString::to_string).collect();
    json!({"parse": [], "users": users})
}

/// The blocks of a reply, dangers and cautions on top.
#[must_use]
pub fn blocks(lines: &[Line]) -> Vec<String> {
    let mut sorted: Vec<&Line> = lines.iter().collect();
    sorted.sort_by_key(|line| weight(line));
    let runs = sorted.chunk_by(|a, b| together(a, b));
    runs.map(block).filter(|block| !block.is_empty()).collect()
}

fn weight(line: &Line) -> u8 {
    match line {
        Line::Danger(_) => 0,
        Line::Caution(_) => 1,
        _ => 2,
    }
}

/// Whether two lines stand in one block.
fn together(a: &Line, b: &Line) -> bool {
    matches!(
        (a, b),
        (Line::Caution(_), Line::Caution(_))
            | (Line::Receipt(_), Line::Receipt(_))
            | (Line::Danger(_), Line::Danger(_))
    )
}

fn block(lines: &[&Line]) -> String {
    let rendered: Vec<String> = lines.iter().map(|line| one(line)).collect();
    rendered.join("\n")
}

fn one(line: &Line) -> String {
    match line {
        Line::Danger(text) => each(text, "## STOP: ", "**", "**"),
        Line::Caution(text) => each(text, "> **Caution:** ", "> ", ""),
        Line::Receipt(text) => each(text, "-# Understood: ", "-# ", ""),
        Line::Judgement(text) | Line::Plain(text) => plain(text),
        Line::Instruction(text) | Line::Question(text) => each(text, "**", "**", "**"),
        Line::Steps(steps) => {
            let numbered = steps.iter().zip(1..);
            let steps = numbered.map(|(step, number)| format!("{number}. {}", plain(step)));
            steps.collect::<Vec<_>>().join("\n")
        }
    }
}

/// Every line of a text with its marks: one before the first, another before each of the others.
fn each(text: &str, first: &str, other: &str, after: &str) -> String {
    let safe = plain(text);
    let lines = safe.lines().enumerate().map(|(number, line)| {
        let before = if number == 0 { first } else { other };
        let after = if number == 0 && first.starts_with("## ") {
            ""
        } else {
            after
        };
        format!("{before}{line}{after}")
    });
    lines.collect::<Vec<_>>().join("\n")
}
