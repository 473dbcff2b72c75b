//! The rules of the house as a test: one sentence on line one, short files, one-way arrows, pure rooms, no spoken words in the reader.
//!
//! Every `src/**/*.rs` is read as text. All breaches are reported at once, each with its place.
//! Whole-line comments, and lines after the first `#[cfg(test)]` of a file, are exempt from the
//! arrows and from purity: prose may name anything, and a test may read a file.

use std::fs;
use std::path::{Path, PathBuf};

/// The longest a file may be.
const LONGEST: usize = 450;

/// Which rooms a room may import from, besides itself.
const ARROWS: [(&str, &[&str]); 14] = [
    ("quantity", &[]),
    ("knowledge", &["quantity"]),
    ("language", &["knowledge", "quantity"]),
    ("diagnosis", &["knowledge", "quantity"]),
    ("reply", &["knowledge", "quantity"]),
    (
        "conversation",
        &["language", "diagnosis", "reply", "knowledge", "quantity"],
    ),
    ("store", &["conversation", "reply", "knowledge", "quantity"]),
    ("desk", &["store", "conversation", "reply", "knowledge"]),
    (
        "review",
        &["store", "conversation", "reply", "knowledge", "quantity"],
    ),
    (
        // A reply asks for a kind of quantity; the terminal shows an example of one.
        "channel",
        &[
            "desk",
            "store",
            "conversation",
            "reply",
            "knowledge",
            "quantity",
        ],
    ),
    (
        "simulate",
        &[
            "conversation",
            "diagnosis",
            "reply",
            "knowledge",
            "quantity",
        ],
    ),
    ("book", &["conversation", "reply", "knowledge", "quantity"]),
    ("config", &[]),
    (
        "cli",
        &[
            "book",
            "channel",
            "config",
            "desk",
            "review",
            "store",
            "simulate",
            "conversation",
            "reply",
            "diagnosis",
            "language",
            "knowledge",
            "quantity",
        ],
    ),
];

/// Rooms without files, network, clock, chance, environment, output, or maps in random order.
const PURE: [&str; 7] = [
    "quantity",
    "knowledge",
    "language",
    "diagnosis",
    "conversation",
    "reply",
    "book",
];

/// Names that betray an impure line, wherever they stand as a whole word.
const IMPURE_WORDS: [&str; 12] = [
    "SystemTime",
    "Instant",
    "HashMap",
    "HashSet",
    "rand",
    "getrandom",
    "print!",
    "println!",
    "eprint!",
    "eprintln!",
    "dbg!",
    "thread_local",
];

/// Modules of `std` that a pure room has no use for.
const IMPURE_STD: [&str; 7] = ["fs", "net", "time", "env", "io", "process", "thread"];

/// The one pure room's file that reads files, and what it may use for that.
const LOADER: (&str, [&str; 2]) = ("knowledge/load.rs", ["fs", "io"]);

#[test]
fn the_house_keeps_its_rules() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let files = rust_files(&root);
    assert!(
        files.len() > 20,
        "only {} files below {}",
        files.len(),
        root.display()
    );
    let breaches: Vec<String> = files
        .iter()
        .flat_map(|file| {
            let text = fs::read_to_string(file).expect("a source file is text");
            let name = file.strip_prefix(&root).expect("below the root");
            check(&name.to_string_lossy().replace('\\', "/"), &text)
        })
        .collect();
    assert!(
        breaches.is_empty(),
        "{} breach(es):\n{}",
        breaches.len(),
        breaches.join("\n")
    );
}

/// Every `.rs` file below a folder, in order of name.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .expect("a folder of sources")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    entries.sort();
    let mut files = Vec::new();
    for path in entries {
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|end| end == "rs") {
            files.push(path);
        }
    }
    files
}

/// All breaches of one file, named by its path below `src/`.
fn check(name: &str, text: &str) -> Vec<String> {
    let mut breaches: Vec<String> = opening(name, text).into_iter().collect();
    breaches.extend(length(name, text));
    let code = code_of(text);
    for used in uses(&code, "crate") {
        breaches.extend(arrow(name, &used));
    }
    for used in climbs(name, &code) {
        breaches.extend(arrow(name, &used));
    }
    breaches.extend(impurities(name, &code));
    breaches.extend(spoken(name, &code));
    breaches
}

/// The first line is one whole `//!` sentence.
fn opening(name: &str, text: &str) -> Option<String> {
    let mut lines = text.lines();
    let first = lines.next().unwrap_or_default();
    let sentence = first.strip_prefix("//! ").unwrap_or_default();
    let goes_on = lines
        .next()
        .and_then(|line| line.strip_prefix("//! "))
        .is_some();
    let whole = sentence.ends_with(['.', '?', '!']) && sentence.len() > 10 && !goes_on;
    (!whole).then(|| {
        format!("{name}:1: the first line is to be one `//!` sentence that says what the file is")
    })
}

fn length(name: &str, text: &str) -> Option<String> {
    let lines = text.lines().count();
    (lines > LONGEST).then(|| {
        format!("{name}:{lines}: {lines} lines; at most {LONGEST}: split it into two ideas")
    })
}

/// The text up to the tests, whole-line comments blanked, so that places stay what they were.
fn code_of(text: &str) -> String {
    text.lines()
        .take_while(|line| line.trim() != "#[cfg(test)]")
        .map(|line| {
            if line.trim_start().starts_with("//") {
                ""
            } else {
                line
            }
        })
        .collect::<Vec<_>>()
        .join("\n")
}

/// A name imported from a root, with its line.
#[derive(Debug, PartialEq)]
struct Used {
    name: String,
    line: usize,
}

/// What follows `root::`, be it one name or a `{group}`, over several lines if need be.
fn uses(code: &str, root: &str) -> Vec<Used> {
    places(code, root)
        .filter_map(|at| {
            let rest = code[at + root.len()..].strip_prefix("::")?;
            Some(names(rest).into_iter().map(move |name| Used {
                name,
                line: line_of(code, at),
            }))
        })
        .flatten()
        .collect()
}

/// What is reached by climbing with `super::` all the way up to the root.
fn climbs(name: &str, code: &str) -> Vec<Used> {
    let depth = name.trim_end_matches(".rs").split('/').count();
    uses(code, &vec!["super"; depth].join("::"))
        .into_iter()
        .filter(|used| allowed(&used.name).is_some())
        .collect()
}

/// The first names after `::`: one, or each of a group.
fn names(rest: &str) -> Vec<String> {
    let Some(group) = rest.strip_prefix('{') else {
        return vec![leading_word(rest)];
    };
    let mut depth = 0;
    let mut names = vec![String::new()];
    for c in group.chars() {
        match c {
            '}' if depth == 0 => break,
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => names.push(String::new()),
            _ => {}
        }
        if let Some(name) = names.last_mut() {
            name.push(c);
        }
    }
    names
        .iter()
        .map(|name| leading_word(name.trim_start_matches([',', ' ', '\n'])))
        .filter(|name| !name.is_empty())
        .collect()
}

fn leading_word(text: &str) -> String {
    text.chars().take_while(|c| is_word(*c)).collect()
}

/// Where a word, or a path of words, stands whole.
fn places<'a>(code: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    code.match_indices(word).map(|(at, _)| at).filter(|at| {
        let before = code[..*at].chars().next_back();
        let after = code[*at + word.len()..].chars().next();
        !before.is_some_and(is_word) && !after.is_some_and(is_word)
    })
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn line_of(code: &str, at: usize) -> usize {
    code[..at].matches('\n').count() + 1
}

/// The room a file belongs to: `quantity` for `quantity.rs` and `quantity/band.rs`.
fn room(name: &str) -> &str {
    name.split('/')
        .next()
        .unwrap_or_default()
        .trim_end_matches(".rs")
}

fn allowed(room: &str) -> Option<&'static [&'static str]> {
    ARROWS
        .iter()
        .find(|(from, _)| *from == room)
        .map(|(_, to)| *to)
}

fn arrow(name: &str, used: &Used) -> Option<String> {
    let from = room(name);
    if matches!(from, "lib" | "main") || used.name == from {
        return None;
    }
    let line = used.line;
    let Some(to) = allowed(from) else {
        return Some(format!(
            "{name}:{line}: the room `{from}` has no arrows; add it to the table in tests/tidy.rs"
        ));
    };
    (!to.contains(&used.name.as_str())).then(|| {
        format!(
            "{name}:{line}: `{from}` may not import from `{}`",
            used.name
        )
    })
}

fn impurities(name: &str, code: &str) -> Vec<String> {
    if !PURE.contains(&room(name)) {
        return Vec::new();
    }
    let say = |line: usize, what: &str| {
        format!(
            "{name}:{line}: `{what}` in a pure room; hand it in as an argument, or do it in the desk"
        )
    };
    let words = IMPURE_WORDS
        .iter()
        .flat_map(|word| places(code, word).map(|at| say(line_of(code, at), word)));
    let std = uses(code, "std")
        .into_iter()
        .filter(|used| IMPURE_STD.contains(&used.name.as_str()))
        .filter(|used| !(name == LOADER.0 && LOADER.1.contains(&used.name.as_str())))
        .map(|used| say(used.line, &format!("std::{}", used.name)));
    words.chain(std).collect()
}

/// Words of a language that the reader of messages compares with: they belong into the phrase files, so
/// that another language is another folder. Single letters are signs of units.
fn spoken(name: &str, code: &str) -> Vec<String> {
    /// What stands before a word that something is compared with.
    const BEFORE: [&str; 4] = ["== ", "!= ", "Some(", "| "];
    if room(name) != "language" {
        return Vec::new();
    }
    let statement = |at: usize| code[at..].split([';', '{']).next().unwrap_or_default();
    let literals = |at: usize| {
        let pieces: Vec<&str> = statement(at).split('"').collect();
        let pairs = pieces.chunks_exact(2).map(|pair| (pair[0], pair[1]));
        let compared = pairs.filter(|(before, _)| BEFORE.iter().any(|end| before.ends_with(end)));
        let words = compared.map(|(_, word)| word.to_owned());
        words
            .filter(|word| word.len() > 1 && word.chars().all(char::is_alphabetic))
            .collect::<Vec<_>>()
    };
    places(code, "plain")
        .flat_map(|at| literals(at).into_iter().map(move |word| (at, word)))
        .map(|(at, word)| {
            let line = line_of(code, at);
            format!("{name}:{line}: `{word}` is a word of a language; name a class of it in knowledge/phrases")
        })
        .collect()
}

/// The checks find what they are there to find: each bad text gives exactly the breaches named.
mod proof {
    use super::check;

    const GOOD: &str = "//! What a thing is, in one sentence.\n";

    fn breaches(name: &str, body: &str) -> Vec<String> {
        check(name, &format!("{GOOD}\n{body}"))
    }

    fn one(name: &str, body: &str, expected: &str) {
        let found = breaches(name, body);
        assert_eq!(found.len(), 1, "{body}: {found:?}");
        assert!(
            found[0].starts_with(expected),
            "{} is not {expected}",
            found[0]
        );
    }

    #[test]
    fn a_tidy_file_has_no_breach() {
        let body = "use crate::quantity::Kind;\nuse std::collections::BTreeMap;\nfn operand() {}\n";
        assert_eq!(breaches("knowledge/part.rs", body), Vec::<String>::new());
    }

    #[test]
    fn a_first_line_that_is_no_sentence_is_found() {
        for text in [
            "",
            "use std::fmt;\n",
            "//! no end\n",
            "//! It goes on and.\n//! on.\n",
        ] {
            let found = check("quantity/x.rs", text);
            assert_eq!(found.len(), 1, "{text:?}: {found:?}");
            assert!(found[0].starts_with("quantity/x.rs:1: the first line"));
        }
    }

    #[test]
    fn a_file_of_one_line_too_many_is_found() {
        assert!(breaches("quantity/x.rs", &"\n".repeat(448)).is_empty());
        one("quantity/x.rs", &"\n".repeat(449), "quantity/x.rs:451: 451");
    }

    #[test]
    fn an_arrow_against_the_line_is_found_however_it_is_written() {
        let expected = "quantity/x.rs:3: `quantity` may not import from `knowledge`";
        for body in [
            "use crate::knowledge::Part;",
            "use crate::{quantity::Kind, knowledge::{Part, Fault}};",
            "use crate::{\n    quantity::Kind,\n    knowledge::Part,\n};",
            "use super::super::knowledge::Part;",
            "fn f() -> crate::knowledge::Part { part() }",
        ] {
            one("quantity/x.rs", body, expected);
        }
        one(
            "language.rs",
            "use super::reply::Reply;",
            "language.rs:3: `language` may not import from `reply`",
        );
        one(
            "attic.rs",
            "use crate::reply::Reply;",
            "attic.rs:3: the room `attic` has no arrows",
        );
    }

    #[test]
    fn every_impurity_is_found_however_it_is_written() {
        for (body, what) in [
            ("use std::fs;", "`std::fs`"),
            ("use std::{fmt, net::TcpStream};", "`std::net`"),
            (
                "let now = std::time::Duration::from_secs(1);",
                "`std::time`",
            ),
            ("let x = SystemTime::now();", "`SystemTime`"),
            ("use std::collections::HashSet;", "`HashSet`"),
            ("use std::collections::{BTreeMap, HashMap};", "`HashMap`"),
            ("let x = rand::random();", "`rand`"),
            ("println!(\"{x}\");", "`println!`"),
            ("std::env::var(\"HOME\");", "`std::env`"),
            ("use std::io::Read;", "`std::io`"),
        ] {
            one("reply/x.rs", body, &format!("reply/x.rs:3: {what}"));
            assert!(breaches("store/x.rs", body).is_empty(), "{body}");
        }
    }

    #[test]
    fn only_the_loader_reads_files() {
        let body = "use std::fs;\n";
        assert!(breaches("knowledge/load.rs", body).is_empty());
        one(
            "knowledge/check.rs",
            body,
            "knowledge/check.rs:3: `std::fs`",
        );
        one(
            "knowledge/load.rs",
            "use std::net::TcpStream;",
            "knowledge/load.rs:3: `std::net`",
        );
    }

    #[test]
    fn comments_and_tests_are_exempt_and_code_before_them_is_not() {
        assert!(breaches("reply.rs", "// see std::fs and crate::desk\n").is_empty());
        assert!(breaches("reply.rs", "#[cfg(test)]\nmod tests { use std::fs; }\n").is_empty());
        one(
            "reply.rs",
            "use std::fs;\n#[cfg(test)]\nmod tests { use std::fs; }\n",
            "reply.rs:3: `std::fs`",
        );
    }

    #[test]
    fn a_word_of_a_language_in_the_code_is_found() {
        for body in [
            "let of = self.plain(at) == \"of\";\n",
            "let his = token.plain() == Some(\"his\");\n",
        ] {
            one("language/part.rs", body, "language/part.rs:3: `");
            assert!(breaches("reply.rs", body).is_empty());
        }
        let body = "matches!(self.plain(at), \"to\" | \"till\" | \"k\");\n";
        one("language/part.rs", body, "language/part.rs:3: `till`");
        let body = "let k = self.plain(at) == \"k\" || self.in_class(at, \"units\");\n";
        assert_eq!(breaches("language/part.rs", body), Vec::<String>::new());
    }
}
