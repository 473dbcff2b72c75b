//! Where the rider's lines come from: the keyboard, a pipe, or a script.

use super::TerminalError;
use rustyline::error::ReadlineError;
use rustyline::history::MemHistory;
use rustyline::{Config, Editor};
use std::io::BufRead;

/// What the rider types after.
pub const PROMPT: &str = "> ";

/// What came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// A line as typed.
    Line(String),
    /// A pick by position or id, from a script.
    Pick(Pick),
    /// The rider is leaving.
    Leaving,
}

/// A pick that must be on offer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pick {
    /// The position, from 1.
    Nth(usize),
    /// The id.
    Id(String),
}

/// A source of lines.
pub trait Input {
    /// The next line, waited for.
    ///
    /// # Errors
    /// When the source fails; its end is no error.
    fn next(&mut self) -> Result<Said, TerminalError>;

    /// Where the source stands, to name in an error.
    fn place(&self) -> String {
        "the input".to_owned()
    }

    /// Whether lines taken are to be printed, since nobody typed them on the screen.
    fn echoed(&self) -> bool {
        false
    }

    /// Whether a person is there to be told goodbye.
    fn attended(&self) -> bool {
        false
    }
}

/// The keyboard, with editing, and a history that is gone with the sitting: what a person typed is
/// kept in the store alone, where it can be forgotten.
pub struct Keyboard {
    editor: Editor<(), MemHistory>,
}

impl Keyboard {
    /// A keyboard.
    ///
    /// # Errors
    /// When the terminal cannot be set up.
    pub fn new() -> Result<Self, TerminalError> {
        let config = Config::builder()
            .auto_add_history(true)
            .max_history_size(500)?
            .build();
        let history = MemHistory::with_config(&config);
        Ok(Self {
            editor: Editor::with_history(config, history)?,
        })
    }
}

impl Input for Keyboard {
    fn next(&mut self) -> Result<Said, TerminalError> {
        match self.editor.readline(PROMPT) {
            Ok(line) => Ok(Said::Line(line)),
            Err(ReadlineError::Interrupted | ReadlineError::Eof) => Ok(Said::Leaving),
            Err(error) => Err(error.into()),
        }
    }

    fn attended(&self) -> bool {
        true
    }
}

/// Lines from another program or a file.
pub struct Pipe<R>(pub R);

impl<R: BufRead> Input for Pipe<R> {
    fn next(&mut self) -> Result<Said, TerminalError> {
        let mut line = Vec::new();
        if self.0.read_until(b'\n', &mut line)? == 0 {
            return Ok(Said::Leaving);
        }
        Ok(Said::Line(String::from_utf8_lossy(&line).into_owned()))
    }
}

/// What a rider says in a script.
///
/// A line that starts with `> ` is typed; `> #2` picks the second choice shown, `> !id` the choice
/// of that id. All other lines are passed over, so that a transcript is a script as well.
pub struct Script<'a> {
    lines: Vec<(usize, &'a str)>,
    taken: usize,
}

impl<'a> Script<'a> {
    /// Reads a script.
    #[must_use]
    pub fn new(text: &'a str) -> Self {
        let numbered = (1..).zip(text.lines());
        let typed = numbered.filter_map(|(n, line)| Some((n, line.strip_prefix(PROMPT)?)));
        Self {
            lines: typed.collect(),
            taken: 0,
        }
    }
}

impl Input for Script<'_> {
    fn next(&mut self) -> Result<Said, TerminalError> {
        let Some((_, line)) = self.lines.get(self.taken) else {
            return Ok(Said::Leaving);
        };
        self.taken += 1;
        let line = line.trim();
        if let Some(id) = line.strip_prefix('!') {
            return Ok(Said::Pick(Pick::Id(id.to_owned())));
        }
        match line.strip_prefix('#').map(str::parse) {
            Some(Ok(position)) => Ok(Said::Pick(Pick::Nth(position))),
            _ => Ok(Said::Line(line.to_owned())),
        }
    }

    fn place(&self) -> String {
        let current = self.taken.checked_sub(1).and_then(|n| self.lines.get(n));
        current.map_or("the script".to_owned(), |(n, _)| {
            format!("line {n} of the script")
        })
    }

    fn echoed(&self) -> bool {
        true
    }
}
