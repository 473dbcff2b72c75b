//! Text made harmless for Discord's markdown, and cut at sentences to fit a message.

/// The longest message.
///
/// Source: Discord developer documentation, Message, Create Message.
pub const LONGEST: usize = 2000;

/// An invisible mark that keeps letters from being taken together.
const APART: char = '\u{200b}';

/// The text with everything that Discord would take as a mark, a mention, a link or an emoji made
/// plain.
#[must_use]
pub fn plain(text: &str) -> String {
    let mut safe = String::with_capacity(text.len() + 8);
    for (number, line) in text.lines().enumerate() {
        if number > 0 {
            safe.push('\n');
        }
        escape_line(line, &mut safe);
    }
    safe
}

fn escape_line(line: &str, safe: &mut String) {
    let line = line.trim_start_matches(|c: char| c.is_control());
    if starts_block(line) {
        safe.push('\\');
    }
    let mut before = ' ';
    for c in line.chars() {
        match c {
            '\\' | '*' | '_' | '~' | '`' | '|' | '<' | '[' | ']' => {
                safe.push('\\');
                safe.push(c);
            }
            '@' => safe.extend(['@', APART]),
            '/' if before == ':' => safe.extend([APART, '/']),
            c if c.is_control() => {}
            c => safe.push(c),
        }
        before = c;
    }
}

/// Whether Discord would take the line as a heading, a quotation or a list.
fn starts_block(line: &str) -> bool {
    line.trim_start().starts_with(['#', '>', '-', '+'])
}

/// Length as Discord counts it, taken on the safe side: in UTF-16 units.
#[must_use]
pub fn length(text: &str) -> usize {
    text.encode_utf16().count()
}

/// Blocks joined with empty lines into as few messages as will hold them; a block that is too long
/// is cut at the end of a sentence, else between words, else anywhere.
#[must_use]
pub fn pages(blocks: &[String]) -> Vec<String> {
    let mut pages: Vec<String> = Vec::new();
    for block in blocks.iter().flat_map(|block| cut(block)) {
        match pages.last_mut() {
            Some(page) if length(page) + 2 + length(&block) <= LONGEST => {
                page.push_str("\n\n");
                page.push_str(&block);
            }
            _ => pages.push(block),
        }
    }
    pages
}

fn cut(block: &str) -> Vec<String> {
    let mut parts = Vec::new();
    let mut rest = block.trim();
    while length(rest) > LONGEST {
        let (part, after) = rest.split_at(cut_at(rest));
        parts.push(part.trim_end().to_owned());
        rest = after.trim_start();
    }
    if !rest.is_empty() {
        parts.push(rest.to_owned());
    }
    parts
}

/// Where to cut, in bytes: as late as fits, at the best kind of place there is.
fn cut_at(text: &str) -> usize {
    let mut units = 0;
    let mut end = 0;
    for (at, c) in text.char_indices() {
        units += c.len_utf16();
        if units > LONGEST {
            break;
        }
        end = at + c.len_utf8();
    }
    let head = &text[..end];
    let sentence = head.rmatch_indices(['.', '?', '!', '\n']).find(|(at, _)| {
        let after = &text[at + 1..];
        after.is_empty() || after.starts_with(char::is_whitespace)
    });
    let word = head.rfind(char::is_whitespace);
    match (sentence, word) {
        (Some((at, _)), _) if at > 0 => at + 1,
        (_, Some(at)) if at > 0 => at,
        _ => whole_escape(head),
    }
}

/// The end of a text, but not between a backslash and what it makes plain.
fn whole_escape(head: &str) -> usize {
    let backslashes = head.chars().rev().take_while(|c| *c == '\\').count();
    head.len() - backslashes % 2
}

/// The text cut to a number of characters, with an ellipsis where something is left out.
#[must_use]
pub fn short(text: &str, most: usize) -> String {
    if length(text) <= most {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut units = 1;
    for c in text.chars() {
        units += c.len_utf16();
        if units > most {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    #[case("12.4 V at rest", "12.4 V at rest")]
    #[case("**shout**", r"\*\*shout\*\*")]
    #[case("@everyone", "@\u{200b}everyone")]
    #[case("<@123>", "\\<@\u{200b}123>")]
    #[case("# title", r"\# title")]
    #[case("> quoted", r"\> quoted")]
    #[case("-# small", r"\-# small")]
    #[case("[free](https://x)", "\\[free\\](https:\u{200b}//x)")]
    #[case("||hidden||", r"\|\|hidden\|\|")]
    #[case("a\u{7}b", "ab")]
    #[case("one\ntwo", "one\ntwo")]
    fn marks_become_plain(#[case] text: &str, #[case] expected: &str) {
        assert_eq!(plain(text), expected);
    }

    #[test]
    fn a_long_text_is_cut_at_sentences() {
        let sentence = "The bowl drains into a clear jar and you look at it. ";
        let pages = pages(&[sentence.repeat(90)]);
        assert!(pages.len() > 1);
        for page in &pages {
            assert!(length(page) <= LONGEST);
            assert!(page.ends_with("look at it."), "{page}");
        }
    }

    proptest! {
        #[test]
        fn pages_fit_and_lose_nothing(blocks in prop::collection::vec("[a-z.😀\\\\ ]{0,3000}", 0..4)) {
            let pages = pages(&blocks);
            for page in &pages {
                prop_assert!(length(page) <= LONGEST);
                prop_assert!(!page.is_empty());
            }
            let bare = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert_eq!(bare(&pages.concat()), bare(&blocks.concat()));
        }

        #[test]
        fn nothing_written_can_mention(text in "\\PC{0,200}") {
            let safe = plain(&text);
            prop_assert!(!safe.contains("@everyone") && !safe.contains("@here"));
            let mut before = None;
            for c in safe.chars() {
                if c == '<' {
                    prop_assert_eq!(before, Some('\\'));
                }
                before = Some(c);
            }
        }

        #[test]
        fn short_is_short(text in "\\PC{0,200}", most in 1_usize..90) {
            prop_assert!(length(&short(&text, most)) <= most);
        }
    }
}
