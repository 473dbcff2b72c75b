//! From the message as sent to plain characters, each with its place in the message.
//!
//! Quoted lines, struck-out text, fences and invisible signs go; look-alikes become what they look
//! like. Nothing here knows what a word is.

use super::interpretation::Span;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Bytes of a message that are read; the rest is cut, and the reply says so. A Discord message has at most
/// 2,000 characters, 4,000 with a subscription (both from memory), of at most four bytes each.
pub const LONGEST: usize = 16 * 1024;

/// A character to read, and where it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Glyph {
    /// The character after normalisation.
    pub c: char,
    /// First byte of its source.
    pub at: usize,
    /// First byte after its source.
    pub end: usize,
}

/// The characters of a message that are the rider's own and mean something.
#[must_use]
pub fn normalise(text: &str) -> Vec<Glyph> {
    let text = &text[..longest(text)];
    let mut glyphs = Vec::with_capacity(text.len());
    let mut quoted = 0_usize;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let opens = line.matches("[quote").count();
        let closes = line.matches("[/quote]").count();
        let inside = quoted > 0 || opens > 0;
        quoted = (quoted + opens).saturating_sub(closes);
        if inside || is_quote(line) || line.trim_start().starts_with("```") && is_fence(line) {
            glyphs.push(Glyph {
                c: '\n',
                at,
                end: at + line.len(),
            });
        } else {
            read_line(line, at, &mut glyphs);
        }
        at += line.len();
    }
    glyphs
}

/// What of a message is too far from its start to be read.
#[must_use]
pub fn cut(text: &str) -> Option<Span> {
    let end = longest(text);
    (end < text.len()).then_some(end..text.len())
}

fn longest(text: &str) -> usize {
    let mut end = text.len().min(LONGEST);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    end
}

/// `> like this`; but `>12 V` is "more than".
fn is_quote(line: &str) -> bool {
    let Some(rest) = line.trim_start().strip_prefix('>') else {
        return false;
    };
    !rest.trim_start().starts_with(|c: char| c.is_ascii_digit())
}

/// A fence line holds nothing but the fence and a language.
fn is_fence(line: &str) -> bool {
    let rest = line.trim().trim_start_matches('`');
    rest.len() < 12 && rest.chars().all(char::is_alphanumeric)
}

fn read_line(line: &str, base: usize, glyphs: &mut Vec<Glyph>) {
    let mut struck = false;
    let last_stroke = line.rfind("~~").unwrap_or(0);
    let mut chars = line.char_indices().peekable();
    while let Some((offset, c)) = chars.next() {
        let doubled = chars.peek().is_some_and(|&(_, next)| next == c);
        if c == '~' && doubled {
            chars.next();
            let closes = last_stroke >= offset + 2;
            struck = !struck && closes;
            continue;
        }
        if struck {
            continue;
        }
        let span = (base + offset, base + offset + c.len_utf8());
        let digit = |c: char| c.is_ascii_digit();
        let mut within = || {
            let before = glyphs.last().is_some_and(|last| digit(last.c));
            before && chars.peek().is_some_and(|&(_, next)| digit(next))
        };
        if c == '|' && doubled {
            chars.next();
            push(glyphs, ' ', span);
        } else if c == '·' {
            // the British point of "3·2", elsewhere a bullet
            push(glyphs, if within() { '.' } else { ',' }, span);
        } else {
            read_char(c, span, glyphs);
        }
    }
}

fn push(glyphs: &mut Vec<Glyph>, c: char, (at, end): (usize, usize)) {
    glyphs.push(Glyph { c, at, end });
}

fn read_char(c: char, span: (usize, usize), glyphs: &mut Vec<Glyph>) {
    if c.is_ascii() {
        return push(glyphs, ascii(c), span);
    }
    if let Some(plain) = look_alike(c) {
        plain.chars().for_each(|plain| push(glyphs, plain, span));
    } else if !is_invisible(c) {
        for part in std::iter::once(c)
            .nfkd()
            .filter(|&part| !is_combining_mark(part))
        {
            let part = look_alike(part)
                .and_then(|text| text.chars().next())
                .unwrap_or(part);
            push(glyphs, part, span);
        }
    }
}

fn ascii(c: char) -> char {
    match c {
        '*' | '_' | '`' | '\\' | '\t' | '"' => ' ',
        '|' => ',',
        c if c.is_control() && c != '\n' => ' ',
        c => c,
    }
}

fn is_invisible(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// What a sign stands for in a rider's message.
fn look_alike(c: char) -> Option<&'static str> {
    Some(match c {
        '‘' | '’' | '‛' | '´' | '′' | 'ʼ' | '＇' => "'",
        '“' | '”' | '„' | '«' | '»' | '″' => " ",
        '‐' | '‑' | '‒' | '–' | '−' | '﹣' | '－' | '➖' => "-",
        '—' | '―' | '•' | '▪' | '→' | '➡' => ", ",
        '…' => "...",
        '，' | '、' => ",",
        '。' => ".",
        '½' => " 1/2 ",
        '¼' => " 1/4 ",
        '¾' => " 3/4 ",
        '⅓' => " 1/3 ",
        '⅔' => " 2/3 ",
        '⅛' => " 1/8 ",
        '⅜' => " 3/8 ",
        '⅝' => " 5/8 ",
        '⅞' => " 7/8 ",
        '∞' => " infinity ",
        '≈' | '∼' | '～' => "~",
        '≤' | '≦' => "<",
        '≥' | '≧' => ">",
        '×' | 'х' => "x",
        '÷' | '⁄' | '∕' => "/",
        'º' | '˚' => "°",
        '\u{2126}' | 'Ω' => "Ω",
        'µ' | 'μ' => "μ",
        '👍' | '✅' | '✔' | '☑' => " yes ",
        '👎' | '❌' | '✖' => " no ",
        'а' => "a",
        'в' => "b",
        'е' => "e",
        'к' => "k",
        'м' => "m",
        'о' => "o",
        'р' => "p",
        'с' => "c",
        'т' => "t",
        'у' => "y",
        'і' => "i",
        'А' => "A",
        'В' => "B",
        'Е' => "E",
        'К' => "K",
        'М' => "M",
        'О' => "O",
        'Р' => "P",
        'С' => "C",
        'Т' => "T",
        'Х' => "X",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::normalise;

    fn plain(text: &str) -> String {
        normalise(text).iter().map(|glyph| glyph.c).collect()
    }

    #[test]
    fn signs_become_what_they_mean() {
        let cases = [
            ("“12.4” volts", " 12.4  volts"),
            ("won’t", "won't"),
            ("12.4–12.6", "12.4-12.6"),
            ("3½", "3 1/2 "),
            ("４．７ kΩ", "4.7 kΩ"),
            ("4.7 k\u{2126}", "4.7 kΩ"),
            ("pet\u{200b}rol\u{200f}", "petrol"),
            ("**dead** `OL`", "  dead    OL "),
            ("||12 V||", " 12 V "),
            ("~~14~~ 1.4", " 1.4"),
            ("~12", "~12"),
            ("> you said 12 V\n13 V", "\n13 V"),
            (">12 V", ">12 V"),
            ("```\n12 V\n```", "\n12 V\n\n"),
            ("[quote=x]12 V[/quote]\n13", "\n13"),
            ("реtrоl", "petrol"),
            ("85 ℃", "85 °C"),
            ("ca\u{301}rb", "carb"),
        ];
        for (text, expected) in cases {
            let expected = expected.trim_end_matches('\n');
            assert_eq!(plain(text).trim_end_matches('\n'), expected, "{text}");
        }
    }

    #[test]
    fn every_character_knows_its_source() {
        let text = "é 3½ ok";
        for glyph in normalise(text) {
            assert!(text.get(glyph.at..glyph.end).is_some(), "{glyph:?}");
        }
    }
}
