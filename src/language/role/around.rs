//! What stands around a number or a display, as a learned table weighs it.

use super::owned::{Owned, compares, owned};
use crate::knowledge::phrase::DisplayWord;
use crate::language::interpretation::Expecting;
use crate::language::matching::Text;
use crate::language::quantity::Quantity;
use crate::language::token::What;
use std::collections::BTreeSet;
use std::ops::Range;

/// Neighbours looked at, before and after.
const NEAR: usize = 3;
/// A message with more numbers, or more displays, than this is weighed by its phrases alone, so that
/// reading stays linear.
pub const MOST: usize = 60;

/// The signs by which a number is weighed, each a word or two with a mark of where they stand.
///
/// A neighbour is written `-2 word` or `+1 word`, its class `-1 <fuse>`, two of them `-2-1 on the`, any
/// other word of the sentence `< word` before and `> word` after.
#[must_use]
pub fn around(text: &Text<'_>, at: usize, asked: Option<Expecting>) -> BTreeSet<String> {
    let quantity = &text.quantities[at];
    let mut signs = of_place(text, &quantity.tokens);
    make(text, quantity, asked, &mut signs);
    between_numbers(text, at, &mut signs);
    held(text, &quantity.tokens, &mut signs);
    told_before(text, at, &mut signs);
    signs
}

/// The same for a display: `OL`, a beep.
#[must_use]
pub fn around_display(
    text: &Text<'_>,
    own: &Range<usize>,
    shown: DisplayWord,
    asked: Option<Expecting>,
) -> BTreeSet<String> {
    let mut signs = of_place(text, own);
    let kind = match shown {
        DisplayWord::Overload | DisplayWord::Lone => "overload",
        DisplayWord::Beep | DisplayWord::MaybeBeep => "beep",
        DisplayWord::NoBeep | DisplayWord::MaybeNoBeep => "no-beep",
        DisplayWord::Setting => "setting",
    };
    said(text, kind, asked, &mut signs);
    signs.extend(own.clone().map(|at| format!("own {}", text.sign(at))));
    signs
}

fn of_place(text: &Text<'_>, own: &Range<usize>) -> BTreeSet<String> {
    let mut signs = BTreeSet::new();
    neighbours(text, own, &mut signs);
    sentence(text, own, &mut signs);
    of_whom(text, own, &mut signs);
    signs
}

/// What it is, with what was asked and how much else is said.
fn said(text: &Text<'_>, kind: &str, asked: Option<Expecting>, signs: &mut BTreeSet<String>) {
    /// From so many words on, messages are long.
    const LONG: usize = 12;
    let asked = asked.map_or("nothing", question);
    let words = text.tokens.iter().filter(|token| token.plain().is_some());
    let words = words.take(LONG).count() / 3;
    let alone = text.quantities.len() == 1;
    signs.extend([
        format!("unit {kind}"),
        format!("asked {asked} {kind}"),
        format!("long {asked} {kind} {words}"),
        format!("alone {alone} {asked} {kind}"),
    ]);
}

fn neighbours(text: &Text<'_>, own: &Range<usize>, signs: &mut BTreeSet<String>) {
    let before = |back: usize| own.start.checked_sub(back);
    let after = |ahead: usize| Some(own.end + ahead - 1).filter(|at| *at < text.tokens.len());
    let word = |at: Option<usize>, edge: &str| at.map_or(edge.to_owned(), |at| text.sign(at));
    for step in 1..=NEAR {
        signs.insert(format!("-{step} {}", word(before(step), "^")));
        signs.insert(format!("+{step} {}", word(after(step), "$")));
    }
    for step in 1..NEAR {
        for (mark, at) in [("-", before(step)), ("+", after(step))] {
            for class in at.into_iter().flat_map(|at| text.classes(at)) {
                signs.insert(format!("{mark}{step} <{class}>"));
            }
        }
        let (far, near) = (word(before(step + 1), "^"), word(before(step), "^"));
        signs.insert(format!("-{}-{step} {far} {near}", step + 1));
        let (near, far) = (word(after(step), "$"), word(after(step + 1), "$"));
        signs.insert(format!("+{step}+{} {near} {far}", step + 1));
    }
    let (left, right) = (word(before(1), "^"), word(after(1), "$"));
    signs.insert(format!("-1+1 {left} {right}"));
}

fn sentence(text: &Text<'_>, own: &Range<usize>, signs: &mut BTreeSet<String>) {
    let sentence = &text.sentences[text.sentence_of(own.start)];
    let tokens = &sentence.tokens;
    for at in tokens.start..own.start.max(tokens.start) {
        signs.insert(format!("< {}", text.sign(at)));
    }
    for at in own.end.min(tokens.end)..tokens.end {
        signs.insert(format!("> {}", text.sign(at)));
    }
    if sentence.asks {
        signs.insert("asks".to_owned());
    }
}

/// Unit and size of the number itself, with what was asked.
fn make(
    text: &Text<'_>,
    quantity: &Quantity,
    asked: Option<Expecting>,
    signs: &mut BTreeSet<String>,
) {
    let kind = quantity
        .unit
        .map(|unit| text.phrases.units.unit(unit).kind.unit());
    let kind = kind.unwrap_or("bare");
    said(text, kind, asked, signs);
    let asked = asked.map_or("nothing", question);
    let decimals = quantity.decimals.map_or(9, |digits| digits.min(3));
    let size = size(quantity.value);
    signs.extend([
        format!("size {decimals} {size}"),
        format!("size {kind} {decimals} {size}"),
        format!("asked {asked} {kind} {decimals} {size}"),
    ]);
    for (is, name) in [
        (quantity.upper.is_some(), "range"),
        (quantity.article, "article"),
        (quantity.spelt, "spelt"),
        (quantity.clock, "clock"),
    ] {
        if is {
            signs.insert(name.to_owned());
        }
    }
    if quantity.is_whole() && quantity.value.abs() < 10_000.0 {
        signs.insert(format!("is {} {kind}", quantity.value));
    }
    for at in quantity.tokens.clone() {
        if matches!(text.tokens[at].what, What::Word(_)) {
            signs.insert(format!("own {}", text.sign(at)));
        }
    }
}

/// The last number with a unit before one without: its unit, how much larger or smaller it is, and whether
/// it stands in the same sentence. "12.4 V at the fuse, at the pump eight."
fn told_before(text: &Text<'_>, at: usize, signs: &mut BTreeSet<String>) {
    /// Numbers and sentences looked back over.
    const BACK: usize = 4;
    const SENTENCES: usize = 2;
    let quantity = &text.quantities[at];
    let mut before = text.quantities[at.saturating_sub(BACK)..at].iter().rev();
    let Some((unit, last)) = before
        .find_map(|last| Some((last.unit?, last)))
        .filter(|_| quantity.unit.is_none())
    else {
        return;
    };
    let sentence = |quantity: &Quantity| text.sentence_of(quantity.tokens.start);
    let apart = sentence(quantity) - sentence(last);
    if apart > SENTENCES {
        return;
    }
    let kind = text.phrases.units.unit(unit).kind.unit();
    let alike = match (quantity.value / last.value).abs() {
        0.0 => "none",
        ratio if (0.8..1.25).contains(&ratio) => "same",
        ratio if (0.3..3.0).contains(&ratio) => "like",
        ratio if (0.05..20.0).contains(&ratio) => "near",
        _ => "far",
    };
    signs.extend([
        format!("after {kind} {alike}"),
        format!("after {kind} {alike} {apart}"),
        format!("after {alike} spelt {}", quantity.spelt),
        format!("after {kind} -1 {}", sign_before(text, quantity)),
    ]);
}

/// The words between the number before and this one, and between this one and the next.
fn between_numbers(text: &Text<'_>, at: usize, signs: &mut BTreeSet<String>) {
    /// Words looked at on either side.
    const MOST_WORDS: usize = 12;
    let own = &text.quantities[at].tokens;
    let start = at
        .checked_sub(1)
        .map_or(0, |before| text.quantities[before].tokens.end);
    let next = text.quantities.get(at + 1);
    let end = next.map_or(text.tokens.len(), |next| next.tokens.start);
    let before = start.max(own.start.saturating_sub(MOST_WORDS))..own.start;
    let after = own.end..end.min(own.end + MOST_WORDS);
    signs.extend(before.map(|at| format!("[ {}", text.sign(at))));
    signs.extend(after.map(|at| format!("] {}", text.sign(at))));
}

/// What was said last, before a number and in its clause after it, of when it was measured, and of what is only
/// a rule.
fn held(text: &Text<'_>, own: &Range<usize>, signs: &mut BTreeSet<String>) {
    /// Words looked back over, and ahead.
    const BACK: usize = 40;
    const AHEAD: usize = 8;
    const WHEN: [&str; 2] = ["tells-now", "tells-former"];
    const RULE: [&str; 1] = ["tells-rule"];
    let sentence = text.sentence_of(own.start);
    let mut last = |classes: &[&str]| {
        let found = (own.start.saturating_sub(BACK)..own.start)
            .rev()
            .find_map(|at| {
                let class = classes.iter().find(|class| text.in_class(at, class))?;
                Some((at, *class))
            });
        let Some((at, class)) = found else {
            return "none".to_owned();
        };
        let apart = (sentence - text.sentence_of(at)).min(2);
        signs.extend([
            format!("held {class} {apart}"),
            format!("held {class} far {}", (own.start - at).ilog2()),
            format!("held {class} {}", text.sign(at)),
        ]);
        format!("{class} {apart}")
    };
    let (when, rule) = (last(&WHEN), last(&RULE));
    signs.insert(format!("held {when} {rule}"));
    let end = text.sentences[sentence].tokens.end;
    for at in own.end..end.min(own.end + AHEAD) {
        let soon = WHEN
            .iter()
            .chain(&RULE)
            .filter(|class| text.in_class(at, class));
        signs.extend(soon.map(|class| format!("soon {class}")));
    }
}

/// Whose bike it is of.
fn of_whom(text: &Text<'_>, own: &Range<usize>, signs: &mut BTreeSet<String>) {
    let Some(Owned { owner, told, word }) = owned(text, own) else {
        return;
    };
    let compares = compares(text);
    signs.extend([
        format!("of {owner:?} {compares}"),
        format!("of {owner:?} {told:?} {compares}"),
        format!("of {owner:?} {}", text.sign(word)),
    ]);
}

fn sign_before(text: &Text<'_>, quantity: &Quantity) -> String {
    let before = quantity.tokens.start.checked_sub(1);
    before.map_or("^".to_owned(), |at| text.sign(at))
}

/// The power of ten of a number.
fn size(value: f64) -> String {
    if value == 0.0 {
        return "none".to_owned();
    }
    format!("{}", value.abs().log10().floor())
}

/// The quantity asked for, by its base unit, or the other kind of answer.
pub(super) fn question(asked: Expecting) -> &'static str {
    match asked {
        Expecting::YesNo => "yes-no",
        Expecting::Heard => "heard",
        Expecting::Quantity(kind) => kind.unit(),
    }
}

#[cfg(test)]
mod tests {
    use super::around;
    use crate::language::interpretation::Expecting;
    use crate::language::testing::read;
    use crate::quantity::Kind;

    #[test]
    fn a_number_is_told_by_what_stands_around_it() {
        let asked = Some(Expecting::Quantity(Kind::Voltage));
        let signs = read("we got 12.6 volts, but no spark", |text, _, _| {
            around(text, 0, asked)
        });
        for sign in [
            "-1 got",
            "-2-1 we got",
            "+1 ,",
            "-1+1 got ,",
            "< we",
            "> spark",
            "unit V",
            "own volts",
            "size V 1 1",
            "asked V V 1 1",
            "alone true V V",
        ] {
            assert!(signs.contains(sign), "{sign}: {signs:?}");
        }
        assert!(!signs.contains("asks"), "{signs:?}");
    }

    #[test]
    fn the_edges_of_a_message_are_signs_too() {
        let signs = read("12?", |text, _, _| around(text, 0, None));
        for sign in ["-1 ^", "-3 ^", "+1 ?", "+2 $", "asks", "is 12 bare"] {
            assert!(signs.contains(sign), "{sign}: {signs:?}");
        }
    }
}
