//! The notation of phrases: text to pieces, and the steps they compile to.

use super::class::ClassIx;
use super::vocabulary::WordId;
use crate::quantity::Kind;
use std::fmt;

/// Which numbers a `#` stands for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sort {
    /// Any number.
    Any,
    /// A number with a unit of this kind.
    Kind(Kind),
    /// A number with the unit of this symbol.
    Unit(String),
    /// A whole number without a unit, as things are counted.
    Count,
    /// A whole number, with a unit or without: what is printed on parts.
    Whole,
    /// Amperes that fuses are made for.
    Fuse,
    /// A whole number that meters have as a range: 20, 200, 2000.
    Range,
    /// The digit 1 without a unit, as a display shows it out of range.
    One,
    /// A number greater than the one before it in the phrase.
    More,
    /// A number smaller than the one before it in the phrase.
    Less,
    /// A number below zero.
    Negative,
    /// A number above this one, in the base unit of what it is of; of this kind, where one is given.
    Above(Option<Kind>, u32),
    /// A number below this one, in the base unit of what it is of; of this kind, where one is given.
    Below(Option<Kind>, u32),
}

/// One element of a phrase as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// A word; the flag says that any form of it will do.
    Word(String, bool),
    /// A class by name.
    Class(String),
    /// A number.
    Number(Sort),
    /// Any few words.
    Gap,
    /// The beginning of a sentence.
    Begin,
    /// The end of a clause.
    End,
    /// One of these.
    Any(Vec<Vec<Piece>>),
    /// One of these or nothing.
    Maybe(Vec<Vec<Piece>>),
}

/// One element of a compiled phrase.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Step {
    /// One of these words, sorted.
    Words(Vec<WordId>),
    /// A member of a class.
    Class(ClassIx),
    /// A number.
    Number(Sort),
    /// Any few words.
    Gap,
    /// The beginning of a sentence.
    Begin,
    /// The end of a clause.
    End,
    /// One of these.
    Any(Vec<Vec<Step>>),
    /// One of these or nothing.
    Maybe(Vec<Vec<Step>>),
}

/// A phrase that breaks the notation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadPattern {
    /// Byte of the phrase.
    pub at: usize,
    what: &'static str,
    example: &'static str,
}

impl fmt::Display for BadPattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at byte {} {}", self.what, self.at, self.example)
    }
}

/// Stands before a part that may also be found in one of the two sentences before.
pub const BEFORE: &str = "&&";

/// The parts of a phrase, split at `&`.
///
/// # Errors
/// The first place that breaks the notation.
pub fn parse(text: &str) -> Result<Vec<Vec<Piece>>, BadPattern> {
    let mut parts = Vec::new();
    let mut at = 0;
    for part in text.split('&') {
        let mut reader = Reader {
            text: part,
            at: 0,
            base: at,
        };
        let mut pieces = reader.sequence(None)?;
        while pieces.last() == Some(&Piece::Gap) {
            pieces.pop();
        }
        if pieces.is_empty() {
            return Err(reader.bad(0, "the part", "is empty; write words on both sides of `&`"));
        }
        parts.push(pieces);
        at += part.len() + 1;
    }
    Ok(parts)
}

/// The alternatives of a class, each a sequence.
///
/// # Errors
/// The first place that breaks the notation.
pub fn parse_class(text: &str) -> Result<Vec<Vec<Piece>>, BadPattern> {
    let mut reader = Reader {
        text,
        at: 0,
        base: 0,
    };
    let members = reader.alternatives(None)?;
    if members.iter().flatten().all(is_wording) {
        Ok(members)
    } else {
        Err(reader.bad(
            0,
            "a class holds words only: no number, gap, beginning or end",
            "warm up|warms up",
        ))
    }
}

/// Whether a piece stands for words alone, so that it can stand in a class.
fn is_wording(piece: &Piece) -> bool {
    match piece {
        Piece::Word(..) | Piece::Class(_) => true,
        Piece::Number(_) | Piece::Gap | Piece::Begin | Piece::End => false,
        Piece::Any(options) | Piece::Maybe(options) => options.iter().flatten().all(is_wording),
    }
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    base: usize,
}

impl Reader<'_> {
    fn bad(&self, at: usize, what: &'static str, example: &'static str) -> BadPattern {
        BadPattern {
            at: self.base + at,
            what,
            example,
        }
    }

    fn peek(&self) -> Option<char> {
        self.text[self.at..].chars().next()
    }

    fn skip_blanks(&mut self) {
        while let Some(c) = self.peek().filter(|c| c.is_whitespace()) {
            self.at += c.len_utf8();
        }
    }

    /// Pieces up to `close`, to a `|` inside brackets, or to the end.
    fn sequence(&mut self, close: Option<char>) -> Result<Vec<Piece>, BadPattern> {
        let mut pieces = Vec::new();
        loop {
            self.skip_blanks();
            match self.peek() {
                None => return Ok(pieces),
                Some(c) if Some(c) == close => return Ok(pieces),
                Some('|') if close.is_some() => return Ok(pieces),
                Some(_) => pieces.push(self.choice(close.is_none())?),
            }
        }
    }

    /// One item, or several joined by `|` without blanks where that is allowed.
    fn choice(&mut self, bars: bool) -> Result<Piece, BadPattern> {
        let first = self.item()?;
        if !bars || self.peek() != Some('|') {
            return Ok(first);
        }
        let mut options = vec![vec![first]];
        while self.peek() == Some('|') {
            self.at += 1;
            options.push(vec![self.item()?]);
        }
        Ok(Piece::Any(options))
    }

    fn item(&mut self) -> Result<Piece, BadPattern> {
        let start = self.at;
        match self.peek() {
            Some('(') => {
                let options = self.bracket(start, ')')?;
                let options = self.in_any_form(options);
                if self.peek().is_some_and(is_word) {
                    let what = "letters after a `)`";
                    return Err(self.bad(start, what, "join nothing; put a blank between"));
                }
                Ok(Piece::Any(options))
            }
            Some('[') => self.bracket(start, ']').map(Piece::Maybe),
            Some('<') => self.class_name(start),
            Some('#') => self.number(start),
            Some('.') if self.text[self.at..].starts_with("..") => {
                self.at += 2;
                Ok(Piece::Gap)
            }
            Some('^') => {
                self.at += 1;
                Ok(Piece::Begin)
            }
            Some('!') => {
                self.at += 1;
                Ok(Piece::End)
            }
            Some(c) if is_word(c) => Ok(self.word()),
            _ => Err(self.bad(
                start,
                "this",
                "is no word; write a word, `<class>`, `(a|b)`, `[a]`, `#`, `..` or `!`",
            )),
        }
    }

    fn word(&mut self) -> Piece {
        let start = self.at;
        while let Some(c) = self.peek().filter(|&c| is_word(c) || self.is_point()) {
            self.at += c.len_utf8();
        }
        let written = plain(&self.text[start..self.at]);
        let any_form = self.peek() == Some('~');
        if any_form {
            self.at += 1;
        }
        let word = |word: &str| Piece::Word(word.to_owned(), any_form);
        if written.starts_with(|c: char| c.is_ascii_digit()) {
            Piece::Any(vec![figures_apart(&written).map(word).collect()])
        } else {
            word(&written)
        }
    }

    /// Whether the reader is at the point of `13.8`.
    fn is_point(&self) -> bool {
        let (before, after) = self.text.split_at(self.at);
        let figure = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let mut after = after.chars();
        after.next() == Some('.') && figure(before.chars().next_back()) && figure(after.next())
    }

    /// `(stall|die)~`: every alternative's last word in any form.
    fn in_any_form(&mut self, mut options: Vec<Vec<Piece>>) -> Vec<Vec<Piece>> {
        if self.peek() == Some('~') {
            self.at += 1;
            for option in &mut options {
                if let Some(Piece::Word(_, any_form)) = option.last_mut() {
                    *any_form = true;
                }
            }
        }
        options
    }

    fn number(&mut self, start: usize) -> Result<Piece, BadPattern> {
        self.at += 1;
        if let Some(sign) = self.sign() {
            return self.bounded(start, None, sign).map(Piece::Number);
        }
        let rest = &self.text[self.at..];
        let name = &rest[..rest
            .find(|c: char| !c.is_alphabetic())
            .unwrap_or(rest.len())];
        self.at += name.len();
        let known = |kind: &Kind| format!("{kind:?}").to_lowercase() == name;
        let sort = match (name, Kind::ALL.into_iter().find(known)) {
            ("", _) => Sort::Any,
            ("count", _) => Sort::Count,
            ("whole", _) => Sort::Whole,
            ("fuse", _) => Sort::Fuse,
            ("range", _) => Sort::Range,
            ("one", _) => Sort::One,
            ("more", _) => Sort::More,
            ("less", _) => Sort::Less,
            ("negative", _) => Sort::Negative,
            (_, Some(kind)) => match self.sign() {
                Some(sign) => self.bounded(start, Some(kind), sign)?,
                None => Sort::Kind(kind),
            },
            ("s" | "min" | "h", None) => Sort::Unit(name.to_owned()),
            _ => {
                return Err(self.bad(
                    start,
                    "`#`",
                    "names no quantity; write it as in `#duration` or `#min`",
                ));
            }
        };
        Ok(Piece::Number(sort))
    }

    /// Takes the sign before a bound.
    fn sign(&mut self) -> Option<char> {
        let sign = self.peek().filter(|&sign| matches!(sign, '<' | '>'))?;
        self.at += 1;
        Some(sign)
    }

    /// `#>9`, `#<3`, `#voltage>9`.
    fn bounded(
        &mut self,
        start: usize,
        kind: Option<Kind>,
        sign: char,
    ) -> Result<Sort, BadPattern> {
        let rest = &self.text[self.at..];
        let figures = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        let bound = rest[..figures].parse().map_err(|_| {
            let what = "the bound of `#`";
            self.bad(
                start,
                what,
                "is no whole number; write it as in `#>9` or `#<3`",
            )
        })?;
        self.at += figures;
        Ok(if sign == '>' {
            Sort::Above(kind, bound)
        } else {
            Sort::Below(kind, bound)
        })
    }

    fn class_name(&mut self, start: usize) -> Result<Piece, BadPattern> {
        let Some(length) = self.text[start..].find('>') else {
            return Err(self.bad(start, "`<`", "is never closed; write it as in `<fuel>`"));
        };
        self.at = start + length + 1;
        Ok(Piece::Class(
            self.text[start + 1..start + length].to_owned(),
        ))
    }

    fn bracket(&mut self, start: usize, close: char) -> Result<Vec<Vec<Piece>>, BadPattern> {
        self.at += 1;
        let options = self.alternatives(Some(close))?;
        if self.peek() != Some(close) {
            return Err(if close == ')' {
                self.bad(
                    start,
                    "`(`",
                    "is never closed; write it as in `(ran out|run dry)`",
                )
            } else {
                self.bad(start, "`[`", "is never closed; write it as in `[the|my]`")
            });
        }
        self.at += 1;
        Ok(options)
    }

    fn alternatives(&mut self, close: Option<char>) -> Result<Vec<Vec<Piece>>, BadPattern> {
        let mut options = Vec::new();
        loop {
            let start = self.at;
            let option = self.sequence(Some(close.unwrap_or('\0')))?;
            if option.is_empty() {
                return Err(self.bad(start, "an alternative", "is empty; take one `|` away"));
            }
            options.push(option);
            if self.peek() != Some('|') {
                return Ok(options);
            }
            self.at += 1;
        }
    }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '\'' | '+' | '%')
}

/// `12v` as messages are split: digits are a word of their own, and so is what follows them.
fn figures_apart(word: &str) -> impl Iterator<Item = &str> {
    let figure = |c: char| c.is_ascii_digit() || c == '.';
    let mut left = word;
    std::iter::from_fn(move || {
        let first = left.chars().next()?;
        let end = left.find(|c| figure(c) != figure(first));
        let (part, rest) = left.split_at(end.unwrap_or(left.len()));
        left = rest;
        Some(part)
    })
}

/// A word as it is compared: lower case, without apostrophes.
#[must_use]
pub fn plain(word: &str) -> String {
    word.chars()
        .filter(|&c| c != '\'')
        .flat_map(char::to_lowercase)
        .collect()
}
