//! What was missed while we were away, read over REST and taken as if it had just come.

use super::bot::{Bot, Job, What, address, group, user, whereabouts};
use super::event::Message;
use super::places::Places;
use super::rest::{PAGE, number};
use crate::desk::{Dialogue, Waiting};
use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use serenity::model::id::{ChannelId, GuildId, MessageId};
use std::collections::BTreeMap;
use std::sync::Arc;
use tokio::time::Instant;

/// Read again before the last turn, since clocks differ and a turn may have been cut off. What was
/// taken before is not taken twice.
const OVERLAP: SignedDuration = SignedDuration::from_mins(5);
/// New posts older than this are left to people.
const FRESH_POST: SignedDuration = SignedDuration::from_hours(24);
/// Pages read of one thread; a rider who wrote more than that is better asked again.
const MOST_PAGES: usize = 5;
/// The first millisecond of Discord's ids, and the bits below the time.
///
/// Source: Discord developer documentation, Reference, Snowflakes.
const EPOCH_MS: i64 = 1_420_070_400_000;
const BELOW_TIME: u32 = 22;

/// Reads what was missed in a group: in conversations that wait for their rider, and new posts in
/// watched forums.
pub async fn group_of<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, guild: GuildId) {
    let waiting = match bot.desk.waiting(&group(guild)).await {
        Ok(waiting) => waiting,
        Err(error) => {
            tracing::error!(%error, "the store fails; what was missed cannot be read");
            return;
        }
    };
    let places = bot.places(guild).await.unwrap_or_default();
    if waiting.is_empty() && places.watched.is_empty() {
        return;
    }
    let threads = match bot.rest.threads(guild).await {
        Ok(threads) => threads,
        Err(refusal) => {
            tracing::warn!(%guild, %refusal, "threads cannot be listed; what was missed is not read");
            return;
        }
    };
    let last: BTreeMap<u64, u64> = threads
        .iter()
        .map(|thread| (number(&thread["id"]), number(&thread["last_message_id"])))
        .collect();
    for conversation in &waiting {
        thread(bot, guild, conversation, &last).await;
    }
    posts(bot, guild, &places, &threads).await;
}

/// The rider's messages after the last turn of a conversation.
async fn thread<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    guild: GuildId,
    waiting: &Waiting,
    last: &BTreeMap<u64, u64>,
) {
    let (Some((_, thread)), Some(rider)) = (whereabouts(&waiting.address), user(&waiting.rider))
    else {
        return;
    };
    let mut after = snowflake(waiting.last - OVERLAP);
    // A thread that is archived, or silent since, has nothing new.
    if last.get(&thread.get()).is_none_or(|last| *last <= after) {
        return;
    }
    for _ in 0..MOST_PAGES {
        let Ok(page) = bot.rest.after(thread, MessageId::new(after)).await else {
            return;
        };
        let full = page.len() >= PAGE;
        after = page.last().map_or(after, |last| number(&last["id"]));
        for item in page {
            take(bot, guild, item, |message| message.author.id == rider);
        }
        if !full || bot.stop.is_cancelled() {
            return;
        }
    }
}

/// New posts in watched forums in which nobody has begun.
async fn posts<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    guild: GuildId,
    places: &Places,
    threads: &[Value],
) {
    let since = snowflake(Timestamp::now() - FRESH_POST);
    for post in threads {
        let (id, parent) = (number(&post["id"]), number(&post["parent_id"]));
        let watched = places.watching(parent);
        let missed = watched.is_some_and(|watched| id > watched.since.max(since));
        if !missed || bot.stop.is_cancelled() {
            continue;
        }
        let thread = ChannelId::new(id);
        let known = bot.desk.owner(&address(guild, thread)).await;
        if !matches!(known, Ok(None)) {
            continue;
        }
        // The first message of a post has the post's id.
        if let Ok(first) = bot.rest.message(thread, MessageId::new(id)).await {
            take(bot, guild, first, |_| true);
        }
    }
}

/// Puts a message in line. Each is read by itself: one that cannot be read does not hide the others.
fn take<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    guild: GuildId,
    item: Value,
    wanted: impl Fn(&Message) -> bool,
) {
    let Ok(mut message) = serde_json::from_value::<Message>(item) else {
        bot.gauges.unreadable();
        return;
    };
    message.guild_id = Some(guild);
    if message.by_person() && wanted(&message) {
        let channel = message.channel_id.get();
        let job = Job {
            order: message.id.get(),
            since: Instant::now(),
            what: What::SaidBefore(message),
        };
        bot.inbox.put(channel, job);
    }
}

/// The least id of a moment.
#[must_use]
pub fn snowflake(at: Timestamp) -> u64 {
    let milliseconds = (at.as_millisecond() - EPOCH_MS).max(0);
    (u64::try_from(milliseconds).unwrap_or(0) << BELOW_TIME).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of Discord's developer documentation, Reference, Snowflakes.
    #[test]
    fn a_moment_has_the_documented_id() {
        let at: Timestamp = "2016-04-30T11:18:25.796Z".parse().expect("a time");
        assert_eq!(
            snowflake(at) >> BELOW_TIME,
            175_928_847_299_117_063 >> BELOW_TIME
        );
    }

    #[test]
    fn no_moment_is_before_the_first() {
        assert_eq!(snowflake(Timestamp::MIN), 1);
    }
}
