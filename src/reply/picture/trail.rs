//! A path drawn: its parts in order as boxes, the one that is meant framed thick and pointed at.

use super::Picture;
use super::canvas::{BLACK, BLUE, Canvas, GREY};
use crate::reply::Trail;
use crate::reply::wording::picture as words;

/// Boxes in a row.
const IN_ROW: usize = 4;
/// A box, and the room between two.
const BOX: (usize, usize) = (168, 76);
const GAP: usize = 28;
/// Letters in a line of a box.
const LETTERS: usize = 16;
/// Height of a line.
const LINE: usize = 22;

/// The picture of a path.
#[must_use]
pub fn draw(trail: &Trail) -> Picture {
    let columns = trail.parts.len().clamp(1, IN_ROW);
    let rows = trail.parts.len().div_ceil(IN_ROW).max(1);
    let (width, height) = (BOX.0 + GAP, BOX.1 + GAP);
    let mut canvas = Canvas::new(columns * width + GAP, rows * height + GAP);
    for (number, name) in trail.parts.iter().enumerate() {
        let corner = (
            GAP + number % IN_ROW * width,
            GAP + number / IN_ROW * height,
        );
        // Numbered, so that the order is plain from one row to the next.
        let label = format!("{}. {name}", number + 1);
        part(&mut canvas, corner, &label, number == trail.at);
        let ends_row = number % IN_ROW + 1 == IN_ROW;
        if number + 1 < trail.parts.len() && !ends_row {
            onward(&mut canvas, corner);
        }
    }
    Picture {
        alt: words::trail(trail),
        png: canvas.png(),
    }
}

fn part(canvas: &mut Canvas, (left, top): (usize, usize), name: &str, meant: bool) {
    let (right, bottom) = (left + BOX.0, top + BOX.1);
    let (thick, colour) = if meant { (5, BLACK) } else { (1, BLUE) };
    for inner in 0..thick {
        canvas.level((left, right), top + inner, colour);
        canvas.level((left, right), bottom - inner, colour);
        canvas.upright(left + inner, (top, bottom), colour);
        canvas.upright(right - inner, (top, bottom), colour);
    }
    let lines = textwrap::wrap(name, LETTERS);
    for (number, line) in lines.iter().take(3).enumerate() {
        canvas.text(left + BOX.0 / 2, top + 6 + number * LINE, line, BLACK);
    }
    if meant {
        canvas.text(left + BOX.0 / 2, top - LINE - 1, words::HERE, BLACK);
    }
}

/// The line to the next box in the row.
fn onward(canvas: &mut Canvas, (left, top): (usize, usize)) {
    for thick in 0..2 {
        let y = top + BOX.1 / 2 + thick;
        canvas.level((left + BOX.0, left + BOX.0 + GAP), y, GREY);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_drawn_and_described() {
        let trail = Trail {
            path: "fuel path".to_owned(),
            parts: [
                "tank vent",
                "tap",
                "strainer",
                "filter",
                "float needle and seat",
            ]
            .map(str::to_owned)
            .to_vec(),
            at: 3,
        };
        let picture = draw(&trail);
        assert_eq!(
            picture.alt,
            "The fuel path in order: tank vent, tap, strainer, filter, float needle and seat. This step is at the filter."
        );
        assert!(picture.png.starts_with(b"\x89PNG"));
    }
}
