//! Words, numbers and marks, each with its place in the message.

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

/// A number in digits.
#[derive(Debug, Clone, PartialEq)]
pub struct Digits {
    /// As written.
    pub text: String,
    /// Its value, where it has one: `192.168.1.1` has none.
    pub value: Option<f64>,
    /// Digits after the point.
    pub decimals: u32,
    /// Its value if a comma taken for thousands is the decimal one after all.
    pub otherwise: Option<f64>,
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

    /// The word's place in the vocabulary, if it is a known word.
    #[must_use]
    pub fn id(&self) -> Option<WordId> {
        match &self.what {
            What::Word(word) => word.id,
            _ => None,
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
        let after_digit = self.at > 0 && self.glyphs[self.at - 1].c.is_ascii_digit();
        if c.is_ascii_digit()
            || (matches!(c, '.' | ',') && self.peek(1).is_ascii_digit() && !after_digit)
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

    /// The word, the word without a possessive `s`, or the word it is a slip of.
    fn known(&self, plain: &str, apostrophe: bool) -> Option<WordId> {
        self.words.find(plain).or_else(|| {
            let owner = plain.strip_suffix('s').filter(|_| apostrophe);
            owner
                .and_then(|owner| self.words.find(owner))
                .or_else(|| self.words.correct(plain))
        })
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
        self.push(length, What::Number(digits(text)));
    }
}

/// Reads digits with their separators.
///
/// `13,300` is thirteen thousand three hundred, `3,4` and `0,350` have a decimal comma, `1.234,5`
/// has both, and `12.05.2023` is no number.
fn digits(text: String) -> Digits {
    let separators: Vec<(usize, char)> = text
        .char_indices()
        .filter(|(_, c)| !c.is_ascii_digit())
        .collect();
    let last_group = separators.last().map_or(0, |&(at, _)| text.len() - at - 1);
    let first_group = separators.first().map_or(text.len(), |&(at, _)| at);
    let threes = separators.windows(2).all(|pair| pair[1].0 - pair[0].0 == 4);
    let same = separators.windows(2).all(|pair| pair[0].1 == pair[1].1);
    let grouped = (1..=3).contains(&first_group) && !text.starts_with('0') && threes;
    let point = match separators.as_slice() {
        [] => None,
        [(_, '.')] => Some('.'),
        [(_, '\'' | ',')] if last_group == 3 && grouped => None,
        [(_, ',')] => Some(','),
        [.., _] if same && grouped && last_group == 3 => None,
        [.., (_, before), (_, last)] if before != last && grouped => Some(*last),
        _ => {
            return Digits {
                text,
                value: None,
                decimals: 0,
                otherwise: None,
            };
        }
    };
    let value = to_number(&text, point);
    let otherwise = matches!(separators.as_slice(), [(_, ',')] if point.is_none());
    Digits {
        value,
        decimals: if point.is_some() {
            u32::try_from(last_group).unwrap_or(0)
        } else {
            0
        },
        otherwise: if otherwise {
            to_number(&text, Some(','))
        } else {
            None
        },
        text,
    }
}

fn to_number(text: &str, point: Option<char>) -> Option<f64> {
    // More digits than a meter shows make an account or a telephone number.
    if text.len() > 12 {
        return None;
    }
    let kept = text
        .chars()
        .filter(|&c| c.is_ascii_digit() || Some(c) == point);
    let plain: String = kept
        .map(|c| if Some(c) == point { '.' } else { c })
        .collect();
    plain.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::{What, digits, tokens};
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
            ("OL 0L O.L. 0.L", "OL OL OL . OL"),
            ("wait... what?!", "wait … what ? !"),
            ("see https://x.y/z?a=1 ok <@123> E10", "see ok E10"),
            ("12.4-12.6", "#12.4 - #12.6"),
            ("a\nb", "a ¶ b"),
        ];
        for (text, expected) in cases {
            assert_eq!(shown(text), expected, "{text}");
        }
    }

    #[test]
    fn separators() {
        let cases = [
            ("12.4", Some(12.4)),
            ("3,4", Some(3.4)),
            ("13,300", Some(13_300.0)),
            ("0,350", Some(0.35)),
            ("1.234,5", Some(1234.5)),
            ("1,234.5", Some(1234.5)),
            ("13'300", Some(13_300.0)),
            ("1,234,567", Some(1_234_567.0)),
            ("12.05.2023", None),
            ("192.168.1.1", None),
            (".8", Some(0.8)),
            ("12,65", Some(12.65)),
        ];
        for (text, expected) in cases {
            assert_eq!(digits(text.to_owned()).value, expected, "{text}");
        }
    }
}
