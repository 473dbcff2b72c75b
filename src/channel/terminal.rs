//! The terminal: a chat on a screen, through a pipe, or from a script, all by the same door.
//!
//! - [`render`]: a reply as text.
//! - [`offer`]: what can be picked, and what typing means.
//! - [`input`]: keyboard, pipe and script.
//!
//! Deliberately absent: anything about diagnosis. The terminal shows what the desk hands it.

pub mod input;
pub mod offer;
pub mod render;
mod session;
mod words;

use crate::conversation::event::Terms;
use crate::desk::{Desk, Dialogue};
use crate::store::name::Address;
use crate::store::problem::StoreError;
use input::{Keyboard, Pipe, Script};
use render::{Look, Page};
use rustyline::error::ReadlineError;
use session::Session;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

/// Columns where there is no terminal to ask.
const UNKNOWN_WIDTH: usize = 80;

/// What a chat in the terminal needs to know beside the desk.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Under which terms a conversation is opened.
    pub terms: Terms,
    /// Where conversations are kept; none if they are not.
    pub folder: Option<PathBuf>,
}

/// Why a chat in the terminal came to an early end.
#[derive(Debug, thiserror::Error)]
pub enum TerminalError {
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Reading or writing failed.
    #[error("the terminal failed: {0}")]
    Io(#[from] io::Error),
    /// The keyboard failed.
    #[error("the keyboard cannot be read: {0}")]
    Keyboard(#[from] ReadlineError),
    /// A script asks for something that is not there.
    #[error("{place}: {what}")]
    Script {
        /// Where in the script.
        place: String,
        /// What is wrong.
        what: String,
    },
}

impl TerminalError {
    /// Whether the reader of our output has gone away, which is a way to say goodbye.
    #[must_use]
    pub fn is_closed_output(&self) -> bool {
        matches!(self, Self::Io(error) if error.kind() == io::ErrorKind::BrokenPipe)
    }
}

/// The one place where conversations of the terminal are held.
#[must_use]
pub fn address() -> Address {
    Address::new("terminal")
}

/// Chats with whoever is at standard input until the conversation ends or they leave.
///
/// Must not be called from within an asynchronous runtime: it has one of its own.
///
/// # Errors
/// When the store or the terminal fails.
pub fn run<D: Dialogue>(desk: &Desk<D>, setting: &Setting) -> Result<(), TerminalError> {
    let out = anstream::stdout();
    let seen = out.is_terminal();
    let page = move || {
        let columns = if seen {
            textwrap::termwidth()
        } else {
            UNKNOWN_WIDTH
        };
        Page::new(columns, Look::Rich)
    };
    let result = if seen && io::stdin().is_terminal() {
        let keyboard = Keyboard::new()?;
        Session::new(desk, setting, keyboard, out, Box::new(page))?.hold()
    } else {
        let pipe = Pipe(io::stdin().lock());
        Session::new(desk, setting, pipe, out, Box::new(page))?.hold()
    };
    match result {
        Err(error) if error.is_closed_output() => Ok(()),
        other => other,
    }
}

/// Plays a script and writes the transcript, which is a script again.
///
/// Must not be called from within an asynchronous runtime: it has one of its own.
///
/// # Errors
/// When the store fails, `out` fails, or the script picks what is not on offer.
pub fn play<D: Dialogue>(
    desk: &Desk<D>,
    setting: &Setting,
    script: &str,
    out: impl Write,
) -> Result<(), TerminalError> {
    let page = || Page::new(UNKNOWN_WIDTH, Look::Plain);
    Session::new(desk, setting, Script::new(script), out, Box::new(page))?.hold()
}
