//! Pixels: strokes, letters, and the way into a PNG.

use noto_sans_mono_bitmap::{FontWeight, RasterHeight, get_raster, get_raster_width};

/// A colour: red, green, blue.
pub type Colour = [u8; 3];
/// For the reading and the scale.
pub const BLACK: Colour = [0, 0, 0];
/// For the permitted range. Dark enough on white: contrast 8.6 to 1 by WCAG 2.
pub const BLUE: Colour = [0, 63, 135];
/// For what fills the range.
pub const GREY: Colour = [170, 170, 170];

const WHITE: u8 = 255;
const SIZE: RasterHeight = RasterHeight::Size20;
const WEIGHT: FontWeight = FontWeight::Regular;

/// A white sheet to draw on.
pub struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<u8>,
}

impl Canvas {
    /// A sheet, in pixels.
    pub fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            pixels: vec![WHITE; width * height * 3],
        }
    }

    /// A stroke from top to bottom, both included.
    pub fn upright(&mut self, x: usize, (top, bottom): (usize, usize), colour: Colour) {
        for y in top..=bottom {
            self.blend(x, y, colour, 255);
        }
    }

    /// A stroke from left to right, both included.
    pub fn level(&mut self, (left, right): (usize, usize), y: usize, colour: Colour) {
        for x in left..=right {
            self.blend(x, y, colour, 255);
        }
    }

    /// A line of letters with its middle at `x` as far as the sheet allows, and its top at `y`.
    pub fn text(&mut self, x: usize, y: usize, text: &str, colour: Colour) {
        let letter = get_raster_width(WEIGHT, SIZE);
        let long = text.chars().count() * letter;
        let mut left = x
            .saturating_sub(long / 2)
            .min(self.width.saturating_sub(long));
        for c in text.chars() {
            if let Some(raster) = get_raster(c, WEIGHT, SIZE) {
                for (down, row) in raster.rows().enumerate() {
                    for (right, shade) in row.iter().enumerate() {
                        self.blend(left + right, y + down, colour, *shade);
                    }
                }
            }
            left += letter;
        }
    }

    /// The sheet as a PNG.
    pub fn png(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        let size = |length: usize| u32::try_from(length).expect("a small picture");
        let mut encoder = png::Encoder::new(&mut bytes, size(self.width), size(self.height));
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header().expect("writing to memory");
        writer
            .write_image_data(&self.pixels)
            .expect("as many pixels as the header says");
        writer.finish().expect("writing to memory");
        bytes
    }

    /// Puts colour over what is there, as far as `shade` of 255 covers it; nothing outside the sheet.
    fn blend(&mut self, x: usize, y: usize, colour: Colour, shade: u8) {
        if x >= self.width || y >= self.height {
            return;
        }
        let at = (y * self.width + x) * 3;
        for (pixel, ink) in self.pixels[at..at + 3].iter_mut().zip(colour) {
            let mixed =
                u16::from(*pixel) * u16::from(255 - shade) + u16::from(ink) * u16::from(shade);
            *pixel = u8::try_from(mixed / 255).unwrap_or(WHITE);
        }
    }
}
