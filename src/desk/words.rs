//! The sentences the desk says itself; all others come with the reply.

use crate::store::forget::Erased;

/// Before what is on the table, after a long silence.
pub const NUDGE: &str = "We have not heard from you for some days. Whenever it suits you, we go on \
from here; if the bike runs again, a word about what it was helps the next rider.";
/// Before the summary, when a conversation is closed for silence.
pub const REST: &str = "I am closing this for now, since it has been quiet for two weeks. Write \
again at any time, and we go on from here.";
/// Asked once, at the end.
pub const CONSENT: &str = "May volunteers read this conversation, to make the answers better for \
others? Without a yes they may not.";
/// The choice to allow it.
pub const CONSENT_YES: &str = "Yes, they may read it";
/// The choice not to.
pub const CONSENT_NO: &str = "No";
/// When it was allowed.
pub const SHARED: &str = "Thank you: volunteers may read this conversation. Say \"forget me\" at any \
time, and it is erased.";
/// When it was not.
pub const NOT_SHARED: &str = "It stays closed to volunteers.";
/// When there is nothing to erase.
pub const NOTHING_KEPT: &str = "Nothing of yours is kept here.";

/// What was erased.
#[must_use]
pub fn erased(erased: &Erased) -> String {
    if erased.messages == 0 {
        return NOTHING_KEPT.to_owned();
    }
    let count = |number: usize, one: &str, many: &str| match number {
        1 => format!("1 {one}"),
        number => format!("{number} {many}"),
    };
    format!(
        "Erased: {}, with {} of yours, {} and {} taken from them, and where you wrote from. The key \
         they were sealed with is destroyed, so nobody can read them any more, and no backup made \
         from now on holds them. Backups made before do until whoever runs this throws them away.",
        count(erased.conversations, "conversation", "conversations"),
        count(erased.messages, "message", "messages"),
        count(erased.findings, "reading or result", "readings and results"),
        count(erased.replies, "answer", "answers"),
    )
}
