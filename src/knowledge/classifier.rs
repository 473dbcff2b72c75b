//! How much each word speaks for each complaint, fact of history and danger, learned from messages.
//!
//! A phrase knows how one thing is said; riders always find another way. A linear classifier (a
//! support vector machine) weighs all words of a message together, and so catches what no phrase
//! does. Another table weighs what stands around a number, for whether it is a reading at all, and whether of
//! the test leads alone.
//!
//! A table is a file like the others, made by `floatbowl knowledge train`:
//!
//! ```text
//! # where it comes from
//! claims     symptom:no-crank history:stored hazard:fire ...
//! bias       -9 -10 -12 ...
//! up to temp 2:13 7:-3
//! # Here the table ends.
//! ```
//!
//! Fields are parted by tabs, weights are in tenths, and the lines after the second are in order of
//! their words. A table without its last line was cut off.

use super::id::{HazardId, ObservationId};
use super::problem::Problem;
use crate::quantity::Kind;
use std::collections::BTreeSet;
use std::fmt::{self, Write};
use std::ops::Range;

/// The folder of what was learned, five files a language.
pub const LEARNED: &str = "learned/";

/// What a learned file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Learned {
    /// `en.tsv`: what the words of a message speak for.
    Words,
    /// `en-network.tsv`: what a few words in a row do ([`super::network`]).
    Network,
    /// `en-recurrent.tsv`: what they do after all that was read before ([`super::recurrent`]).
    Recurrent,
    /// `en-numbers.tsv`: which numbers are readings, by what stands around them.
    Numbers,
    /// `en-figures.tsv`: the same after all that was read before ([`super::recurrent`]).
    Figures,
}

impl Learned {
    /// What a file of that name holds.
    #[must_use]
    pub fn of(path: &str) -> Self {
        if path.ends_with("-numbers.tsv") {
            Self::Numbers
        } else if path.ends_with("-figures.tsv") {
            Self::Figures
        } else if path.ends_with("-network.tsv") {
            Self::Network
        } else if path.ends_with("-recurrent.tsv") {
            Self::Recurrent
        } else {
            Self::Words
        }
    }
}

/// What the weights of a table are multiples of.
pub const STEP: f64 = 0.1;

pub(super) const ORIGIN: &str = "# Learned by `floatbowl knowledge train` from invented, labelled messages; no line is \
                      written by hand.";

pub(super) const END: &str = "# Here the table ends.";

pub(super) const REMEDY: &str = "Make the file anew with `floatbowl knowledge train`.";

/// How [`Claim::Danger`] is written.
const DANGER: &str = "danger";

/// How [`Claim::Reading`] is written.
const READING: &str = "reading";

/// How [`Claim::Leads`] is written.
const LEADS: &str = "leads";

/// What a message may be said to tell.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Claim {
    /// A complaint.
    Symptom(ObservationId),
    /// A complaint said not to be there.
    Denied(ObservationId),
    /// What happened before.
    History(ObservationId),
    /// A danger present now.
    Hazard(HazardId),
    /// Some danger present now, whichever.
    Danger,
    /// Of a number: that it is a reading.
    Reading,
    /// Of a reading: that it is of the test leads alone.
    Leads,
    /// Of a reading without a unit: what it is a number of.
    Of(Kind),
}

/// What is learned of numbers.
pub const OF_NUMBERS: [Claim; 2] = [Claim::Reading, Claim::Leads];

/// What is learned of them by reading along: besides, in the order of [`Kind::ALL`], what they are numbers of.
#[must_use]
pub fn of_numbers_along() -> Vec<Claim> {
    let of = Kind::ALL.map(Claim::Of);
    OF_NUMBERS.into_iter().chain(of).collect()
}

impl Claim {
    pub(super) fn parse(text: &str) -> Option<Self> {
        match text {
            DANGER => return Some(Self::Danger),
            READING => return Some(Self::Reading),
            LEADS => return Some(Self::Leads),
            _ => {}
        }
        match text.split_once(':')? {
            ("symptom", id) => Some(Self::Symptom(id.into())),
            ("denied", id) => Some(Self::Denied(id.into())),
            ("history", id) => Some(Self::History(id.into())),
            ("hazard", id) => Some(Self::Hazard(id.into())),
            ("of", unit) => {
                let mut all = Kind::ALL.into_iter();
                all.find(|kind| kind.unit() == unit).map(Self::Of)
            }
            _ => None,
        }
    }
}

impl fmt::Display for Claim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Symptom(id) => write!(f, "symptom:{id}"),
            Self::Denied(id) => write!(f, "denied:{id}"),
            Self::History(id) => write!(f, "history:{id}"),
            Self::Hazard(id) => write!(f, "hazard:{id}"),
            Self::Danger => f.write_str(DANGER),
            Self::Reading => f.write_str(READING),
            Self::Leads => f.write_str(LEADS),
            Self::Of(kind) => write!(f, "of:{}", kind.unit()),
        }
    }
}

/// Weights by words, for every claim.
#[derive(Debug, Clone, Default)]
pub struct Classifier {
    text: String,
    /// Where the words of each line stand, in order of the words.
    words: Vec<Range<usize>>,
    /// By line: where its weights end.
    ends: Vec<usize>,
    /// Claim and weight, line by line.
    weights: Vec<(u8, i8)>,
    claims: Vec<Claim>,
    bias: Vec<i8>,
}

impl Classifier {
    /// Reads a table.
    ///
    /// # Errors
    /// The first line that is not as it should be, or a claim that is not among the `known`.
    pub fn parse(path: &str, text: &str, known: &BTreeSet<Claim>) -> Result<Self, Problem> {
        let mut table = Self {
            text: text.to_owned(),
            ..Self::default()
        };
        let mut at = 0;
        let mut nth = 0;
        for line in text.split_inclusive('\n') {
            let span = at..at + line.trim_end_matches(['\r', '\n']).len();
            at += line.len();
            if line.starts_with('#') {
                continue;
            }
            table.line(nth, span.clone()).map_err(|what| Problem {
                file: path.to_owned(),
                span: Some(span),
                what: what.to_owned(),
                remedy: REMEDY.to_owned(),
            })?;
            nth += 1;
        }
        if table.bias.len() != table.claims.len() {
            let what = "The file ends before its line `bias`.".to_owned();
            return Err(Problem::of_file(path, what, REMEDY));
        }
        if let Some(claim) = table.claims.iter().find(|claim| !known.contains(claim)) {
            let what = format!("There is no `{claim}`.");
            return Err(Problem::of_file(path, what, REMEDY));
        }
        if text.lines().next_back() != Some(END) {
            let what = "The file is cut off: its last line is missing.".to_owned();
            return Err(Problem::of_file(path, what, REMEDY));
        }
        Ok(table)
    }

    fn line(&mut self, nth: usize, span: Range<usize>) -> Result<(), &'static str> {
        let line = self.text[span.clone()].to_owned();
        let (name, rest) = line.split_once('\t').ok_or("The line has no tab.")?;
        match nth {
            0 if name == "claims" => {
                let claims: Option<_> = rest.split(' ').map(Claim::parse).collect();
                self.claims = claims.ok_or("The line holds something that is no claim.")?;
                Ok(())
            }
            1 if name == "bias" => {
                let bias: Result<Vec<i8>, _> = rest.split(' ').map(str::parse).collect();
                self.bias =
                    bias.map_err(|_| "The line holds something that is no small number.")?;
                let even = self.bias.len() == self.claims.len();
                even.then_some(())
                    .ok_or("There is not one number for every claim.")
            }
            0 | 1 => Err("The file does not begin with `claims` and `bias`."),
            _ => self.row(span.start..span.start + name.len(), rest),
        }
    }

    fn row(&mut self, words: Range<usize>, weights: &str) -> Result<(), &'static str> {
        let last = self
            .words
            .last()
            .map_or("", |last| &self.text[last.clone()]);
        if last >= &self.text[words.clone()] {
            return Err("The line is not in the order of its words.");
        }
        for weight in weights.split(' ').filter(|weight| !weight.is_empty()) {
            let read = weight.split_once(':').and_then(|(claim, weight)| {
                let claim: u8 = claim.parse().ok()?;
                let weight = weight.parse().ok()?;
                (usize::from(claim) < self.claims.len()).then_some((claim, weight))
            });
            self.weights
                .push(read.ok_or("The line holds something that is no `claim:weight`.")?);
        }
        self.words.push(words);
        self.ends.push(self.weights.len());
        Ok(())
    }

    /// A table as text, as [`Classifier::parse`] reads it.
    #[must_use]
    pub fn written(claims: &[Claim], bias: &[i8], rows: &[(String, Vec<(u8, i8)>)]) -> String {
        let bias: Vec<String> = bias.iter().map(ToString::to_string).collect();
        let claims: Vec<String> = claims.iter().map(ToString::to_string).collect();
        let mut text = format!(
            "{ORIGIN}\nclaims\t{}\nbias\t{}\n",
            claims.join(" "),
            bias.join(" ")
        );
        for (words, weights) in rows {
            let weights: Vec<String> = weights.iter().map(|(at, w)| format!("{at}:{w}")).collect();
            let _ = writeln!(text, "{words}\t{}", weights.join(" "));
        }
        text + END + "\n"
    }

    /// The claims, in the order of the margins.
    #[must_use]
    pub fn claims(&self) -> &[Claim] {
        &self.claims
    }

    /// Where the margin of a claim stands among the margins.
    #[must_use]
    pub fn position(&self, claim: &Claim) -> Option<usize> {
        self.claims.iter().position(|known| known == claim)
    }

    /// By claim: how far a message of these words lies on its side of the border, in the unit of
    /// the margin; each of the words given once.
    #[must_use]
    pub fn margins<'w>(&self, words: impl Iterator<Item = &'w str>) -> Vec<f64> {
        let mut sums = vec![0.0; self.claims.len()];
        let mut known = 0_u32;
        for weights in words.filter_map(|words| self.weights(words)) {
            known += 1;
            for (claim, weight) in weights {
                sums[usize::from(*claim)] += f64::from(*weight);
            }
        }
        let length = f64::from(known.max(1)).sqrt();
        let margin = |(sum, bias): (f64, &i8)| STEP * (sum / length + f64::from(*bias));
        sums.into_iter().zip(&self.bias).map(margin).collect()
    }

    /// What these words weigh; none where they were never seen.
    fn weights(&self, words: &str) -> Option<&[(u8, i8)]> {
        let of = |range: &Range<usize>| &self.text[range.clone()];
        let at = self
            .words
            .binary_search_by(|range| of(range).cmp(words))
            .ok()?;
        let start = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        Some(&self.weights[start..self.ends[at]])
    }
}

#[cfg(test)]
mod tests {
    use super::{Claim, Classifier};
    use std::collections::BTreeSet;

    const TABLE: &str = "claims\tsymptom:dies-when-hot hazard:fire\nbias\t-5 -9\nhot\t0:8\nonce hot\t0:4 1:-2\nthe\t\n# Here the table ends.\n";

    fn claims() -> [Claim; 2] {
        let hot = Claim::Symptom("dies-when-hot".into());
        [hot, Claim::Hazard("fire".into())]
    }

    fn parse(text: &str) -> Result<Classifier, String> {
        Classifier::parse("learned/en.tsv", text, &BTreeSet::from(claims()))
            .map_err(|problem| format!("{}: {}", problem.line(text), problem.what))
    }

    #[test]
    fn margins_add_up_the_weights_of_known_words() {
        let table = parse(TABLE).unwrap();
        let margins = table.margins(["hot", "never seen", "once hot"].into_iter());
        let root = 2_f64.sqrt();
        assert_eq!(
            margins,
            [0.1 * (12.0 / root - 5.0), 0.1 * (-2.0 / root - 9.0)]
        );
    }

    #[test]
    fn what_is_written_reads_back() {
        let rows = [
            ("hot".into(), vec![(0, 8)]),
            ("once hot".into(), vec![(0, 4), (1, -2)]),
            ("the".into(), vec![]),
        ];
        let written = Classifier::written(&claims(), &[-5, -9], &rows);
        assert!(
            written.starts_with('#') && written.ends_with(TABLE),
            "{written}"
        );
        assert!(parse(&written).is_ok());
    }

    #[test]
    fn a_spoilt_table_is_refused_by_line() {
        let fire = "claims\thazard:fire\nbias\t1\n";
        let cases = [
            (
                "bias\t1\n",
                "1: The file does not begin with `claims` and `bias`.",
            ),
            (
                "claims\thazard:fire\n",
                "1: The file ends before its line `bias`.",
            ),
            (
                "claims\tfire\n",
                "1: The line holds something that is no claim.",
            ),
            (
                "claims\thazard:fire\nbias\t1 2\n",
                "2: There is not one number for every claim.",
            ),
            (
                &format!("{fire}b\t0:1\na\t0:1\n"),
                "4: The line is not in the order of its words.",
            ),
            (
                &format!("{fire}b\t1:1\n"),
                "3: The line holds something that is no `claim:weight`.",
            ),
            (&format!("{fire}b 0:1\n"), "3: The line has no tab."),
            (
                "claims\thistory:fire\nbias\t1\n",
                "1: There is no `history:fire`.",
            ),
            (
                &format!("{fire}b\t0:1\n"),
                "1: The file is cut off: its last line is missing.",
            ),
        ];
        for (text, expected) in cases {
            assert_eq!(parse(text).unwrap_err(), expected);
        }
    }
}
