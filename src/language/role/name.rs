//! Numbers that only name or count: part of a code, a ratio, a year, so many things.

use super::pair;
use crate::language::matching::Text;
use crate::language::quantity::Quantity;
use crate::language::token::{Token, What};
use crate::quantity::Kind;

/// Whether the number is part of a name: glued to letters that are no unit, a ratio, a time of day,
/// more digits than a meter has.
#[must_use]
pub fn is_name(text: &Text<'_>, quantity: &Quantity) -> bool {
    let tokens = &quantity.tokens;
    let next = text.tokens.get(tokens.end);
    let lettered = next.is_some_and(|next| {
        next.glued
            && matches!(next.what, What::Word(_))
            && quantity.unit.is_none()
            && !text.in_class(tokens.end, "ish")
    });
    let joined = next
        .is_some_and(|next| next.glued && (next.is('/') || next.is(':') || next.is('%')))
        && quantity.unit.is_none()
        && (text.tokens[tokens.end].is('%')
            || matches!(text.tokens.get(tokens.end + 1), Some(after) if after.glued && matches!(after.what, What::Number(_))));
    let before = tokens
        .start
        .checked_sub(1)
        .map(|before| &text.tokens[before]);
    // "12.45/12.43/12.44" is three readings, "3/8" none
    let decimal = quantity.decimals.is_some_and(|places| places > 0);
    let row = is_row(text, quantity);
    let joined = joined && !((decimal || row) && next.is_some_and(|next| next.is('/')));
    let continued = text.tokens[tokens.start].glued
        && before.is_some_and(|before| {
            let measured = decimal && quantity.unit.is_some();
            matches!(before.what, What::Word(_)) && !measured
                || before.is('/') && quantity.unit.is_none() && !decimal && !row
                || before.is(':') && preceded_by_number(text, tokens.start)
                || before.is('#')
                || before.is('$')
                || before.is('£')
                || before.is('€')
        });
    let numbered = quantity.unit.is_none()
        && quantity.value <= 12.0
        && quantity.decimals == Some(0)
        && next.is_some_and(|next| next.is(':') && next.glued)
        && text.quantity_over(tokens.end + 1).is_some();
    let hyphen = |at: usize| {
        let joins = |at: usize| text.tokens.get(at).is_some_and(|token| token.glued);
        text.tokens.get(at).is_some_and(|token| token.is('-')) && joins(at) && joins(at + 1)
    };
    let number = |at: usize| {
        let token = text.tokens.get(at);
        token.is_some_and(|token| matches!(token.what, What::Number(_)))
    };
    // "77C-3051-B"
    let letter = |at: usize| {
        let word = text.tokens.get(at).and_then(Token::plain);
        word.is_some_and(|word| word.chars().count() == 1)
    };
    // "2-pin at the pump, 4-pin at the relay"
    let hyphened = hyphen(tokens.end)
        && quantity.is_count()
        && text.tokens[tokens.end + 1].plain().is_some()
        && !text.in_class(tokens.end + 1, "ish");
    let goes_on = number(tokens.end + 1) || letter(tokens.end + 1);
    let chained = hyphen(tokens.end) && goes_on && quantity.upper.is_some()
        || tokens.start >= 2 && hyphen(tokens.start - 1) && number(tokens.start - 2);
    let long = quantity.unit.is_none() && !quantity.kilo && quantity.value >= 100_000.0;
    // "coil 3: OL", "reading two 2.4"
    let dash = |next: &Token| next.is('-') && text.quantity_over(tokens.end + 1).is_some();
    let labels = next.is_some_and(|next| next.is(':') || next.is('=') || dash(next));
    let told_apart = tokens.start > 0
        && quantity.is_count()
        && text.in_class(tokens.start - 1, "numbered")
        && (labels || text.quantity_over(tokens.end).is_some());
    chained
        || hyphened
        || numbered
        || lettered
        || joined
        || continued
        || long
        || told_apart
        || pair::is_terminal(text, quantity)
        || pair::is_part(text, quantity)
        || pair::is_of_relay(text, quantity)
        || is_item(text, quantity)
}

/// "66/64/65": one of three whole numbers that no date holds.
fn is_row(text: &Text<'_>, quantity: &Quantity) -> bool {
    /// Days of a month.
    const DAYS: f64 = 31.0;
    let Some(at) = text.quantity_over(quantity.tokens.start) else {
        return false;
    };
    let large = |one: &Quantity| one.is_count() && !one.spelt && one.value > DAYS;
    let chained = |one: &Quantity, next: &Quantity| {
        let slash = one.tokens.end;
        next.tokens.start == slash + 1 && text.tokens[slash].is('/')
    };
    let first = at.saturating_sub(2);
    let rows = text.quantities[first..].windows(3).take(at + 1 - first);
    rows.into_iter()
        .any(|row| row.iter().all(large) && row.windows(2).all(|pair| chained(&pair[0], &pair[1])))
}

/// The "2)" of a list, with nothing that opened the bracket.
fn is_item(text: &Text<'_>, quantity: &Quantity) -> bool {
    const LINE: usize = 40;
    let tokens = &quantity.tokens;
    let closes = text
        .tokens
        .get(tokens.end)
        .is_some_and(|next| next.is(')') && next.glued);
    let from = tokens.start.saturating_sub(LINE);
    let opened = || {
        let mut before = text.tokens[from..tokens.start].iter().rev();
        before.find_map(|token| match token.what {
            What::Mark('(') => Some(true),
            What::Mark(')') => Some(false),
            _ => None,
        })
    };
    quantity.is_count()
        && !quantity.spelt
        && quantity.value <= 20.0
        && closes
        && tokens.end + 1 < text.tokens.len()
        && opened() != Some(true)
}

fn preceded_by_number(text: &Text<'_>, at: usize) -> bool {
    at >= 2 && matches!(text.tokens[at - 2].what, What::Number(_))
}

/// Whether a number with no unit may be a reading at all: not a year, not a count of things.
#[must_use]
pub fn may_be_bare(text: &Text<'_>, quantity: &Quantity, kind: Kind) -> bool {
    let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
    if decimal {
        return true;
    }
    let before = quantity.tokens.start.checked_sub(1);
    let dated = before.is_some_and(|before| text.in_class(before, "dating"));
    let dated = dated || text.in_class(quantity.tokens.end, "year");
    let year = (1950.0..=2035.0).contains(&quantity.value)
        && (dated || !matches!(kind, Kind::Resistance | Kind::Speed));
    let shared = quantity.spelt
        && quantity.tokens.start > 0
        && text.in_class(quantity.tokens.start - 1, "the-two");
    !(year
        || counts(text, quantity)
        || is_pronoun(text, quantity)
        || shared
        || is_lack(text, quantity))
}

/// Whether "zero" is a "no" or a verb: "zero spark", "the meter won't zero".
fn is_lack(text: &Text<'_>, quantity: &Quantity) -> bool {
    let tokens = &quantity.tokens;
    let before = tokens.start.checked_sub(1);
    let done = before.is_some_and(|before| text.in_class(before, "zeroing"));
    let lacked = text.tokens.get(tokens.end).and_then(Token::plain).is_some()
        && !text.is_filler(tokens.end)
        && !text.in_class(tokens.end, "follower")
        && !text.in_class(tokens.end, "measured-word");
    quantity.spelt && quantity.value == 0.0 && (done || lacked)
}

/// Whether it is the "one" of "this one".
#[must_use]
pub fn is_pronoun(text: &Text<'_>, quantity: &Quantity) -> bool {
    quantity.spelt && quantity.value <= 1.0 && quantity.value > 0.0 && text.tokens.len() > 3
}

/// Whether it counts the things named after it: "2 different meters", "1 wire".
#[must_use]
pub fn counts(text: &Text<'_>, quantity: &Quantity) -> bool {
    let after = quantity.tokens.end;
    let single = quantity.is_one();
    // "3 of these bulbs"
    let of_them = text.in_class(after, "partitive") && text.in_class(after + 1, "of-them");
    if of_them {
        return true;
    }
    for at in after..after + 3 {
        let Some(word) = text.tokens.get(at).and_then(Token::plain) else {
            return false;
        };
        if text.is_filler(at) || text.in_class(at, "follower") {
            return false;
        }
        if single || is_plural(word) {
            return true;
        }
    }
    false
}

/// Whether a word has the look of a plural: "tries", not "less".
fn is_plural(word: &str) -> bool {
    let ending = word.ends_with('s') && !["ss", "us", "is"].iter().any(|end| word.ends_with(end));
    ending && word.chars().count() > 3
}
