//! A path drawn: its parts in order as boxes on a line, with what can fail and what can be checked there.

use super::html::Html;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Path, System};

/// Boxes in a row.
const PER_ROW: usize = 4;
const WIDTH: usize = 190;
const HEIGHT: usize = 78;
const GAP: usize = 36;
/// Letters that fit into a box's line.
const LETTERS: usize = 24;

/// One path of a system as a drawing.
pub(super) fn path(knowledge: &Knowledge, system: &System, path: &Path) -> Html {
    let rows = path.parts.len().div_ceil(PER_ROW);
    let (width, height) = (PER_ROW * (WIDTH + GAP), rows * (HEIGHT + GAP));
    let mut pieces = vec![Html::element("title", &[], [Html::text(&path.name)])];
    for (at, part) in path.parts.iter().enumerate() {
        if at + 1 < path.parts.len() {
            pieces.push(arrow(at));
        }
        let name = knowledge
            .parts
            .get(part)
            .map_or(part.as_str(), |part| part.name.as_str());
        let faults = knowledge.faults.values().filter(|fault| {
            let here = fault
                .systems
                .as_ref()
                .is_none_or(|systems| systems.contains(&system.id));
            fault.part == *part && here
        });
        let checks = knowledge.observations.values().filter(|check| {
            let here = check
                .systems
                .as_ref()
                .is_none_or(|systems| systems.contains(&system.id));
            here && check
                .on
                .as_ref()
                .is_some_and(|place| place.path == path.id && place.at == *part)
        });
        let below = format!("{} faults, {} checks", faults.count(), checks.count());
        pieces.push(part_box(at, name, &below));
    }
    let view = format!("0 0 {width} {height}");
    Html::element(
        "svg",
        &[
            ("viewBox", &view),
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("role", "img"),
        ],
        pieces,
    )
}

fn corner(at: usize) -> (usize, usize) {
    (
        (at % PER_ROW) * (WIDTH + GAP) + 2,
        (at / PER_ROW) * (HEIGHT + GAP) + 2,
    )
}

fn part_box(at: usize, name: &str, below: &str) -> Html {
    let (x, y) = corner(at);
    let mut pieces = vec![Html::empty(
        "rect",
        &[
            ("x", &x.to_string()),
            ("y", &y.to_string()),
            ("width", &WIDTH.to_string()),
            ("height", &HEIGHT.to_string()),
            ("rx", "16"),
            ("fill", "#fff3df"),
            ("stroke", "#b5651d"),
            ("stroke-width", "2"),
        ],
    )];
    let lines = textwrap::wrap(name, LETTERS);
    for (line, words) in lines.iter().take(2).enumerate() {
        pieces.push(words_at((x + 10, y + 24 + 18 * line), "15", words));
    }
    pieces.push(words_at((x + 10, y + HEIGHT - 10), "12", below));
    Html::element("g", &[], pieces)
}

fn words_at((x, y): (usize, usize), size: &str, words: &str) -> Html {
    let (x, y) = (x.to_string(), y.to_string());
    Html::element(
        "text",
        &[
            ("x", &x),
            ("y", &y),
            ("font-size", size),
            ("fill", "#1d2430"),
        ],
        [Html::text(words)],
    )
}

/// From a box to the next: to the right, or down and back at the end of a row.
fn arrow(at: usize) -> Html {
    let (x, y) = corner(at);
    let (next_x, next_y) = corner(at + 1);
    let middle = y + HEIGHT / 2;
    let line = if next_y == y {
        format!("M{} {middle} H{} l-8 -5 m8 5 l-8 5", x + WIDTH, next_x - 2)
    } else {
        let (turn, between) = (x + WIDTH + GAP / 2, y + HEIGHT + GAP / 2);
        let down = next_x + WIDTH / 2;
        format!(
            "M{} {middle} H{turn} V{between} H{down} V{} l-5 -8 m5 8 l5 -8",
            x + WIDTH,
            next_y - 2
        )
    };
    Html::empty(
        "path",
        &[
            ("d", &line),
            ("fill", "none"),
            ("stroke", "#b5651d"),
            ("stroke-width", "2"),
        ],
    )
}
