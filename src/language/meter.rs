//! What a rider says of how far the meter may be off: "0.5 % + 2 digits".

use super::interpretation::{MeterSpec, Said};
use super::matching::Text;
use super::quantity::Quantity;

/// The accuracy of the meter, where the message tells it.
///
/// The two parts count with the word "digits" or "counts" after them, or beside a word for the meter
/// or its accuracy; a share alone only beside "accuracy".
#[must_use]
pub fn meter(text: &Text<'_>) -> Option<Said<MeterSpec>> {
    let quantities = text.quantities.iter().enumerate();
    quantities.into_iter().find_map(|(at, share)| {
        let mut end = percent(text, share)?;
        let digits = text
            .quantities
            .get(at + 1)
            .filter(|next| joins(text, end, next));
        let counted = digits.is_some_and(|digits| text.in_class(digits.tokens.end, "lastdigit"));
        let told = if digits.is_some() {
            counted || beside(text, share, &["meter", "accuracy"])
        } else {
            beside(text, share, &["accuracy"])
        };
        if let Some(digits) = digits {
            end = digits.tokens.end + usize::from(counted);
        }
        let spec = MeterSpec {
            gain_percent: share.value.abs(),
            digits: digits.map_or(0.0, |digits| digits.value.abs()),
        };
        let span = text.tokens[share.tokens.start].span.start..text.tokens[end - 1].span.end;
        (told && spec.gain_percent <= 20.0 && spec.digits <= 100.0).then_some(Said {
            what: spec,
            span,
            strength: 1.0,
        })
    })
}

/// Where "%" or "percent of reading" ends, if it follows the number.
fn percent(text: &Text<'_>, share: &Quantity) -> Option<usize> {
    let at = share.tokens.end;
    let sign = text.tokens.get(at)?.is('%') || text.in_class(at, "percent");
    let bare = share.unit.is_none() && share.upper.is_none();
    let mut end = at + 1;
    while text.in_class(end, "ofreading") {
        end += 1;
    }
    (sign && bare).then_some(end)
}

/// Whether a "+" or a word for it, and nothing else, stands before a number of digits.
fn joins(text: &Text<'_>, end: usize, digits: &Quantity) -> bool {
    let plus = text
        .tokens
        .get(end)
        .is_some_and(|token| token.is('+') || token.is('±'))
        || text.in_class(end, "plusword");
    plus && digits.tokens.start == end + 1 && digits.is_count()
}

/// Whether a word of one of these classes stands in the sentence.
fn beside(text: &Text<'_>, share: &Quantity, classes: &[&str]) -> bool {
    let sentence = &text.sentences[text.sentence_of(share.tokens.start)];
    let mut tokens = sentence.tokens.clone();
    tokens.any(|at| classes.iter().any(|class| text.in_class(at, class)))
}
