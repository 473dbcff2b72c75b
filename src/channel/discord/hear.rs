//! One thing a person did: whose thread it is in, and so what becomes of it.

use super::adopt::as_riders;
use super::bot::{Bot, Job, What, address, rider, stored, user};
use super::event::Message;
use super::pace::Urgency;
use super::{act, begin, layout, render, words};
use crate::conversation::event::Incoming;
use crate::desk::{self, Answer, Dialogue};
use crate::store::name::{Address, Rider};
use crate::store::problem::StoreError;
use serde_json::{Value, json};
use serenity::model::id::{ChannelId, UserId};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::{Instant, sleep};

/// After so long the thread shows that we are at work.
const LONG: Duration = Duration::from_millis(400);

/// Takes a job; what goes wrong is logged, and the person told where that can help.
pub async fn hear<D: Dialogue + 'static>(bot: Arc<Bot<D>>, job: Job) {
    match job.what {
        What::Acted(interaction) => act::act(&bot, *interaction, job.since).await,
        What::Said(message) => said(&bot, message, job.since, false).await,
        What::SaidBefore(message) => said(&bot, message, job.since, true).await,
    }
}

async fn said<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    message: Message,
    since: Instant,
    before: bool,
) {
    let Some(guild) = message.guild_id else {
        return;
    };
    let address = address(guild, message.channel_id);
    match bot.desk.owner(&address).await {
        Err(error) => bot.store_failed(error),
        Ok(None) => begin::on_message(bot, guild, message, since).await,
        Ok(Some(owner)) if owner == rider(message.author.id) => {
            by_rider(bot, address, message, since).await;
        }
        Ok(Some(owner)) if !before => by_bystander(bot, &address, &owner, &message).await,
        Ok(Some(_)) => {}
    }
}

/// The rider's own words are a turn, once they can be read.
async fn by_rider<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    address: Address,
    message: Message,
    since: Instant,
) {
    let text = without_mention(bot, &message.content);
    if text.is_empty() {
        let words = if message.attachments.is_empty() {
            words::CANNOT_READ
        } else {
            words::NO_PICTURES
        };
        // Once is enough: whoever is told at every message stops reading.
        if bot.hinted.put(message.channel_id.get(), ()).is_none() {
            notice(bot, message.channel_id, words).await;
        }
        return;
    }
    let turn = Turn {
        thread: message.channel_id,
        rider: message.author.id,
        id: message.id.get(),
        incoming: Incoming::Text(text),
        since,
    };
    if take(bot, address, turn).await.is_err() {
        notice(bot, message.channel_id, words::TRY_AGAIN).await;
    }
}

/// A turn to be taken.
pub struct Turn {
    /// In which thread.
    pub thread: ChannelId,
    /// Whose it is.
    pub rider: UserId,
    /// The id of the message or interaction.
    pub id: u64,
    /// What was said or picked.
    pub incoming: Incoming,
    /// When it came.
    pub since: Instant,
}

/// Takes a turn and puts what is to be said in line. A turn taken before says nothing twice.
///
/// # Errors
/// When the store fails; then it was not taken.
pub async fn take<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    address: Address,
    turn: Turn,
) -> Result<(), StoreError> {
    begin(bot, address, turn, None).await
}

/// As [`take`]; a first turn opens the conversation, with the sheet of a bike if one is named.
///
/// # Errors
/// As [`take`].
pub async fn begin<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    address: Address,
    turn: Turn,
    bike: Option<String>,
) -> Result<(), StoreError> {
    let terms = bot.terms(bike);
    let message = desk::Message {
        address,
        rider: Some(rider(turn.rider)),
        id: Some(stored(turn.id)),
        incoming: turn.incoming,
    };
    let taking = bot.desk.take(message, &terms);
    tokio::pin!(taking);
    let answer = tokio::select! {
        answer = &mut taking => answer,
        () = sleep(LONG) => {
            // Only a sign of life: whether it arrives does not matter.
            let _ = tokio::time::timeout(LONG, bot.rest.typing(turn.thread)).await;
            taking.await
        }
    };
    match answer {
        Ok(Answer::New(outgoing)) => {
            for outgoing in outgoing {
                bot.send(outgoing, turn.since);
            }
            Ok(())
        }
        Ok(Answer::Repeat(_)) => Ok(()),
        Err(error) => {
            let again = StoreError::Stopped;
            bot.store_failed(error);
            Err(again)
        }
    }
}

/// A bystander's words count only once the rider or a moderator takes them in, which is offered where
/// they would add something.
async fn by_bystander<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    address: &Address,
    owner: &Rider,
    message: &Message,
) {
    let tells = !message.content.is_empty()
        && bot
            .desk
            .would_tell(address, &as_riders(&message.content))
            .await
            .unwrap_or(false);
    let (true, Some(owner)) = (tells, user(owner)) else {
        return;
    };
    let thread = message.channel_id;
    let body = json!({
        "content": words::offer(owner.get()),
        "allowed_mentions": render::mentions(Some(owner)),
        "components": layout::adoption(message.id),
        "message_reference": {"message_id": message.id.to_string(), "fail_if_not_exists": false},
        "nonce": format!("offer.{:x}", message.id.get()),
        "enforce_nonce": true,
    });
    let posting = Arc::clone(bot);
    bot.running.spawn(async move {
        if let Ok(made) = posting.rest.post(thread, body, None, Urgency::Later).await {
            // One open offer a thread: a chatty thread is not flooded.
            if let Some(older) = posting.offers.put(thread.get(), made) {
                let _ = posting.rest.delete(thread, older).await;
            }
        }
    });
}

/// The text without a mention of us at its beginning or end.
#[must_use]
pub fn without_mention<D: Dialogue + 'static>(bot: &Bot<D>, text: &str) -> String {
    let Some(me) = bot.me() else {
        return text.trim().to_owned();
    };
    let mut text = text.trim();
    for mention in [format!("<@{}>", me.user), format!("<@!{}>", me.user)] {
        text = text.strip_prefix(&mention).unwrap_or(text).trim();
        text = text.strip_suffix(&mention).unwrap_or(text).trim();
    }
    text.to_owned()
}

/// Says something in a channel, beside everything else.
pub async fn notice<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, channel: ChannelId, text: &str) {
    let body: Value = json!({"content": text, "allowed_mentions": render::mentions(None)});
    let bot = Arc::clone(bot);
    bot.running.clone().spawn(async move {
        if let Err(refusal) = bot.rest.post(channel, body, None, Urgency::Now).await {
            tracing::info!(%channel, %refusal, "a notice cannot be posted");
        }
    });
}
