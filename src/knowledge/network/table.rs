//! The file of a network.

use super::{Network, Shape, Weights};
use crate::knowledge::classifier::{Claim, END, ORIGIN};
use crate::knowledge::learned::{self, Words, large, number, size, small, write_words};
use crate::knowledge::problem::Problem;
use std::collections::BTreeSet;
use std::fmt::Write;

impl Network {
    /// Reads a file.
    ///
    /// # Errors
    /// The first line that is not as it should be, or a claim that is not among the `known`.
    pub fn parse(path: &str, text: &str, known: &BTreeSet<Claim>) -> Result<Self, Problem> {
        learned::parse(path, text, known, Reader::default())
    }

    /// The network as text, its numbers rounded to what [`Network::parse`] reads.
    #[must_use]
    pub fn written(&self) -> String {
        let Shape {
            dimension,
            filters,
            widths,
        } = &self.shape;
        let widths: Vec<String> = widths.iter().map(ToString::to_string).collect();
        let claims: Vec<String> = self.claims.iter().map(ToString::to_string).collect();
        let mut text = format!(
            "{ORIGIN}\nshape\t{dimension}\t{filters}\t{}\nclaims\t{}\n",
            widths.join(" "),
            claims.join(" ")
        );
        let vector = |word| self.weights.vector(&self.shape, word);
        write_words(&mut text, &self.words, vector);
        for (unit, threshold) in self.weights.thresholds.iter().enumerate() {
            let slots = self.shape.slots_of(unit);
            let numbers: Vec<f32> = slots
                .flat_map(|slot| &self.weights.patterns[slot * dimension..][..*dimension])
                .copied()
                .collect();
            let _ = writeln!(text, "pattern\t{threshold}\t{}", small(&numbers));
        }
        for (claim, bias) in self.weights.bias.iter().enumerate() {
            let rows = self.weights.outputs.chunks_exact(self.claims.len());
            let numbers: Vec<f32> = rows.map(|row| row[claim]).collect();
            let _ = writeln!(text, "claim\t{bias}\t{}", small(&numbers));
        }
        text + END + "\n"
    }
}

/// A network while its file is read.
#[derive(Default)]
struct Reader {
    shape: Option<Shape>,
    claims: Vec<Claim>,
    words: Words,
    weights: Weights,
}

impl learned::Reader for Reader {
    type Read = Network;

    fn line(&mut self, fields: &[&str]) -> Result<(), &'static str> {
        let Some(Shape { dimension, .. }) = self.shape else {
            self.shape = Some(shape(fields).ok_or("The file does not begin with a shape.")?);
            return Ok(());
        };
        match *fields {
            ["claims", claims] if self.claims.is_empty() => self.claims = learned::claims(claims)?,
            ["unknown", unit, numbers] => self.words.unknown(unit, numbers, dimension)?,
            ["word", word, unit, numbers] => self.words.word(word, unit, numbers, dimension)?,
            ["pattern", threshold, unit, numbers] => self.pattern(threshold, unit, numbers)?,
            ["claim", bias, unit, numbers] => self.claim(bias, unit, numbers)?,
            _ => return Err("The line is none of this kind of file."),
        }
        Ok(())
    }

    fn finish(mut self) -> Result<(Network, Vec<Claim>), &'static str> {
        let shape = self.shape.ok_or("The file does not begin with a shape.")?;
        let (words, vectors) = self.words.finish()?;
        self.weights.vectors = vectors;
        let complete = self.weights.thresholds.len() == shape.units()
            && self.weights.bias.len() == self.claims.len();
        if !complete {
            return Err("There are fewer patterns or claims than the shape says.");
        }
        let network = Network::new(shape, words, self.claims.clone(), self.weights);
        Ok((network, self.claims))
    }
}

impl Reader {
    fn pattern(&mut self, threshold: &str, unit: &str, numbers: &str) -> Result<(), &'static str> {
        let Some(shape) = &self.shape else {
            return Ok(());
        };
        let nth = self.weights.thresholds.len();
        if nth == shape.units() {
            return Err("There are more patterns than the shape says.");
        }
        let slots: Vec<usize> = shape.slots_of(nth).collect();
        let vectors = large(unit, numbers, slots.len() * shape.dimension)?;
        let patterns = &mut self.weights.patterns;
        patterns.resize(shape.slots() * shape.dimension, 0.0);
        for (slot, vector) in slots.iter().zip(vectors.chunks_exact(shape.dimension)) {
            patterns[slot * shape.dimension..][..shape.dimension].copy_from_slice(vector);
        }
        self.weights.thresholds.push(number(threshold)?);
        Ok(())
    }

    fn claim(&mut self, bias: &str, unit: &str, numbers: &str) -> Result<(), &'static str> {
        let (claims, nth) = (self.claims.len(), self.weights.bias.len());
        if nth == claims {
            return Err("There are more lines of claims than claims.");
        }
        let units = self.weights.thresholds.len();
        let column = large(unit, numbers, units)?;
        let outputs = &mut self.weights.outputs;
        outputs.resize(units * claims, 0.0);
        for (row, weight) in outputs.chunks_exact_mut(claims).zip(column) {
            row[nth] = weight;
        }
        self.weights.bias.push(number(bias)?);
        Ok(())
    }
}

fn shape(fields: &[&str]) -> Option<Shape> {
    let ["shape", dimension, filters, widths] = fields else {
        return None;
    };
    let widths: Option<Vec<usize>> = widths.split(' ').map(size).collect();
    Some(Shape {
        dimension: size(dimension)?,
        filters: size(filters)?,
        widths: widths?,
    })
}

#[cfg(test)]
mod tests {
    use super::Network;
    use crate::knowledge::classifier::Claim;
    use std::collections::BTreeSet;

    /// Every number is a multiple of its line's largest by a whole number of 127ths.
    const FILE: &str = "shape\t2\t1\t1 2\nclaims\thazard:fire danger\nunknown\t1\t0000\n\
        word\thot\t0.5\t7f81\nword\tnot\t1\t7f00\npattern\t-0.5\t1\t7f01\npattern\t1\t2\t7f000081\n\
        claim\t-1\t0.25\t7f81\nclaim\t-2\t1\t007f\n# Here the table ends.\n";

    fn parse(text: &str) -> Result<Network, String> {
        let known = BTreeSet::from([Claim::Hazard("fire".into()), Claim::Danger]);
        Network::parse("learned/en-network.tsv", text, &known)
            .map_err(|problem| format!("{}: {}", problem.line(text), problem.what))
    }

    #[test]
    fn what_is_written_reads_back() {
        let network = parse(FILE).unwrap();
        let written = network.written();
        assert!(
            written.starts_with('#') && written.ends_with(FILE),
            "{written}"
        );
        let again = parse(&written).unwrap();
        assert_eq!(again.weights, network.weights);
        let vector = network.weights.vector(&network.shape, 0);
        assert_eq!(vector, [0.5 * 127.0, 0.5 * -127.0]);
    }

    #[test]
    fn a_spoilt_file_is_refused_by_line() {
        let cases = [
            (
                FILE.replace("shape", "shop"),
                "1: The file does not begin with a shape.",
            ),
            (
                FILE.replace("hazard:fire", "fire"),
                "2: The line holds something that is no claim.",
            ),
            (
                FILE.replace("7f81\nword", "7f\nword"),
                "4: The line does not hold as many numbers as the shape says.",
            ),
            (
                FILE.replace("word\tnot", "word\tall"),
                "5: The line is not in the order of its words.",
            ),
            (
                FILE.replace("7f01", "7g01"),
                "6: The line holds something that is no hexadecimal digit.",
            ),
            (
                FILE.replace("-0.5", "NaN"),
                "6: The line holds something that is no number.",
            ),
            (
                FILE.replace("claim\t-1", "claims\t-1"),
                "8: The line is none of this kind of file.",
            ),
            (
                FILE.replace("unknown\t1\t0000\n", ""),
                "1: The line `unknown` is missing.",
            ),
            (
                FILE.replace("claim\t-2\t1\t007f\n", ""),
                "1: There are fewer patterns or claims than the shape says.",
            ),
            (
                FILE.replace("# Here", "# There"),
                "1: The file is cut off: its last line is missing.",
            ),
            (
                FILE.replace("danger", "hazard:hunger"),
                "1: There is no `hazard:hunger`.",
            ),
        ];
        for (text, expected) in cases {
            assert_eq!(parse(&text).err().as_deref(), Some(expected), "{text}");
        }
    }
}
