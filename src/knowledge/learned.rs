//! Files of learned numbers: a line a row, its fields parted by tabs, its numbers as bytes.

use super::classifier::{Claim, END, REMEDY};
use super::problem::Problem;
use std::collections::BTreeSet;
use std::fmt::Write;
use std::ops::Range;

/// Hands the fields of every line to `read`, and makes what was read.
///
/// # Errors
/// The first line that is refused, a file that is cut off, or a claim that is not among the `known`.
pub(super) fn parse<R: Reader>(
    path: &str,
    text: &str,
    known: &BTreeSet<Claim>,
    mut reader: R,
) -> Result<R::Read, Problem> {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let trimmed = line.trim_end_matches(['\r', '\n']);
        let span = at..at + trimmed.len();
        at += line.len();
        if !trimmed.starts_with('#') {
            let fields: Vec<&str> = trimmed.split('\t').collect();
            let read = reader.line(&fields);
            read.map_err(|what| spoilt(path, Some(span), what))?;
        }
    }
    let (read, claims) = reader.finish().map_err(|what| spoilt(path, None, what))?;
    if text.lines().next_back() != Some(END) {
        let what = "The file is cut off: its last line is missing.";
        return Err(spoilt(path, None, what));
    }
    if let Some(claim) = claims.iter().find(|claim| !known.contains(claim)) {
        return Err(spoilt(path, None, &format!("There is no `{claim}`.")));
    }
    Ok(read)
}

/// What takes a file line by line.
pub(super) trait Reader {
    type Read;

    /// Takes the fields of a line.
    fn line(&mut self, fields: &[&str]) -> Result<(), &'static str>;

    /// What was read, and the claims it speaks for.
    fn finish(self) -> Result<(Self::Read, Vec<Claim>), &'static str>;
}

/// The claims of a line, parted by spaces.
pub(super) fn claims(text: &str) -> Result<Vec<Claim>, &'static str> {
    let claims: Option<_> = text.split(' ').map(Claim::parse).collect();
    claims.ok_or("The line holds something that is no claim.")
}

/// A size, up to 1000.
pub(super) fn size(text: &str) -> Option<usize> {
    text.parse().ok().filter(|size| (1..=1000).contains(size))
}

/// Words and their vectors, as they are read.
#[derive(Default)]
pub(super) struct Words {
    known: Vec<String>,
    vectors: Vec<f32>,
    unknown: Vec<f32>,
}

impl Words {
    /// The vector of words never seen.
    pub(super) fn unknown(
        &mut self,
        unit: &str,
        numbers: &str,
        dimension: usize,
    ) -> Result<(), &'static str> {
        self.unknown = large(unit, numbers, dimension)?;
        Ok(())
    }

    /// A word and its vector.
    pub(super) fn word(
        &mut self,
        word: &str,
        unit: &str,
        numbers: &str,
        dimension: usize,
    ) -> Result<(), &'static str> {
        if self.known.last().is_some_and(|last| last.as_str() >= word) {
            return Err("The line is not in the order of its words.");
        }
        self.known.push(word.to_owned());
        append(&mut self.vectors, unit, numbers, dimension)
    }

    /// The words in order, and the vectors of each and, last, of the unknown.
    pub(super) fn finish(mut self) -> Result<(Vec<String>, Vec<f32>), &'static str> {
        if self.unknown.is_empty() {
            return Err("The line `unknown` is missing.");
        }
        self.vectors.extend(self.unknown);
        Ok((self.known, self.vectors))
    }
}

/// The lines of words and their vectors, by place and last for the unknown.
pub(super) fn write_words<'a>(
    text: &mut String,
    words: &[String],
    vector: impl Fn(usize) -> &'a [f32],
) {
    let _ = writeln!(text, "unknown\t{}", small(vector(words.len())));
    for (at, word) in words.iter().enumerate() {
        let _ = writeln!(text, "word\t{word}\t{}", small(vector(at)));
    }
}

/// A number.
pub(super) fn number(text: &str) -> Result<f32, &'static str> {
    let number: Option<f32> = text.parse().ok();
    number
        .filter(|number| number.is_finite())
        .ok_or("The line holds something that is no number.")
}

/// Numbers as multiples of one of them, up to 127, each a byte in hexadecimal.
#[expect(clippy::cast_possible_truncation, reason = "no larger than 127")]
pub(super) fn small(numbers: &[f32]) -> String {
    let largest = numbers
        .iter()
        .fold(0.0_f32, |most, number| most.max(number.abs()));
    let unit = if largest > 0.0 { largest / 127.0 } else { 1.0 };
    let mut text = format!("{unit}\t");
    for number in numbers {
        let _ = write!(text, "{:02x}", (number / unit).round() as i8);
    }
    text
}

/// Numbers that [`small`] wrote.
pub(super) fn large(unit: &str, hex: &str, count: usize) -> Result<Vec<f32>, &'static str> {
    let mut numbers = Vec::with_capacity(count);
    append(&mut numbers, unit, hex, count)?;
    Ok(numbers)
}

/// Puts numbers that [`small`] wrote behind others; millions of them are read before the first prompt.
pub(super) fn append(
    numbers: &mut Vec<f32>,
    unit: &str,
    hex: &str,
    count: usize,
) -> Result<(), &'static str> {
    let unit = number(unit)?;
    if hex.len() != 2 * count {
        return Err("The line does not hold as many numbers as the shape says.");
    }
    let mut any = 0;
    numbers.extend(hex.as_bytes().chunks_exact(2).map(|pair| {
        let (high, low) = (DIGITS[usize::from(pair[0])], DIGITS[usize::from(pair[1])]);
        any |= high | low;
        f32::from(i8::from_ne_bytes([high << 4 | low & 15])) * unit
    }));
    if any > 15 {
        return Err("The line holds something that is no hexadecimal digit.");
    }
    Ok(())
}

/// By byte: what it stands for as a hexadecimal digit, more than 15 where it is none.
const DIGITS: [u8; 256] = {
    let mut digits = [u8::MAX; 256];
    let mut digit = 0;
    while digit < 16 {
        digits[b"0123456789abcdef"[digit as usize] as usize] = digit;
        digit += 1;
    }
    digits
};

fn spoilt(path: &str, span: Option<Range<usize>>, what: &str) -> Problem {
    Problem {
        file: path.to_owned(),
        span,
        what: what.to_owned(),
        remedy: REMEDY.to_owned(),
    }
}
