//! How a conversation begins: by a command, a mention, a newcomer's post, or in a watched forum.

use super::bot::{Bot, address};
use super::errand::{Mark, title};
use super::event::{Message, is_thread};
use super::hear::{self, Turn, notice, without_mention};
use super::markdown::short;
use super::rest::{Refusal, number};
use super::words;
use crate::conversation::event::Incoming;
use crate::desk::Dialogue;
use serenity::model::id::{ChannelId, GuildId, MessageId, UserId};
use std::sync::Arc;
use tokio::time::Instant;

/// Characters of a complaint that go into a title.
const IN_TITLE: usize = 70;
/// A title where nothing was said yet.
const UNTITLED: &str = "bike trouble";
/// A message that has a thread already.
///
/// Source: Discord developer documentation, Opcodes and Status Codes, JSON Error Codes.
const HAS_THREAD: &str = "160004";

/// What a conversation begins with.
pub struct Opening {
    /// In which group.
    pub guild: GuildId,
    /// Whose it will be.
    pub rider: UserId,
    /// What they say is wrong, if they said it.
    pub complaint: Option<String>,
    /// The sheet that applies, if one was named.
    pub bike: Option<String>,
    /// The id of the message or interaction that began it.
    pub id: u64,
    /// When that came.
    pub since: Instant,
}

/// Why no conversation was begun.
#[derive(Debug, thiserror::Error)]
pub enum BeginError {
    /// Discord did not let us.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] crate::store::problem::StoreError),
}

/// A message where no conversation is: it begins one if it mentions us or is a new post in a watched
/// channel.
pub async fn on_message<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    guild: GuildId,
    message: Message,
    since: Instant,
) {
    let me = bot.me().map(|me| me.user);
    let mentioned = message.mentions.iter().any(|user| Some(user.id) == me);
    let text = without_mention(bot, &message.content);
    let opening = Opening {
        guild,
        rider: message.author.id,
        complaint: (!text.is_empty()).then_some(text),
        bike: None,
        id: message.id.get(),
        since,
    };
    // The first message of a forum's post has the id of its thread.
    let posted = message.id.get() == message.channel_id.get();
    if posted && (mentioned || is_watched(bot, guild, message.channel_id).await) {
        let begun = in_place(bot, message.channel_id, opening).await;
        report(bot, message.channel_id, begun).await;
    } else if mentioned && !posted {
        let bot = Arc::clone(bot);
        bot.running.clone().spawn(async move {
            let begun = at_message(&bot, message.channel_id, message.id, opening).await;
            report(&bot, message.channel_id, begun.map(drop)).await;
        });
    }
}

async fn report<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    channel: ChannelId,
    begun: Result<(), BeginError>,
) {
    match begun {
        Ok(()) => {}
        Err(BeginError::Store(_)) => notice(bot, channel, words::TRY_AGAIN).await,
        Err(BeginError::Refused(refusal)) => {
            tracing::warn!(%channel, %refusal, "no thread could be opened");
        }
    }
}

/// Whether a thread is a post in a channel that moderators have us watch.
async fn is_watched<D: Dialogue + 'static>(
    bot: &Bot<D>,
    guild: GuildId,
    thread: ChannelId,
) -> bool {
    let Ok(places) = bot.places(guild).await else {
        return false;
    };
    if places.watched.is_empty() {
        return false;
    }
    let Ok(channel) = bot.rest.channel(thread).await else {
        return false;
    };
    let watched = places.watching(number(&channel["parent_id"]));
    watched.is_some_and(|watched| thread.get() > watched.since)
}

/// Begins in a thread that is there already.
///
/// # Errors
/// When the store fails.
pub async fn in_place<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    thread: ChannelId,
    opening: Opening,
) -> Result<(), BeginError> {
    let place = address(opening.guild, thread);
    let Some(complaint) = opening.complaint else {
        let rider = super::bot::rider(opening.rider);
        let terms = bot.terms(opening.bike);
        let greeting = bot.desk.open(&place, Some(rider), &terms).await?;
        bot.send(greeting, opening.since);
        return Ok(());
    };
    let turn = Turn {
        thread,
        rider: opening.rider,
        id: opening.id,
        incoming: Incoming::Text(complaint),
        since: opening.since,
    };
    hear::begin(bot, place, turn, opening.bike).await?;
    Ok(())
}

/// Opens a thread on a message and begins there; where it is. A message that has a thread already
/// is answered in that one.
///
/// # Errors
/// When no thread can be opened, or the store fails.
pub async fn at_message<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    channel: ChannelId,
    message: MessageId,
    opening: Opening,
) -> Result<ChannelId, BeginError> {
    let place = bot.rest.channel(channel).await?;
    if is_thread(kind(&place)) {
        in_place(bot, channel, opening).await?;
        return Ok(channel);
    }
    let name = name(opening.complaint.as_deref());
    let opened = bot.rest.thread_on(channel, message, &name).await;
    let thread = match opened {
        Err(Refusal::Wrong(what)) if what.contains(HAS_THREAD) => ChannelId::new(message.get()),
        Err(refusal) => return Err(refusal.into()),
        Ok(thread) => {
            bot.fresh.put(thread.get(), ());
            thread
        }
    };
    begin_in(bot, thread, opening).await
}

/// Opens a thread in a channel and begins there; where it is.
///
/// # Errors
/// When no thread can be opened, or the store fails.
pub async fn in_channel<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    channel: ChannelId,
    opening: Opening,
) -> Result<ChannelId, BeginError> {
    let name = name(opening.complaint.as_deref());
    let thread = bot.rest.thread_in(channel, &name).await?;
    bot.fresh.put(thread.get(), ());
    begin_in(bot, thread, opening).await
}

/// Begins in a thread just opened; when that fails the thread goes again.
async fn begin_in<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    thread: ChannelId,
    opening: Opening,
) -> Result<ChannelId, BeginError> {
    match in_place(bot, thread, opening).await {
        Ok(()) => Ok(thread),
        Err(error) => {
            if bot.fresh.drop(thread.get()).is_some()
                && let Err(refusal) = bot.rest.remove(thread).await
            {
                tracing::warn!(%thread, %refusal, "an empty thread cannot be removed");
            }
            Err(error)
        }
    }
}

fn kind(channel: &serde_json::Value) -> u8 {
    let kind = channel["type"].as_u64();
    kind.and_then(|kind| u8::try_from(kind).ok()).unwrap_or(0)
}

/// The title of a new thread.
fn name(complaint: Option<&str>) -> String {
    let about = complaint.map_or(UNTITLED.to_owned(), |text| short(text, IN_TITLE));
    title(Mark::Waiting, &about)
}
