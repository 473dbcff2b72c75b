//! Erasing everything of a person who asks for it, and saying what was erased.

use super::{Desk, Dialogue, Message, words};
use crate::reply::{Line, Next, NextKind, Phase, Reply};
use crate::store::Outgoing;
use crate::store::forget::Erased;
use crate::store::name::{ConversationId, Rider};
use crate::store::problem::StoreError;

impl<D: Dialogue> Desk<D> {
    /// Erases everything of a rider at once.
    ///
    /// # Errors
    /// When the store fails; then it must be asked for again.
    pub async fn forget(&self, rider: Rider) -> Result<Erased, StoreError> {
        self.store.forget(rider, None, (self.given.clock)()).await
    }

    /// Answers the message that asked for it. The answer itself is not kept either.
    pub(super) async fn part(
        &self,
        conversation: ConversationId,
        message: Message,
        reply: &Reply,
    ) -> Result<Outgoing, StoreError> {
        let at = (self.given.clock)();
        // Whoever opened the conversation is forgotten, by whatever name they write now.
        let home = self.store.home(conversation).await?;
        let rider = home.map_or_else(|| Rider::new(message.address.as_str()), |home| home.rider);
        let erased = self.store.forget(rider, message.id, at).await?;
        Ok(Outgoing {
            conversation,
            address: message.address,
            turn: reply.turn,
            at,
            reply: last_words(reply, &erased),
        })
    }
}

/// What is said at last; a danger reported in the same message comes first.
fn last_words(reply: &Reply, erased: &Erased) -> Reply {
    let dangers = reply.lines.iter().filter(|l| matches!(l, Line::Danger(_)));
    let mut lines: Vec<Line> = dangers.cloned().collect();
    lines.push(Line::Plain(words::erased(erased)));
    Reply {
        turn: reply.turn,
        phase: Phase::Closed,
        lines,
        asks: Vec::new(),
        choices: Vec::new(),
        cautions: Vec::new(),
        hazards: reply.hazards.clone(),
        judgements: Vec::new(),
        suspects: Vec::new(),
        ruled_out: Vec::new(),
        conflict: None,
        step: Next {
            kind: NextKind::Stop,
            id: None,
        },
        minutes_spent: 0.0,
        minutes_left: 0.0,
    }
}
