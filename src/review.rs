//! What volunteers do: read conversations, correct and confirm them, keep cases, replay, learn.
//!
//! - [`transcript`]: a conversation to be read, with what was understood beside every message.
//! - [`page`]: the same as Markdown.
//! - [`queue`]: which conversations deserve a look, and which may be read at all.
//! - [`came`]: what came of a turn, in a form that can be compared.
//! - [`case`](mod@case): a reviewed conversation kept as a test.
//! - [`replay`]: conversations said again under the knowledge as it is now.
//! - [`learning`]: priors from confirmed outcomes, by counting.
//!
//! Deliberately absent: any change to a conversation. What volunteers say is added to it as a note.

pub mod came;
pub mod case;
pub mod learning;
pub mod page;
pub mod queue;
pub mod replay;
pub mod transcript;
