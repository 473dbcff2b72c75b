//! How surely a claim is made, by all that speaks for it.

use super::cut::{by_sentence, phrased};
use crate::knowledge::classifier::Claim;
use crate::knowledge::phrase::Phrases;
use crate::language::interpretation::Span;
use crate::language::matching::Text;
use crate::language::scope::is_denied;
use std::collections::BTreeSet;
use std::ops::Range;

/// What each sort of evidence adds to the logit that a claim is made: a logistic regression of the labels
/// of 5,350 messages that neither the table nor a network was learned from, and of 9,000 that they were,
/// which count for a third to two thirds each: how those are read matters as well.
pub(super) struct Counts {
    /// With nothing said for it.
    pub(super) none: f64,
    /// By the margin of the words of the whole message.
    pub(super) words: f64,
    /// By the margin of the sentence whose words speak most for it.
    pub(super) words_of_one: f64,
    /// By the logit of the patterns in the whole message.
    pub(super) patterns: f64,
    /// By that in the sentence where they speak most for it.
    pub(super) patterns_of_one: f64,
    /// By the logit of the network that reads along, of the whole message.
    pub(super) along: f64,
    /// By that in the sentence where it speaks most for it.
    pub(super) along_of_one: f64,
    /// A logit of a network that is less than this counts for as much: neither may speak against all others.
    pub(super) least: f64,
    /// Where a phrase says it.
    pub(super) said: f64,
    /// Where a phrase says that it may be so.
    pub(super) guessed: f64,
    /// Where a phrase says something else of the same kind.
    pub(super) other: f64,
    /// In a message of [`LONG`] words or more; in shorter ones less in proportion: of more words each
    /// counts less in the margin.
    pub(super) long: f64,
    /// By the margin of the complaint that the words of the message speak most for: beside it others need more.
    pub(super) most: f64,
}

/// A message of so many words counts as long.
const LONG: usize = 100;

/// What phrases say of a claim, and of others of its kind.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Phrased {
    pub(super) said: bool,
    pub(super) guessed: bool,
    pub(super) other: bool,
}

/// The margins and logits of a stretch of a message, by claim.
#[derive(Debug, Clone, Default)]
pub(super) struct Stretch {
    words: Vec<f64>,
    patterns: Vec<f64>,
    along: Vec<f64>,
}

/// A sentence weighed alone.
pub(super) struct Sentence {
    /// The bytes it stands on.
    pub(super) place: Span,
    /// Whether it is a question that the next one denies.
    pub(super) denied: bool,
    weight: Stretch,
}

/// A message weighed, or a paragraph of it as if it were all.
pub(super) struct Weighed {
    tokens: usize,
    whole: Stretch,
    /// The same without questions that are denied.
    told: Stretch,
    /// The margin of the complaint that the words of the whole speak most for.
    most: f64,
    pub(super) sentences: Vec<Sentence>,
}

/// The tokens of a sentence, with its words.
type Worded = (Range<usize>, BTreeSet<String>);

impl Weighed {
    pub(super) fn of(text: &Text<'_>) -> Self {
        let tokens = text.tokens.len();
        Self::of_sentences(text, tokens, &by_sentence(text), &phrased(text))
    }

    /// The paragraphs of a message, in order; none where there is but one.
    pub(super) fn paragraphs(text: &Text<'_>) -> Vec<Self> {
        let (worded, phrased) = (by_sentence(text), phrased(text));
        let together = |(one, _): &Worded, (next, _): &Worded| {
            !text.tokens[one.end - 1..=next.start]
                .iter()
                .any(|token| token.is('\n'))
        };
        let mut from = 0;
        let mut parts = Vec::new();
        for part in worded
            .chunk_by(together)
            .filter(|part| part.len() < worded.len())
        {
            let tokens = part[part.len() - 1].0.end - part[0].0.start;
            let phrased = &phrased[from..from + part.len()];
            from += part.len();
            parts.push(Self::of_sentences(text, tokens, part, phrased));
        }
        parts
    }

    fn of_sentences(
        text: &Text<'_>,
        tokens: usize,
        worded: &[Worded],
        phrased: &[Vec<String>],
    ) -> Self {
        let Phrases {
            classifier,
            network,
            recurrent,
            ..
        } = text.phrases;
        let (mut patterns, mut along) = (network.logits(phrased), recurrent.logits(phrased));
        let (of_all, along_all) = (patterns.pop(), along.pop());
        let words = |kept: &dyn Fn(usize) -> bool| {
            let kept = worded.iter().enumerate().filter(|(nth, _)| kept(*nth));
            let all: BTreeSet<&String> = kept.flat_map(|(_, (_, words))| words).collect();
            classifier.margins(all.into_iter().map(String::as_str))
        };
        let sentences: Vec<Sentence> = worded
            .iter()
            .zip(patterns.into_iter().zip(along))
            .map(|((tokens, words), (patterns, along))| Sentence {
                place: text.tokens[tokens.start].span.start..text.tokens[tokens.end - 1].span.end,
                denied: is_denied(text, tokens),
                weight: Stretch {
                    words: classifier.margins(words.iter().map(String::as_str)),
                    patterns,
                    along,
                },
            })
            .collect();
        let whole = Stretch {
            words: words(&|_| true),
            patterns: of_all.unwrap_or_default(),
            along: along_all.unwrap_or_default(),
        };
        let told = if sentences.iter().any(|sentence| sentence.denied) {
            let kept = sentences.iter().zip(phrased);
            let kept = kept.filter(|(sentence, _)| !sentence.denied);
            let kept: Vec<Vec<String>> = kept.map(|(_, words)| words.clone()).collect();
            Stretch {
                words: words(&|nth| !sentences[nth].denied),
                patterns: network.logits(&kept).pop().unwrap_or_default(),
                along: recurrent.logits(&kept).pop().unwrap_or_default(),
            }
        } else {
            whole.clone()
        };
        Self {
            tokens,
            most: most(&whole.words, classifier.claims()),
            whole,
            told,
            sentences,
        }
    }

    /// The bytes it stands on.
    pub(super) fn place(&self) -> Span {
        let (first, last) = (self.sentences.first(), self.sentences.last());
        first.map_or(0, |first| first.place.start)..last.map_or(0, |last| last.place.end)
    }

    /// The logit that the claim at a place among the claims is made.
    pub(super) fn logit(&self, at: usize, counts: &Counts, phrased: Phrased) -> f64 {
        self.sum(&self.whole, at, counts, phrased)
    }

    /// The same without questions that are denied.
    pub(super) fn logit_told(&self, at: usize, counts: &Counts, phrased: Phrased) -> f64 {
        self.sum(&self.told, at, counts, phrased)
    }

    /// How far its words lie on the side of the claim.
    pub(super) fn words(&self, at: usize) -> f64 {
        self.whole.words[at]
    }

    #[expect(clippy::cast_precision_loss, reason = "a count of words")]
    fn sum(&self, whole: &Stretch, at: usize, counts: &Counts, phrased: Phrased) -> f64 {
        let most = |of: &dyn Fn(&Sentence) -> f64| {
            let each = self.sentences.iter().map(of);
            each.fold(f64::NEG_INFINITY, f64::max)
        };
        let words = most(&|sentence| sentence.weight.words[at]);
        let patterns = most(&|sentence| sentence.weight.patterns[at]);
        let along = most(&|sentence| sentence.weight.along[at]);
        let long = self.tokens.min(LONG) as f64 / LONG as f64;
        counts.of_one(whole, at)
            + counts.words_of_one * words
            + counts.networks_of_one(patterns, along)
            + counts.of_phrases(phrased)
            + counts.long * long
            + counts.most * self.most
    }
}

/// The largest margin of a complaint; nothing where there is none.
fn most(margins: &[f64], claims: &[Claim]) -> f64 {
    let all = margins.iter().zip(claims);
    let complaints = all.filter(|(_, claim)| matches!(claim, Claim::Symptom(_)));
    let margins = complaints.map(|(margin, _)| *margin);
    margins.reduce(f64::max).unwrap_or(0.0)
}

impl Sentence {
    /// The logit that the claim is made by this sentence, were it all of the message.
    pub(super) fn logit(&self, at: usize, counts: &Counts, phrased: Phrased) -> f64 {
        counts.of_one(&self.weight, at)
            + counts.words_of_one * self.words(at)
            + counts.networks_of_one(self.weight.patterns[at], self.weight.along[at])
            + counts.of_phrases(phrased)
    }

    /// How far its words lie on the side of the claim.
    pub(super) fn words(&self, at: usize) -> f64 {
        self.weight.words[at]
    }
}

impl Counts {
    fn of_one(&self, stretch: &Stretch, at: usize) -> f64 {
        self.none
            + self.words * stretch.words[at]
            + self.patterns * stretch.patterns[at].max(self.least)
            + self.along * stretch.along[at].max(self.least)
    }

    fn networks_of_one(&self, patterns: f64, along: f64) -> f64 {
        self.patterns_of_one * patterns.max(self.least) + self.along_of_one * along.max(self.least)
    }

    fn of_phrases(&self, phrased: Phrased) -> f64 {
        let counts = [
            (phrased.said, self.said),
            (phrased.guessed, self.guessed),
            (phrased.other, self.other),
        ];
        counts
            .iter()
            .filter(|(holds, _)| *holds)
            .map(|(_, count)| count)
            .sum()
    }
}
