//! Words, numbers and marks, each with its place in the message.

mod digits;

pub use digits::Digits;

use super::interpretation::Span;
use super::normalise::Glyph;
use crate::knowledge::phrase::{Vocabulary, WordId};

/// One token.
#[derive(Debug, Clone, PartialEq)]
pub struct Token {
    /// What it is.
    pub what: What,
    /// The bytes of the message it stands for.
    pub span: Span,
    /// Whether nothing stands between it and the token before.
    pub glued: bool,
}

/// What a token is.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// A run of letters, perhaps with digits after them.
    Word(Word),
    /// Digits.
    Number(Digits),
    /// A sign that means something: `.`, `?`, `-`, `/`, `°`.
    Mark(char),
}

/// A word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// As written, without apostrophes.
    pub raw: String,
    /// In lower case.
    pub plain: String,
    /// Its place in the vocabulary, after correction.
    pub id: Option<WordId>,
}

impl Token {
    /// The lower-case word, if it is one.
    #[must_use]
    pub fn plain(&self) -> Option<&str> {
        match &self.what {
            What::Word(word) => Some(&word.plain),
            _ => None,
        }
    }

    /// Its place in the vocabulary, if it is a known word or digits that a phrase names.
    #[must_use]
    pub fn id(&self) -> Option<WordId> {
        match &self.what {
            What::Word(word) => word.id,
            What::Number(digits) => digits.id,
            What::Mark(_) => None,
        }
    }

    /// Whether it is this mark.
    #[must_use]
    pub fn is(&self, mark: char) -> bool {
        self.what == What::Mark(mark)
    }
}

/// Splits a message.
#[must_use]
pub fn tokens(glyphs: &[Glyph], words: &Vocabulary) -> Vec<Token> {
    let mut lexer = Lexer {
        glyphs,
        at: 0,
        words,
        tokens: Vec::new(),
        glued: false,
    };
    while lexer.at < glyphs.len() {
        lexer.step();
    }
    lexer.tokens
}

struct Lexer<'a> {
    glyphs: &'a [Glyph],
    at: usize,
    words: &'a Vocabulary,
    tokens: Vec<Token>,
    glued: bool,
}

impl Lexer<'_> {
    fn peek(&self, ahead: usize) -> char {
        self.glyphs
            .get(self.at + ahead)
            .map_or('\0', |glyph| glyph.c)
    }

    fn step(&mut self) {
        let c = self.peek(0);
        let within = self.at > 0 && self.glyphs[self.at - 1].c.is_alphanumeric();
        if c.is_ascii_digit()
            || (matches!(c, '.' | ',') && self.peek(1).is_ascii_digit() && !within)
        {
            if !self.overload() {
                self.number();
            }
        } else if c.is_alphabetic() {
            if !self.link() && !self.overload() {
                self.word();
            }
        } else if c == '\n' {
            self.push(1, What::Mark('\n'));
        } else if c.is_whitespace() {
            self.at += 1;
            self.glued = false;
        } else if c == '@' && (self.peek(1) == ' ' || self.peek(1).is_ascii_digit()) {
            self.at_sign();
        } else if !self.tag() {
            self.mark(c);
        }
    }

    fn push(&mut self, length: usize, what: What) {
        let span = self.glyphs[self.at].at..self.glyphs[self.at + length - 1].end;
        self.tokens.push(Token {
            what,
            span,
            glued: self.glued,
        });
        self.at += length;
        self.glued = true;
    }

    /// "14.3 @ 3000": the word it stands for.
    fn at_sign(&mut self) {
        let word = Word {
            raw: "at".into(),
            plain: "at".into(),
            id: self.words.find("at"),
        };
        self.push(1, What::Word(word));
        self.glued = false;
    }

    /// A mark; a hyphen inside a word only joins, and dots in a row are one pause.
    fn mark(&mut self, c: char) {
        let inside = |lexer: &Self| {
            lexer.at > 0
                && lexer.glyphs[lexer.at - 1].c.is_alphabetic()
                && lexer.peek(1).is_alphabetic()
        };
        // Only these run together; counting every run would take quadratic time in "((((((".
        let runs = matches!(c, '.' | '!' | '?' | '-');
        let left = self.glyphs.len() - self.at;
        let run = if runs {
            (0..left).take_while(|&ahead| self.peek(ahead) == c).count()
        } else {
            1
        };
        match c {
            '-' if inside(self) => {
                self.at += 1;
                self.glued = false;
            }
            '.' if run > 1 => self.push(run, What::Mark('…')),
            '!' | '?' if run > 1 => self.push(run, What::Mark(c)),
            '\'' => {
                self.at += 1;
            }
            '-' if run > 1 => self.push(run, What::Mark(',')),
            _ => self.push(1, What::Mark(c)),
        }
    }

    /// `OL`, `O.L.`, `0L`, `O/L`: the display of a meter out of range.
    fn overload(&mut self) -> bool {
        let zero = matches!(self.peek(0), 'O' | 'o' | '0');
        let stop = usize::from(matches!(self.peek(1), '.' | '/'));
        let end = 1 + stop + 1;
        let written =
            zero && matches!(self.peek(1 + stop), 'L' | 'l') && !self.peek(end).is_alphanumeric();
        // "ol" in lower case may be an old friend; the display is written in capitals or with a dot
        let plain = self.peek(0) == 'o' && self.peek(1) == 'l';
        if !written
            || plain
            || (self.glued
                && self
                    .tokens
                    .last()
                    .is_some_and(|last| last.plain().is_some()))
        {
            return false;
        }
        let word = Word {
            raw: "OL".into(),
            plain: "ol".into(),
            id: self.words.find("ol"),
        };
        self.push(end, What::Word(word));
        true
    }

    /// Skips an address.
    fn link(&mut self) -> bool {
        let begins = |text: &str| {
            text.chars()
                .enumerate()
                .all(|(ahead, c)| self.peek(ahead).eq_ignore_ascii_case(&c))
        };
        if !(begins("http://") || begins("https://") || begins("www.")) {
            return false;
        }
        while self.at < self.glyphs.len() && !self.peek(0).is_whitespace() {
            self.at += 1;
        }
        self.glued = false;
        true
    }

    /// Skips a mention, a channel or a named picture: `<@123>`, `<#123>`, `<:name:123>`.
    fn tag(&mut self) -> bool {
        if self.peek(0) != '<' || !matches!(self.peek(1), '@' | '#' | ':') {
            return false;
        }
        let Some(length) = (2..80).find(|&ahead| self.peek(ahead) == '>') else {
            return false;
        };
        self.at += length + 1;
        self.glued = false;
        true
    }

    fn word(&mut self) {
        let after_number = self.glued
            && matches!(
                self.tokens.last().map(|last| &last.what),
                Some(What::Number(_))
            );
        let mut length = 0;
        let mut raw = String::new();
        loop {
            let c = self.peek(length);
            let joins = c == '\'' && self.peek(length + 1).is_alphabetic();
            if c.is_ascii_digit() && length > 0 && self.is_decimal(length) {
                break;
            }
            if !(c.is_alphabetic() || joins || (c.is_ascii_digit() && !after_number)) {
                break;
            }
            if c != '\'' {
                raw.push(c);
            }
            length += 1;
        }
        let plain = raw.to_lowercase();
        let id = self.known(&plain, length > raw.chars().count());
        self.push(length, What::Word(Word { raw, plain, id }));
    }

    /// Whether digits with a point or a comma among them stand here: "relay12,6volt".
    fn is_decimal(&self, ahead: usize) -> bool {
        /// Digits before the point of anything measured.
        const MOST: usize = 4;
        let digits = (0..=MOST)
            .take_while(|&at| self.peek(ahead + at).is_ascii_digit())
            .count();
        let point = matches!(self.peek(ahead + digits), '.' | ',');
        let first = !self.peek(ahead - 1).is_ascii_digit();
        first && point && self.peek(ahead + digits + 1).is_ascii_digit()
    }

    /// The word, the word without a possessive `s`, or the word it is a slip of.
    fn known(&self, plain: &str, apostrophe: bool) -> Option<WordId> {
        self.words.find(plain).or_else(|| {
            let owner = plain.strip_suffix('s').filter(|_| apostrophe);
            owner
                .and_then(|owner| self.words.find(owner))
                .or_else(|| {
                    drawled(plain)
                        .iter()
                        .find_map(|plain| self.words.find(plain))
                })
                .or_else(|| self.clipped(plain))
                .or_else(|| self.words.correct(plain))
        })
    }

    /// "leakin", "drippin'".
    fn clipped(&self, plain: &str) -> Option<WordId> {
        let whole = || self.words.find(&format!("{plain}g"));
        plain.ends_with("in").then(whole).flatten()
    }

    fn number(&mut self) {
        let mut length = 0;
        loop {
            let (c, next) = (self.peek(length), self.peek(length + 1));
            let separates = matches!(c, '.' | ',' | '\'') && next.is_ascii_digit();
            if !(c.is_ascii_digit() || separates) {
                break;
            }
            length += 1;
        }
        let text: String = self.glyphs[self.at..self.at + length]
            .iter()
            .map(|glyph| glyph.c)
            .collect();
        let id = self.words.find(&text);
        let before = self.at.checked_sub(1).map(|before| self.glyphs[before].c);
        let digits = Digits {
            id,
            clipped: before == Some('\''),
            ..digits::digits(text)
        };
        self.push(length, What::Number(digits));
    }
}

/// The words that one with a letter drawn out may stand for: "beeeep", "nooo".
fn drawled(plain: &str) -> Vec<String> {
    let runs: Vec<&[u8]> = plain.as_bytes().chunk_by(|a, b| a == b).collect();
    if !plain.is_ascii() || runs.iter().all(|run| run.len() < 3) {
        return Vec::new();
    }
    let shortened = |most: usize| {
        let kept = runs.iter().flat_map(|run| &run[..run.len().min(most)]);
        kept.map(|&byte| char::from(byte)).collect()
    };
    vec![shortened(2), shortened(1)]
}

#[cfg(test)]
mod tests {
    use super::{What, tokens};
    use crate::knowledge::phrase::Vocabulary;
    use crate::language::normalise::normalise;

    fn shown(text: &str) -> String {
        let show = |what: What| match what {
            What::Word(word) => word.raw,
            What::Number(digits) => format!("#{}", digits.text),
            What::Mark('\n') => "¶".into(),
            What::Mark(mark) => mark.to_string(),
        };
        let words = Vocabulary::default();
        tokens(&normalise(text), &words)
            .into_iter()
            .map(|token| show(token.what))
            .collect::<Vec<_>>()
            .join(" ")
    }

    #[test]
    fn splits() {
        let cases = [
            ("12.4V at the plug.", "#12.4 V at the plug ."),
            ("4R7 1k2", "#4 R #7 #1 k #2"),
            ("fuel-tap won't", "fuel tap wont"),
            ("-12.4 .8", "- #12.4 #.8"),
            ("battery,12.5", "battery , #12.5"),
            ("relay12,6volt", "relay #12,6 volt"),
            ("OL 0L O.L. 0.L", "OL OL OL . OL"),
            ("wait... what?!", "wait … what ? !"),
            ("see https://x.y/z?a=1 ok <@123> E10", "see ok E10"),
            ("12.4-12.6", "#12.4 - #12.6"),
            ("a\nb", "a ¶ b"),
            ("14.3 @ 3000 @home", "#14.3 at #3000 @ home"),
        ];
        for (text, expected) in cases {
            assert_eq!(shown(text), expected, "{text}");
        }
    }
}
