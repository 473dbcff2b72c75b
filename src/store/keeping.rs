//! What is done over all conversations: settings, time, riders, forgetting, moderators' acts.

use super::check::{self, Verdict};
use super::engine::{Batch, Op, Tree};
use super::forget::{self, Erased};
use super::name::{ConversationId, Group, MessageId, Rider, Status};
use super::problem::StoreError;
use super::setting::{self, Setting};
use super::{Home, Ledger, Store, index};
use jiff::{SignedDuration, Timestamp};

/// Conversations read in one go.
const AT_ONCE: usize = 64;

impl Store {
    /// Where a conversation is held and by whom; none if it is not known.
    ///
    /// # Errors
    /// When it is damaged.
    pub async fn home(&self, conversation: ConversationId) -> Result<Option<Home>, StoreError> {
        self.owner
            .read(move |ledger| ledger.home(conversation))
            .await
    }

    /// All conversations, by id.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn all(&self) -> Result<Vec<ConversationId>, StoreError> {
        self.owner.read(|ledger| index::all(ledger.engine())).await
    }

    /// All conversations of a group.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn of_group(&self, group: Group) -> Result<Vec<ConversationId>, StoreError> {
        self.owner
            .read(move |ledger| index::of_group(ledger, &group))
            .await
    }

    /// All conversations of a rider.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn of_rider(&self, rider: Rider) -> Result<Vec<ConversationId>, StoreError> {
        self.owner
            .read(move |ledger| index::of_rider(ledger, &rider))
            .await
    }

    /// Conversations of a status whose last turn was at or before a moment, the longest silent
    /// first.
    ///
    /// # Errors
    /// When the index is damaged.
    pub async fn silent(
        &self,
        status: Status,
        since: Timestamp,
    ) -> Result<Vec<ConversationId>, StoreError> {
        let read = self
            .owner
            .read(move |ledger| index::with_status(ledger.engine(), status));
        let found = read.await?.into_iter();
        Ok(found
            .take_while(|(_, last)| *last <= since)
            .map(|(of, _)| of)
            .collect())
    }

    /// What a group allows.
    ///
    /// # Errors
    /// When the setting is damaged.
    pub async fn setting(&self, group: Group) -> Result<Setting, StoreError> {
        self.owner
            .read(move |ledger| setting::get(ledger, &group))
            .await
    }

    /// Sets what a group allows.
    ///
    /// # Errors
    /// When the medium fails.
    pub async fn set(&self, group: Group, setting: Setting) -> Result<(), StoreError> {
        self.owner
            .write(move |ledger| setting::set(ledger, &group, &setting))
            .await
    }

    /// Forgets everything of a rider: rows, and the keys that could open what is left of them. The
    /// message that asked for it is remembered by its pseudonym alone.
    ///
    /// # Errors
    /// When the medium fails.
    pub async fn forget(
        &self,
        rider: Rider,
        message: Option<MessageId>,
        at: Timestamp,
    ) -> Result<Erased, StoreError> {
        self.owner
            .write(move |ledger| forget::rider(ledger, &rider, message.as_ref(), at))
            .await
    }

    /// Forgets one conversation.
    ///
    /// # Errors
    /// When the medium fails.
    pub async fn forget_one(
        &self,
        conversation: ConversationId,
        at: Timestamp,
    ) -> Result<Erased, StoreError> {
        self.owner
            .write(move |ledger| forget::conversation(ledger, conversation, at))
            .await
    }

    /// Forgets what was kept as long as its group keeps conversations.
    ///
    /// # Errors
    /// When the medium fails.
    pub async fn sweep(&self, now: Timestamp) -> Result<Erased, StoreError> {
        self.owner.write(move |ledger| sweep(ledger, now)).await
    }

    /// Reads everything, and says what is wrong. Turns get in between.
    ///
    /// # Errors
    /// When even the index cannot be read.
    pub async fn verify(&self) -> Result<Verdict, StoreError> {
        let mut verdict = Verdict::default();
        for some in self.all().await?.chunks(AT_ONCE) {
            let some = some.to_vec();
            let read = self
                .owner
                .read(move |ledger| Ok(check::some(ledger, &some)));
            let found = read.await?;
            verdict.conversations += found.conversations;
            verdict.events += found.events;
            verdict.replies += found.replies;
            verdict.problems.extend(found.problems);
        }
        let beside = self.owner.read(check::beside).await?;
        verdict.problems.extend(beside);
        Ok(verdict)
    }

    /// What moderators decided about a matter, oldest first.
    ///
    /// # Errors
    /// When the medium is damaged.
    pub async fn acts(&self, matter: &str) -> Result<Vec<Vec<u8>>, StoreError> {
        let prefix = format!("act/{matter}/");
        self.owner.read(move |ledger| acts(ledger, &prefix)).await
    }

    /// Keeps what a moderator decided. Nothing decided before is changed by it.
    ///
    /// # Errors
    /// When the medium fails.
    pub async fn act(&self, matter: &str, act: Vec<u8>) -> Result<(), StoreError> {
        let prefix = format!("act/{matter}/");
        self.owner
            .write(move |ledger| {
                let number = acts(ledger, &prefix)?.len();
                let key = format!("{prefix}{number:08}").into_bytes();
                ledger
                    .apply(&Batch(vec![Op::Add(Tree::Meta, key, act)]))
                    .map(drop)
            })
            .await
    }
}

fn acts(ledger: &Ledger, prefix: &str) -> Result<Vec<Vec<u8>>, StoreError> {
    let mut found = Vec::new();
    ledger
        .engine()
        .scan(Tree::Meta, prefix.as_bytes(), &mut |_, value| {
            found.push(value.to_vec());
            Ok(())
        })?;
    Ok(found)
}

/// So many days before a moment.
fn before(now: Timestamp, days: u16) -> Timestamp {
    let span = SignedDuration::from_hours(24 * i64::from(days));
    now.checked_sub(span).unwrap_or(Timestamp::MIN)
}

fn sweep(ledger: &mut Ledger, now: Timestamp) -> Result<Erased, StoreError> {
    let soonest = before(now, setting::shortest(ledger)?);
    let mut erased = Erased::default();
    for status in Status::ALL {
        let found = index::with_status(ledger.engine(), status)?;
        for (of, last) in found.into_iter().take_while(|(_, last)| *last < soonest) {
            let Some(home) = ledger.home(of)? else {
                continue;
            };
            let days = setting::get(ledger, &home.address.group())?.retention_days;
            if last < before(now, days) {
                erased += forget::conversation(ledger, of, now)?;
            }
        }
    }
    Ok(erased)
}
