//! The file of a recurrent network.

use super::{Recurrent, Shape, Way, Weights};
use crate::knowledge::classifier::{Claim, END, ORIGIN};
use crate::knowledge::learned::{self, Words, append, number, size, small, write_words};
use crate::knowledge::problem::Problem;
use ndarray::{Array1, Array2, ArrayView1, Axis, concatenate};
use std::collections::BTreeSet;
use std::fmt::Write;

const WAYS: [&str; 2] = ["forward", "backward"];

impl Recurrent {
    /// Reads a file.
    ///
    /// # Errors
    /// The first line that is not as it should be, or a claim that is not among the `known`.
    pub fn parse(path: &str, text: &str, known: &BTreeSet<Claim>) -> Result<Self, Problem> {
        learned::parse(path, text, known, Reader::default())
    }

    /// The network as text, its numbers rounded to what [`Recurrent::parse`] reads.
    ///
    /// # Panics
    /// Never: what the word and what the memory count for have as many columns.
    #[must_use]
    pub fn written(&self) -> String {
        let weights = &self.weights;
        let claims: Vec<String> = self.claims.iter().map(ToString::to_string).collect();
        let mut text = format!(
            "{ORIGIN}\nshape\t{}\t{}\t{}\nclaims\t{}\n",
            weights.vectors.ncols(),
            weights.ways[0].memory.nrows(),
            weights.features.ncols(),
            claims.join(" ")
        );
        let vectors: Vec<Vec<f32>> = weights
            .vectors
            .outer_iter()
            .map(|row| row.to_vec())
            .collect();
        write_words(&mut text, &self.words, |at| &vectors[at]);
        for (name, way) in WAYS.iter().zip(&weights.ways) {
            let both = [way.inputs.view(), way.memory.view()];
            let both = concatenate(Axis(0), &both).expect("as many columns in both");
            write_columns(&mut text, name, &way.bias, &both);
        }
        write_columns(
            &mut text,
            "feature",
            &weights.feature_bias,
            &weights.features,
        );
        write_columns(&mut text, "claim", &weights.bias, &weights.outputs);
        text + END + "\n"
    }
}

/// A line for each column: its bias and its numbers.
fn write_columns(text: &mut String, name: &str, bias: &Array1<f32>, numbers: &Array2<f32>) {
    let write = |(bias, column): (&f32, ArrayView1<f32>)| {
        let _ = writeln!(text, "{name}\t{bias}\t{}", small(&column.to_vec()));
    };
    bias.iter().zip(numbers.columns()).for_each(write);
}

/// Columns while they are read, number by number.
#[derive(Default)]
struct Columns {
    bias: Vec<f32>,
    numbers: Vec<f32>,
}

impl Columns {
    fn read(&mut self, fields: [&str; 3], count: usize) -> Result<(), &'static str> {
        let [bias, unit, numbers] = fields;
        self.bias.push(number(bias)?);
        append(&mut self.numbers, unit, numbers, count)
    }

    /// The numbers with a column for each line, `count` lines of `size` numbers.
    fn finish(self, count: usize, size: usize) -> Result<(Array1<f32>, Array2<f32>), &'static str> {
        if self.bias.len() != count {
            return Err("There are not as many lines of a kind as the shape says.");
        }
        let lines = matrix(count, size, self.numbers)?;
        Ok((
            self.bias.into(),
            lines.t().as_standard_layout().into_owned(),
        ))
    }
}

fn matrix(rows: usize, columns: usize, numbers: Vec<f32>) -> Result<Array2<f32>, &'static str> {
    Array2::from_shape_vec((rows, columns), numbers)
        .map_err(|_| "There are not as many numbers as the shape says.")
}

/// A network while its file is read.
#[derive(Default)]
struct Reader {
    shape: Option<Shape>,
    claims: Vec<Claim>,
    words: Words,
    ways: [Columns; 2],
    features: Columns,
    outputs: Columns,
}

impl learned::Reader for Reader {
    type Read = Recurrent;

    fn line(&mut self, fields: &[&str]) -> Result<(), &'static str> {
        let Some(shape) = &self.shape else {
            self.shape = Some(shape(fields).ok_or("The file does not begin with a shape.")?);
            return Ok(());
        };
        let dimension = shape.dimension;
        let both = dimension + shape.memory;
        match *fields {
            ["claims", claims] if self.claims.is_empty() => self.claims = learned::claims(claims)?,
            ["unknown", unit, numbers] => self.words.unknown(unit, numbers, dimension)?,
            ["word", word, unit, numbers] => self.words.word(word, unit, numbers, dimension)?,
            ["forward", bias, unit, numbers] => self.ways[0].read([bias, unit, numbers], both)?,
            ["backward", bias, unit, numbers] => self.ways[1].read([bias, unit, numbers], both)?,
            ["feature", bias, unit, numbers] => {
                self.features.read([bias, unit, numbers], shape.joined())?;
            }
            ["claim", bias, unit, numbers] => {
                self.outputs.read([bias, unit, numbers], shape.features)?;
            }
            _ => return Err("The line is none of this kind of file."),
        }
        Ok(())
    }

    fn finish(self) -> Result<(Recurrent, Vec<Claim>), &'static str> {
        let shape = self.shape.ok_or("The file does not begin with a shape.")?;
        let (words, vectors) = self.words.finish()?;
        let [forward, backward] = self.ways.map(|columns| way(columns, &shape));
        let (feature_bias, features) = self.features.finish(shape.features, shape.joined())?;
        let (bias, outputs) = self.outputs.finish(self.claims.len(), shape.features)?;
        let weights = Weights {
            vectors: matrix(words.len() + 1, shape.dimension, vectors)?,
            ways: [forward?, backward?],
            features,
            feature_bias,
            outputs,
            bias,
        };
        let network = Recurrent::new(words, self.claims.clone(), weights);
        Ok((network, self.claims))
    }
}

fn way(columns: Columns, shape: &Shape) -> Result<Way, &'static str> {
    let (bias, both) = columns.finish(3 * shape.memory, shape.dimension + shape.memory)?;
    let (inputs, memory) = both.view().split_at(Axis(0), shape.dimension);
    Ok(Way {
        inputs: inputs.to_owned(),
        memory: memory.to_owned(),
        bias,
    })
}

fn shape(fields: &[&str]) -> Option<Shape> {
    let ["shape", dimension, memory, features] = fields else {
        return None;
    };
    Some(Shape {
        dimension: size(dimension)?,
        memory: size(memory)?,
        features: size(features)?,
    })
}

#[cfg(test)]
mod tests {
    use super::Recurrent;
    use crate::knowledge::classifier::Claim;
    use std::collections::BTreeSet;

    /// Every number is a multiple of its line's largest by a whole number of 127ths.
    const FILE: &str = "shape\t2\t1\t1\nclaims\thazard:fire danger\nunknown\t1\t0000\n\
        word\thot\t0.5\t7f81\nword\tnot\t1\t7f00\nforward\t-0.5\t1\t7f0100\nforward\t1\t2\t7f0081\n\
        forward\t1\t1\t007f01\nbackward\t0\t1\t7f0100\nbackward\t1\t1\t7f0081\nbackward\t2\t1\t007f01\n\
        feature\t0.25\t1\t7f010081\nclaim\t-1\t0.25\t7f\nclaim\t-2\t1\t81\n# Here the table ends.\n";

    fn parse(text: &str) -> Result<Recurrent, String> {
        let known = BTreeSet::from([Claim::Hazard("fire".into()), Claim::Danger]);
        Recurrent::parse("learned/en-recurrent.tsv", text, &known)
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
        let forward = &network.weights.ways[0];
        assert_eq!(forward.inputs.row(0).to_vec(), [127.0, 254.0, 0.0]);
        assert_eq!(forward.memory.row(0).to_vec(), [0.0, -254.0, 1.0]);
    }

    #[test]
    fn a_spoilt_file_is_refused_by_line() {
        let cases = [
            (
                FILE.replace("shape", "shop"),
                "1: The file does not begin with a shape.",
            ),
            (
                FILE.replace("feature", "creature"),
                "12: The line is none of this kind of file.",
            ),
            (
                FILE.replace("7f0081\nforward", "7f00\nforward"),
                "7: The line does not hold as many numbers as the shape says.",
            ),
            (
                FILE.replace("backward\t0\t1\t7f0100\n", ""),
                "1: There are not as many lines of a kind as the shape says.",
            ),
            (
                FILE.replace("claim\t-2\t1\t81\n", ""),
                "1: There are not as many lines of a kind as the shape says.",
            ),
            (
                FILE.replace("unknown\t1\t0000\n", ""),
                "1: The line `unknown` is missing.",
            ),
            (
                FILE.replace("# Here", "# There"),
                "1: The file is cut off: its last line is missing.",
            ),
        ];
        for (text, expected) in cases {
            assert_eq!(parse(&text).err().as_deref(), Some(expected), "{text}");
        }
    }
}
