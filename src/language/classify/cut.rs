//! A message as the table of words and the network of patterns take it, sentence by sentence.

use super::figure::figure;
use crate::language::interpretation::Span;
use crate::language::matching::Text;
use crate::language::token::What;
use std::collections::BTreeSet;
use std::ops::Range;

/// No more words of a message than this are weighed.
pub(super) const MOST_WORDS: usize = 1000;

/// No more words and signs than this are held to patterns.
const MOST_PATTERNED: usize = 250;

/// A sentence of a message.
pub struct Cut {
    /// The bytes it stands on.
    pub place: Span,
    /// Its words and every two that follow one another, as the table takes them.
    pub words: BTreeSet<String>,
    /// Its words and signs in their order, as the networks take them.
    pub signs: Vec<String>,
}

/// A message sentence by sentence, as tables and networks are learned from.
#[must_use]
pub fn cut(text: &Text<'_>) -> Vec<Cut> {
    let sentences = by_sentence(text).into_iter().zip(phrased(text));
    let cut = |((tokens, words), signs): ((Range<usize>, _), _)| Cut {
        place: text.tokens[tokens.start].span.start..text.tokens[tokens.end - 1].span.end,
        words,
        signs,
    };
    sentences.map(cut).collect()
}

/// The words of each sentence and every two that follow one another. Whose bike it is and what is over is
/// not asked: leaving such sentences out was tried and told less, since what is said of them has words of
/// its own.
pub(super) fn by_sentence(text: &Text<'_>) -> Vec<(Range<usize>, BTreeSet<String>)> {
    let mut left = MOST_WORDS;
    let mut sentences = Vec::new();
    for sentence in text.sentences {
        let words = words_of(text, sentence.tokens.clone(), &mut left);
        // what is cut short is not judged by its head
        if left == 0 {
            break;
        }
        if !words.is_empty() {
            sentences.push((sentence.tokens.clone(), words));
        }
    }
    sentences
}

/// The words and signs of a message in their order, for every sentence that holds words.
pub(super) fn phrased(text: &Text<'_>) -> Vec<Vec<String>> {
    let mut left = MOST_PATTERNED;
    let worded = by_sentence(text).into_iter().map(|(tokens, _)| {
        let taken = tokens.take(left);
        let signs: Vec<String> = taken.map(|token| sign(text, token)).collect();
        left -= signs.len();
        signs
    });
    worded.collect()
}

/// A word, a mark as it is written, or what sort of number it is.
fn sign(text: &Text<'_>, token: usize) -> String {
    match text.tokens[token].what {
        What::Number(_) => figure(text, token).to_owned(),
        What::Word(_) | What::Mark(_) => text.sign(token),
    }
}

/// The words among some tokens and every two that follow one another, until no more may be taken.
pub(super) fn words_of(
    text: &Text<'_>,
    tokens: Range<usize>,
    left: &mut usize,
) -> BTreeSet<String> {
    let mut words = BTreeSet::new();
    let mut last: Option<&str> = None;
    for token in tokens {
        let word = match text.tokens[token].what {
            What::Number(_) => Some(figure(text, token)),
            What::Word(_) | What::Mark(_) => text.weighed(token),
        };
        let Some(word) = word.filter(|_| *left > 0) else {
            continue;
        };
        *left -= 1;
        words.insert(word.to_owned());
        if let Some(last) = last {
            words.insert(format!("{last} {word}"));
        }
        last = Some(word);
    }
    words
}
