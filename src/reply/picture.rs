//! A reading drawn on its scale, with the range it should lie in; plain enough without colour.

mod canvas;
pub mod trail;

use super::wording::picture as words;
use super::{Judged, Reply};
use canvas::{BLACK, BLUE, Canvas, GREY};

/// A drawing with its description.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// What it shows, for those who do not see it.
    pub alt: String,
    /// The PNG.
    pub png: Vec<u8>,
}

const WIDTH: usize = 640;
const HEIGHT: usize = 150;
/// Left and right of the scale.
const MARGIN: usize = 60;
/// Upper and lower edge of the band of permitted values.
const BAND: (usize, usize) = (58, 92);
/// Distance between the strokes of the band.
const HATCH: usize = 8;

/// The picture of the first reading judged in a reply that has a number and a range.
#[must_use]
pub fn of(reply: &Reply) -> Option<Picture> {
    reply.judgements.iter().find_map(reading)
}

/// A reading on its scale.
fn reading(judged: &Judged) -> Option<Picture> {
    let value = judged.corrected.filter(|value| value.is_finite())?;
    if judged.low.is_none() && judged.high.is_none() {
        return None;
    }
    let doubt = 2.0 * judged.uncertainty.unwrap_or(0.0);
    let scale = Scale::holding([
        Some(value - doubt),
        Some(value + doubt),
        judged.low,
        judged.high,
    ]);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    band(&mut canvas, &scale, judged);
    needle(&mut canvas, &scale, value, doubt);
    let label = words::value(value, judged.unit);
    canvas.text(scale.at(value), 14, &label, BLACK);
    for limit in [judged.low, judged.high].into_iter().flatten() {
        let label = words::value(limit, judged.unit);
        canvas.text(scale.at(limit), 118, &label, BLUE);
    }
    Some(Picture {
        alt: words::alt(value, judged),
        png: canvas.png(),
    })
}

/// The permitted range: framed and hatched, open where it has no limit.
fn band(canvas: &mut Canvas, scale: &Scale, judged: &Judged) {
    let left = judged.low.map_or(MARGIN, |low| scale.at(low));
    let right = judged.high.map_or(WIDTH - MARGIN, |high| scale.at(high));
    for x in (left..=right).step_by(HATCH) {
        canvas.upright(x, BAND, GREY);
    }
    canvas.level((left, right), BAND.0, BLUE);
    canvas.level((left, right), BAND.1, BLUE);
    let limits = [judged.low.map(|_| left), judged.high.map(|_| right)];
    for x in limits.into_iter().flatten() {
        canvas.upright(x, (BAND.0 - 6, BAND.1 + 6), BLUE);
        canvas.upright(x + 1, (BAND.0 - 6, BAND.1 + 6), BLUE);
    }
    canvas.level((MARGIN, WIDTH - MARGIN), 106, BLACK);
}

/// The reading: a thick stroke, and a bar as long as its doubt.
fn needle(canvas: &mut Canvas, scale: &Scale, value: f64, doubt: f64) {
    let x = scale.at(value);
    for offset in 0..4 {
        canvas.upright((x + offset).saturating_sub(2), (40, 106), BLACK);
    }
    let middle = usize::midpoint(BAND.0, BAND.1);
    for offset in 0..3 {
        let ends = (scale.at(value - doubt), scale.at(value + doubt));
        canvas.level(ends, middle - 1 + offset, BLACK);
    }
}

/// Values along the picture.
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    /// A scale with room for all of these.
    fn holding(values: [Option<f64>; 4]) -> Self {
        let values = values.into_iter().flatten();
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        let room = ((high - low) * 0.15)
            .max(high.abs() * 0.01)
            .max(f64::MIN_POSITIVE);
        Self {
            low: low - room,
            high: high + room,
        }
    }

    /// Where a value stands, in pixels from the left.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "clamped to the width of the picture, which is small"
    )]
    fn at(&self, value: f64) -> usize {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        MARGIN + (share * (WIDTH - 2 * MARGIN) as f64).round() as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::id::ObservationId;

    fn judged(corrected: Option<f64>, low: Option<f64>, high: Option<f64>) -> Judged {
        Judged {
            observation: ObservationId::from("battery-rest-voltage"),
            raw: corrected,
            offset: None,
            corrected,
            unit: "V",
            uncertainty: Some(0.1),
            low,
            high,
            weights: Vec::new(),
            verdict: String::new(),
        }
    }

    fn pixels(picture: &Picture) -> (u32, u32, Vec<u8>) {
        let decoder = png::Decoder::new(std::io::Cursor::new(picture.png.as_slice()));
        let mut reader = decoder.read_info().expect("a PNG");
        let mut pixels = vec![0; reader.output_buffer_size().expect("small")];
        let info = reader.next_frame(&mut pixels).expect("whole");
        (info.width, info.height, pixels)
    }

    #[test]
    fn a_reading_below_its_range_stands_left_of_it() {
        let picture = reading(&judged(Some(10.1), Some(12.4), Some(12.9))).expect("drawn");
        assert_eq!(
            picture.alt,
            "A scale. The reading, 10.1 V, lies below the range 12.4 to 12.9 V."
        );
        let (width, height, pixels) = pixels(&picture);
        assert_eq!((width, height), (640, 150));
        // The needle is the only black that crosses the line above the band.
        let row = 50 * WIDTH * 3;
        let black: Vec<usize> = (0..WIDTH)
            .filter(|x| pixels[row + x * 3..row + x * 3 + 3] == BLACK)
            .collect();
        let band = 75 * WIDTH * 3;
        let grey = (0..WIDTH).find(|x| pixels[band + x * 3..band + x * 3 + 3] == GREY);
        assert_eq!(black.len(), 4);
        assert!(black[3] < grey.expect("a band"));
    }

    #[test]
    fn no_number_or_no_range_is_no_picture() {
        assert_eq!(reading(&judged(None, Some(1.0), None)), None);
        assert_eq!(reading(&judged(Some(f64::INFINITY), Some(1.0), None)), None);
        assert_eq!(reading(&judged(Some(1.0), None, None)), None);
    }

    #[test]
    fn one_limit_is_enough() {
        let picture = reading(&judged(Some(0.0), None, Some(0.0))).expect("drawn");
        assert_eq!(
            picture.alt,
            "A scale. The reading, 0 V, lies within the range up to 0 V."
        );
    }
}
