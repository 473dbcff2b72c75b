//! Whose bike a number is of, where bikes are compared: "next door's reads 12.9, mine 11.2".

use crate::language::matching::Text;
use crate::language::token::What;
use std::ops::Range;

/// Whose bike it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Owner {
    /// The one that is asked about.
    Mine,
    /// Another, or none: a book's, a forum's, a charger's.
    Another,
}

/// Where the word stands that tells whose a number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// In the clause, before the number.
    Before,
    /// In the clause, after it: "12.4 on mine".
    After,
    /// In a clause before, and nothing was said since.
    Earlier,
    /// In the sentence before.
    SentenceBefore,
}

/// Whose a number is, and by which word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Owned {
    pub owner: Owner,
    pub told: Told,
    /// The token that tells.
    pub word: usize,
}

/// Tokens looked back over in a clause or sentence before, and ahead in the number's own.
const BACK: usize = 40;
const AHEAD: usize = 8;
/// Tokens between a number and the "on" of "on mine".
const JOINT: usize = 2;

/// Whose the number, or the display, on these tokens is, where anything tells.
#[must_use]
pub fn owned(text: &Text<'_>, own: &Range<usize>) -> Option<Owned> {
    let sentence = &text.sentences[text.sentence_of(own.start)].tokens;
    let (last, next) = beside(text, own);
    let after = after(text, own.end..(own.end + AHEAD).min(next).min(sentence.end));
    let joined = after.filter(|(_, joined)| *joined).map(|(owned, _)| owned);
    joined
        .or_else(|| before(text, last.max(sentence.start)..own.start))
        .or_else(|| after.map(|(owned, _)| owned))
        .or_else(|| earlier(text, sentence.start..own.start))
        .or_else(|| sentence_before(text, sentence.start))
}

/// Whose the number on these tokens is by its own clause, or by that of the number it goes on with, in a message
/// that `compares` bikes.
#[must_use]
pub fn compared(text: &Text<'_>, own: &Range<usize>, compares: bool) -> Option<Owner> {
    /// Numbers of a list that are looked back over.
    const LIST: usize = 6;
    if !compares {
        return None;
    }
    let first = text
        .quantities
        .partition_point(|one| one.tokens.end <= own.start);
    let before = text.quantities[..first].iter().rev().map(|one| &one.tokens);
    let list = std::iter::once(own).chain(before).take(LIST);
    let mut next: Option<&Range<usize>> = None;
    for tokens in list {
        if next.is_some_and(|next| !goes_on(text, tokens.end..next.start)) {
            return None;
        }
        let told = owned(text, tokens).filter(|it| matches!(it.told, Told::Before | Told::After));
        if let Some(owned) = told {
            return Some(owned.owner);
        }
        next = Some(tokens);
    }
    None
}

/// "His: 12.7, 12.1, 12.2": nothing but a mark between two numbers of a list.
fn goes_on(text: &Text<'_>, between: Range<usize>) -> bool {
    let comma = |at: usize| matches!(text.tokens[at].what, What::Mark(',' | '/' | ';'));
    between.len() == 1 && between.clone().all(comma)
}

/// Where the number before ends and the next one begins; one that goes with this, as "200 ml in 20 seconds",
/// is passed over.
fn beside(text: &Text<'_>, own: &Range<usize>) -> (usize, usize) {
    /// Tokens between two numbers that go together.
    const TIGHT: usize = 2;
    let together = |mut between: Range<usize>| {
        (1..=TIGHT).contains(&between.len()) && !between.any(|at| is_turn(text, at))
    };
    let numbers = &text.quantities;
    let first = numbers.partition_point(|one| one.tokens.end <= own.start);
    let before = numbers[..first].iter().rev();
    let measured = before.filter(|one| !is_bike(text, &one.tokens));
    let mut before = measured.map(|one| one.tokens.clone());
    let mut last = before.next();
    if last
        .as_ref()
        .is_some_and(|last| together(last.end..own.start))
    {
        last = before.next();
    }
    let second = numbers.partition_point(|one| one.tokens.start < own.end);
    let mut after = numbers[second..].iter().map(|one| one.tokens.clone());
    let mut next = after.next();
    if next
        .as_ref()
        .is_some_and(|next| together(own.end..next.start))
    {
        next = after.next();
    }
    let last = last.map_or(0, |last| last.end);
    (last, next.map_or(text.tokens.len(), |next| next.start))
}

/// "My 1100", "Reinhold's 900": a number that stands for the bike.
fn is_bike(text: &Text<'_>, tokens: &Range<usize>) -> bool {
    let whose = tokens.start.checked_sub(1);
    let owned = |at: usize| {
        text.in_class(at, "possessing") || text.in_class(at, "other-owner") || is_name(text, at)
    };
    let plain = matches!(&text.tokens[tokens.start].what, What::Number(digits) if digits.decimals == 0 && digits.text.len() > 2);
    plain && tokens.len() == 1 && whose.is_some_and(owned)
}

/// Whether both the rider's own bike and another are named in a message.
#[must_use]
pub fn compares(text: &Text<'_>) -> bool {
    /// Tokens looked at.
    const MOST: usize = 200;
    let names = |tells: &dyn Fn(usize) -> bool| (0..text.tokens.len().min(MOST)).any(tells);
    // "my rail", and no person of mine
    let mine = |at| text.in_class(at, "possessing") && owner(text, at) == Some(Owner::Mine);
    let own = |at| text.in_class(at, "own-bike-named") || mine(at);
    names(&own) && names(&|at| is_another(text, at))
}

fn before(text: &Text<'_>, clause: Range<usize>) -> Option<Owned> {
    // "me, 12.2", "mine: 12.2"
    let named = clause.clone().rev().take(2).nth(1);
    let named = named.filter(|at| owner(text, *at).is_some());
    let words = clause.rev().take_while(|at| !is_turn(text, *at));
    first(text, words, Told::Before).or_else(|| first(text, named, Told::Before))
}

/// The word after a number that tells whose it is, and whether an "on" joins the two.
fn after(text: &Text<'_>, clause: Range<usize>) -> Option<(Owned, bool)> {
    let joint = |at: &usize| text.in_class(*at, "owner-joint") || text.tokens[*at].is('(');
    let start = clause.start;
    let mut near = clause.clone().take(JOINT);
    let joined = near.find(|at| joint(at) || is_turn(text, *at));
    let joined = joined.filter(joint);
    let from = joined.map_or(start, |at| at + 1);
    let words = (from..clause.end).take_while(|at| !is_turn(text, *at));
    Some((first(text, words, Told::After)?, joined.is_some()))
}

fn earlier(text: &Text<'_>, words: Range<usize>) -> Option<Owned> {
    first(text, words.rev().take(BACK), Told::Earlier)
}

/// What the sentence before tells; what was told further back is over: "my mate's shows 12.8. Pump is silent. At
/// its plug 0.1".
fn sentence_before(text: &Text<'_>, start: usize) -> Option<Owned> {
    let before = start.checked_sub(1)?;
    let words = text.sentences[text.sentence_of(before)].tokens.clone();
    first(text, words.rev().take(BACK), Told::SentenceBefore)
}

fn first(text: &Text<'_>, words: impl IntoIterator<Item = usize>, told: Told) -> Option<Owned> {
    words.into_iter().find_map(|word| {
        let owner = owner(text, word)?;
        Some(Owned { owner, told, word })
    })
}

/// Whose bike a word names.
fn owner(text: &Text<'_>, at: usize) -> Option<Owner> {
    if text.in_class(at, "own-bike-named") {
        return Some(Owner::Mine);
    }
    if is_another(text, at) {
        return Some(Owner::Another);
    }
    // "my brother" is no "my"
    let person = |at| text.in_class(at, "other-person") || is_another(text, at);
    let of_person = (at + 1..at + 3).any(person);
    (text.in_class(at, "own-word") && !of_person).then_some(Owner::Mine)
}

/// Whether a word names another person or bike, and no meter or tool of theirs.
fn is_another(text: &Text<'_>, at: usize) -> bool {
    let bike = |at: usize| {
        let token = text.tokens.get(at);
        token.is_some_and(|token| matches!(token.what, What::Number(_)))
            || text.in_class(at, "bikeword")
    };
    // "my dad gets 12.4" on his; where he measured it, it may be on mine
    let has = || (at + 1..at + 3).any(|at| text.in_class(at, "owner-verb"));
    let of = || {
        let mut before = at.saturating_sub(4)..at;
        (at.saturating_sub(2)..at).any(|at| text.in_class(at, "owner-of"))
            && before.any(|at| text.in_class(at, "bikeword"))
    };
    let named = text.in_class(at, "other-owner")
        || text.in_class(at, "other-person") && (has() || of())
        || text.in_class(at, "other-bike-named")
        || text.in_class(at, "former") && bike(at + 1)
        || is_name(text, at);
    let lent = (at + 1..at + 4).any(|at| text.in_class(at, "meter") || text.in_class(at, "tool"));
    named && !lent
}

/// "Kev's", "Sanjay": a word in capitals that nothing knows.
fn is_name(text: &Text<'_>, at: usize) -> bool {
    let Some(What::Word(word)) = text.tokens.get(at).map(|token| &token.what) else {
        return false;
    };
    let mut letters = word.raw.chars();
    let capital = letters.next().is_some_and(char::is_uppercase);
    let known = word
        .id
        .is_some_and(|id| text.phrases.words.word(id) == word.plain);
    !known && capital && word.raw.len() > 2 && letters.all(char::is_lowercase)
}

/// Whether a clause ends at a token: the one that compares begins another.
fn is_turn(text: &Text<'_>, at: usize) -> bool {
    match text.tokens[at].what {
        What::Mark(mark) => matches!(mark, ',' | ';' | '.' | '!' | '?' | '(' | ')' | '\n' | '…'),
        _ => text.in_class(at, "owner-turn"),
    }
}

#[cfg(test)]
mod tests {
    use super::{Owner, compares, owned};
    use crate::language::testing::read;

    /// By number of a text: whose it is.
    fn owners(text: &str) -> Vec<Option<Owner>> {
        read(text, |text, _, _| {
            let all = 0..text.quantities.len();
            let tokens = |at: usize| &text.quantities[at].tokens;
            all.map(|at| owned(text, tokens(at)).map(|owned| owned.owner))
                .collect()
        })
    }

    #[test]
    fn every_number_has_the_owner_of_its_clause() {
        let (mine, his) = (Some(Owner::Mine), Some(Owner::Another));
        for (text, expected) in [
            ("next door's reads 12.9, mine 11.2", vec![his, mine]),
            ("11.2 on mine where my brother gets 12.9", vec![mine, his]),
            ("12.4 on mine, 12.8 on the other bike", vec![mine, his]),
            (
                "14.2 V for Kev's and a miserable 12.6 V on mine",
                vec![his, mine],
            ),
            ("11.6 (mine). 12.7 (his).", vec![mine, his]),
            (
                "his pump pulls 3.5 amps. Mine pulls 6.1 amps",
                vec![his, mine],
            ),
            ("with my mate's meter 12.2", vec![mine]),
            ("my dad measured 12.2 on my bike", vec![mine]),
            (
                "my bike has 12.2 V and when I start 9.8 V",
                vec![mine, mine],
            ),
            ("with his battery in my bike 12.8", vec![mine]),
            ("his has 12.7. Me, 12.2 after a night", vec![his, mine]),
            (
                "200 ml in 20 seconds on hers, mine 60 ml in 20 seconds",
                vec![his, his, mine, mine],
            ),
            (
                "in my mates bike is 12.9 and in mine its 11.6",
                vec![his, mine],
            ),
            (
                "in my bike it gives 8.2 volt, in the bike of my uncle 12.1",
                vec![mine, his],
            ),
            ("my mate's shows 12.8. It reads 12.5", vec![his, his]),
            (
                "my mate's shows 12.8. Pump silent. Plug 0.1",
                vec![his, None],
            ),
            ("battery 12.8", vec![None]),
        ] {
            assert_eq!(owners(text), expected, "{text}");
        }
    }

    #[test]
    fn a_message_that_names_one_bike_compares_nothing() {
        let compared = |text: &str| read(text, |text, _, _| compares(text));
        assert!(compared("his has 12.8, mine 11.2"));
        assert!(!compared("his battery has 12.8"));
        assert!(!compared("mine has 12.8 with my mate's meter"));
    }
}
