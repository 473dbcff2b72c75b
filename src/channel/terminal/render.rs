//! A reply as text for a terminal: dangers framed and first, cautions marked, the instruction bold.
//!
//! Nothing relies on colour or weight: each block also has its own words or margin, so that it
//! reads the same with `NO_COLOR`, through a pipe, or read aloud.

use super::offer::{Awaits, Item, Offer};
use super::words;
use crate::desk::asks_consent;
use crate::reply::{Line, Phase, Reply};
use anstyle::{AnsiColor, Style};
use textwrap::core::display_width;
use textwrap::{Options, wrap};

/// Narrower than this, text is left to the terminal to break.
const NARROWEST: usize = 24;
/// Lines longer than this are hard to read.
const WIDEST: usize = 88;

/// Whether text carries weight and colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Letters only.
    Plain,
    /// With escape sequences for bold and colour.
    Rich,
}

/// How text is set: wide, and in which look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Page {
    /// Columns.
    pub width: usize,
    /// Look.
    pub look: Look,
}

/// A reply with everything that can be picked and how, ending in a line break.
#[must_use]
pub fn render(reply: &Reply, page: Page) -> String {
    asking(reply, lines(&reply.lines, page), page)
}

/// A reply whose lines have just been shown: only its last question and what can be picked.
#[must_use]
pub fn render_again(reply: &Reply, page: Page) -> String {
    let asks = |line: &&Line| matches!(line, Line::Question(_) | Line::Instruction(_));
    let last = reply.lines.iter().rev().find(asks);
    asking(
        reply,
        last.map(|line| page.line(line)).into_iter().collect(),
        page,
    )
}

fn asking(reply: &Reply, mut blocks: Vec<String>, page: Page) -> String {
    let offer = Offer::of(reply);
    if reply.phase != Phase::Closed || asks_consent(reply) {
        blocks.extend(offered(&offer, page));
        blocks.push(hint(&offer, page));
    }
    join(&blocks)
}

/// The lines of a reply without what can be picked, ending in a line break.
#[must_use]
pub fn render_lines(reply: &Reply, page: Page) -> String {
    join(&lines(&reply.lines, page))
}

/// What can be picked, one block a group.
#[must_use]
pub fn offered(offer: &Offer, page: Page) -> Vec<String> {
    let show = |group: &Vec<Item>| {
        let items = group
            .iter()
            .map(|item| page.hang(&format!("  [{}] ", item.mark), &item.words));
        items.collect::<Vec<_>>().join("\n")
    };
    offer.groups.iter().map(show).collect()
}

/// How to answer.
fn hint(offer: &Offer, page: Page) -> String {
    let picks = !offer.groups.is_empty();
    let words = match offer.awaits {
        Awaits::Words if picks => words::PICK.to_owned(),
        Awaits::Words => words::SAY.to_owned(),
        Awaits::Reading(kind) => words::reading(kind, picks),
    };
    page.hang("", &format!("({words})"))
}

/// Blocks with an empty line between them, ending in a line break.
#[must_use]
pub fn join(blocks: &[String]) -> String {
    let mut text = blocks.join("\n\n");
    text.push('\n');
    text
}

/// The blocks of a reply: all dangers first, neighbours of a kind together.
fn lines(lines: &[Line], page: Page) -> Vec<String> {
    let danger = |line: &&Line| matches!(line, Line::Danger(_));
    let dangers: Vec<&str> = lines.iter().filter_map(danger_text).collect();
    let mut blocks = Vec::new();
    if !dangers.is_empty() {
        blocks.push(page.frame(words::DANGER, &dangers));
    }
    let rest: Vec<&Line> = lines.iter().filter(|line| !danger(line)).collect();
    for run in rest.chunk_by(|a, b| both_cautions(a, b) || both_receipts(a, b)) {
        match run {
            [Line::Caution(_), ..] => {
                let texts: Vec<&str> = run.iter().filter_map(|line| caution_text(line)).collect();
                blocks.push(page.cautions(&texts));
            }
            [Line::Receipt(_), _, ..] => {
                let texts: Vec<&str> = run.iter().filter_map(|line| receipt_text(line)).collect();
                blocks.push(page.receipts(&texts));
            }
            run => blocks.extend(run.iter().map(|line| page.line(line))),
        }
    }
    blocks
}

fn receipt_text(line: &Line) -> Option<&str> {
    match line {
        Line::Receipt(text) => Some(text),
        _ => None,
    }
}

fn both_receipts(a: &Line, b: &Line) -> bool {
    receipt_text(a).is_some() && receipt_text(b).is_some()
}

fn danger_text(line: &Line) -> Option<&str> {
    match line {
        Line::Danger(text) => Some(text),
        _ => None,
    }
}

fn caution_text(line: &Line) -> Option<&str> {
    match line {
        Line::Caution(text) => Some(text),
        _ => None,
    }
}

fn both_cautions(a: &Line, b: &Line) -> bool {
    caution_text(a).is_some() && caution_text(b).is_some()
}

impl Page {
    /// A page for a terminal of so many columns.
    #[must_use]
    pub fn new(columns: usize, look: Look) -> Self {
        Self {
            width: columns.clamp(NARROWEST, WIDEST),
            look,
        }
    }

    /// Wrapped text, the first line after `first`, the others under its text.
    #[must_use]
    pub fn hang(self, first: &str, text: &str) -> String {
        let later = " ".repeat(display_width(first));
        self.margin(first, &later, text)
    }

    /// Wrapped text with a margin.
    fn margin(self, first: &str, later: &str, text: &str) -> String {
        let options = Options::new(self.width)
            .initial_indent(first)
            .subsequent_indent(later);
        wrap(&printable(text), options).join("\n")
    }

    /// Styled line by line, so that nothing leaks into the next line.
    fn styled(self, style: Style, text: &str) -> String {
        if self.look == Look::Plain {
            return text.to_owned();
        }
        let lines = text.lines().map(|line| format!("{style}{line}{style:#}"));
        lines.collect::<Vec<_>>().join("\n")
    }

    fn line(self, line: &Line) -> String {
        match line {
            Line::Danger(text) => self.frame(words::DANGER, &[text]),
            Line::Caution(text) => self.cautions(&[text]),
            Line::Judgement(text) => self.margin("  = ", "    ", text),
            Line::Receipt(text) => self.receipt(text),
            Line::Plain(text) => self.hang("", text),
            Line::Instruction(text) => self.styled(bold(), &self.hang("=> ", text)),
            Line::Steps(texts) => self.steps(texts),
            Line::Question(text) => self.styled(bold(), &self.hang("", text)),
        }
    }

    fn steps(self, texts: &[String]) -> String {
        let numbered = (1..).zip(texts);
        let steps = numbered.map(|(n, text)| self.hang(&format!("{:>5} ", format!("{n}.")), text));
        steps.collect::<Vec<_>>().join("\n")
    }

    /// What was understood, in words that show that it is an echo.
    fn receipt(self, text: &str) -> String {
        self.margin(&format!("{} ", words::UNDERSTOOD), "  ", text)
    }

    fn receipts(self, texts: &[&str]) -> String {
        let items = texts.iter().map(|text| self.margin("  - ", "    ", text));
        let head = std::iter::once(words::UNDERSTOOD.to_owned());
        head.chain(items).collect::<Vec<_>>().join("\n")
    }

    fn cautions(self, texts: &[&str]) -> String {
        let mut block = vec![format!("!! {}", words::CAUTION)];
        let items = texts.iter().map(|text| self.margin("!! - ", "!!   ", text));
        block.extend(items);
        let style = bold().fg_color(Some(AnsiColor::Yellow.into()));
        self.styled(style, &block.join("\n"))
    }

    fn frame(self, title: &str, texts: &[&str]) -> String {
        let inner = self.width - 4;
        let head = format!("== {title} ");
        let fill = (inner + 2).saturating_sub(display_width(&head));
        let mut block = vec![format!("+{head}{}+", "=".repeat(fill))];
        for text in texts {
            for line in wrap(&printable(text), inner) {
                let pad = " ".repeat(inner - display_width(&line));
                block.push(format!("| {line}{pad} |"));
            }
        }
        block.push(format!("+{}+", "=".repeat(inner + 2)));
        let style = bold().fg_color(Some(AnsiColor::Red.into()));
        self.styled(style, &block.join("\n"))
    }
}

fn bold() -> Style {
    Style::new().bold()
}

/// The text without control characters: what a rider pastes must not steer the terminal.
fn printable(text: &str) -> String {
    let keep = |c: char| if c == '\t' { ' ' } else { c };
    let text = text.chars().map(keep);
    text.filter(|c| *c == '\n' || !c.is_control()).collect()
}
