//! Sending replies: in order, once each, through refusals and outages; never inside a turn.

use super::bot::{Bot, Errand, Letter, user, whereabouts};
use super::pace::Urgency;
use super::rest::{Picture, Refusal};
use super::{picture, render, words};
use crate::desk::Dialogue;
use crate::store::Outgoing;
use serde_json::{Value, json};
use serenity::model::id::{ChannelId, GuildId, UserId};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::{Instant, sleep};

/// The first wait before a second try; each later one waits twice as long.
const FIRST_WAIT: Duration = Duration::from_millis(500);
/// The longest wait.
const LONGEST_WAIT: Duration = Duration::from_secs(60);
/// How long we leave a channel alone where we are forbidden to write: forbidden calls count against
/// us, ten thousand in ten minutes block the address.
///
/// Source: Discord developer documentation, Rate Limits, Invalid Request Limit.
const LEAVE_ALONE: Duration = Duration::from_secs(600);

/// How a message fared.
enum Fate {
    Sent,
    /// It can never be sent.
    Lost,
    /// Not now; it stays in the outbox.
    Kept,
}

/// Sends a letter, takes it out of the outbox, and has the thread brought up to it.
pub async fn deliver<D: Dialogue + 'static>(bot: Arc<Bot<D>>, letter: Letter) {
    let outgoing = &letter.outgoing;
    let Some((guild, thread)) = whereabouts(&outgoing.address) else {
        return;
    };
    let fate = send(&bot, guild, thread, outgoing).await;
    if matches!(fate, Fate::Kept) {
        if !bot.stop.is_cancelled() {
            again(&bot, letter);
        }
        return;
    }
    bot.gauges.done(outgoing.conversation, outgoing.turn);
    if matches!(fate, Fate::Sent) {
        bot.gauges.replied(letter.since.elapsed());
        bot.fresh.drop(thread.get());
    }
    if let Err(error) = bot.desk.sent(outgoing).await {
        tracing::error!(%error, "a reply was sent but could not be marked so; it may go out twice");
    }
    let (turn, address) = (outgoing.turn, outgoing.address.clone());
    bot.errands.put(thread.get(), Errand { turn, address });
}

/// Puts a letter in line once more after a while. Letters that follow it are held back by the same bar.
fn again<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, letter: Letter) {
    let bot = Arc::clone(bot);
    bot.running.clone().spawn(async move {
        tokio::select! {
            () = sleep(LEAVE_ALONE) => bot.send(letter.outgoing, letter.since),
            () = bot.stop.cancelled() => {}
        }
    });
}

async fn send<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    guild: GuildId,
    thread: ChannelId,
    outgoing: &Outgoing,
) -> Fate {
    if is_barred(bot, thread) {
        return Fate::Kept;
    }
    let messages = render::messages(&outgoing.reply, hailed(bot, outgoing).await);
    let last = messages.len().saturating_sub(1);
    for (part, mut body) in messages.into_iter().enumerate() {
        body["nonce"] = nonce(outgoing, part).into();
        body["enforce_nonce"] = true.into();
        let picture = if part == last {
            drawn(bot, outgoing).await
        } else {
            None
        };
        match insist(bot, thread, body, picture).await {
            Ok(()) => {}
            Err(Refusal::Forbidden(_)) => return forbidden(bot, guild, thread).await,
            Err(Refusal::Later(_)) => return Fate::Kept,
            Err(refusal) => {
                tracing::warn!(%thread, %refusal, "a reply cannot be delivered");
                return Fate::Lost;
            }
        }
    }
    Fate::Sent
}

/// The picture of a reply: the reading it judges, else where the check it asks for is made.
async fn drawn<D: Dialogue + 'static>(bot: &Bot<D>, outgoing: &Outgoing) -> Option<Picture> {
    if let Some(reading) = picture::of(&outgoing.reply) {
        return Some(reading);
    }
    let trail = bot.desk.trail(outgoing.conversation, outgoing.turn).await;
    trail.ok().flatten().map(|trail| picture::of_path(&trail))
}

/// The rider who is named above the greeting, which brings them into the thread.
async fn hailed<D: Dialogue + 'static>(bot: &Bot<D>, outgoing: &Outgoing) -> Option<UserId> {
    if outgoing.turn > 0 {
        return None;
    }
    let home = bot.desk.store().home(outgoing.conversation).await.ok()??;
    user(&home.rider)
}

/// Posts until it is posted, refused for good, or we are told to stop.
async fn insist<D: Dialogue + 'static>(
    bot: &Bot<D>,
    thread: ChannelId,
    body: Value,
    picture: Option<Picture>,
) -> Result<(), Refusal> {
    let mut wait = FIRST_WAIT;
    let mut reopened = false;
    loop {
        let posting = bot
            .rest
            .post(thread, body.clone(), picture.clone(), Urgency::Now);
        let refusal = tokio::select! {
            posted = posting => match posted {
                Ok(_) => return Ok(()),
                Err(refusal) => refusal,
            },
            // A long wait for a limit must not keep us from ending: it stays in the outbox.
            () = bot.cut.cancelled() => return Err(Refusal::Later("stopping".to_owned())),
        };
        match refusal {
            Refusal::Archived if !reopened => {
                reopened = true;
                bot.rest.change(thread, &json!({"archived": false})).await?;
            }
            Refusal::Later(_) => {
                tokio::select! {
                    () = sleep(wait) => {}
                    () = bot.stop.cancelled() => return Err(refusal),
                }
                wait = (wait * 2).min(LONGEST_WAIT);
            }
            refusal => return Err(refusal),
        }
    }
}

/// Under one nonce a message is made once, however often it is sent.
///
/// Source: Discord developer documentation, Message, Create Message: at most 25 characters.
fn nonce(outgoing: &Outgoing, part: usize) -> String {
    let Outgoing {
        conversation, turn, ..
    } = outgoing;
    let mut nonce = format!("{:x}.{turn:x}.{part:x}", conversation.0);
    nonce.truncate(25);
    nonce
}

fn is_barred<D: Dialogue + 'static>(bot: &Bot<D>, channel: ChannelId) -> bool {
    let since = bot.barred.get(channel.get());
    since.is_some_and(|since: Instant| since.elapsed() < LEAVE_ALONE)
}

/// Leaves the channel alone for a while, tells moderators once, and leaves no half-made thread.
async fn forbidden<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    guild: GuildId,
    thread: ChannelId,
) -> Fate {
    let before = bot.barred.put(thread.get(), Instant::now());
    if bot.fresh.drop(thread.get()).is_some() {
        // Nothing was said in it yet: better no thread than a silent one.
        if let Err(refusal) = bot.rest.remove(thread).await {
            tracing::warn!(%thread, %refusal, "an empty thread cannot be removed");
        }
    }
    if before.is_none() {
        tell_moderators(bot, guild, &words::forbidden(thread.get())).await;
    }
    Fate::Kept
}

/// A notice where helpers look, if they have such a place; always in the log.
pub async fn tell_moderators<D: Dialogue + 'static>(bot: &Bot<D>, guild: GuildId, text: &str) {
    tracing::warn!(%guild, "{text}");
    let helpers = bot
        .places(guild)
        .await
        .ok()
        .and_then(|places| places.helpers);
    let Some(channel) = helpers.filter(|channel| !is_barred(bot, *channel)) else {
        return;
    };
    let body = json!({"content": text, "allowed_mentions": render::mentions(None)});
    if let Err(refusal) = bot.rest.post(channel, body, None, Urgency::Later).await {
        bot.barred.put(channel.get(), Instant::now());
        tracing::warn!(%channel, %refusal, "helpers cannot be told");
    }
}
