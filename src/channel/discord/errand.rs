//! What a thread shows of itself: its title, its tags, and the pinned summary.

use super::bot::{Bot, Errand, Shown, whereabouts};
use super::markdown::{LONGEST, length, plain, short};
use super::pace::Urgency;
use super::rest::{Refusal, number};
use super::{render, words};
use crate::conversation::event::{Ending, HandOver};
use crate::desk::{Dialogue, End, Standing};
use crate::reply::{Line, Phase};
use crate::store::name::Status;
use serde_json::{Value, json};
use serenity::model::id::{ChannelId, MessageId};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::sleep;

/// The longest title of a thread.
///
/// Source: Discord developer documentation, Channel, Channel Object.
pub const LONGEST_TITLE: usize = 100;
/// Between a state and the title proper.
const BETWEEN: &str = " · ";
/// Turns that follow each other quickly are brought up together.
const SETTLE: Duration = Duration::from_millis(1500);
/// The most tags on a post.
const TAGS: usize = 5;

/// The state of a thread, as its title and tags say it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A person is wanted.
    Open,
    /// The rider is asked for something.
    Waiting,
    /// Repaired and proven.
    Solved,
    /// For a licensed shop.
    Shop,
    /// Ended without a repair, or fallen silent.
    Closed,
}

impl Mark {
    /// Every mark.
    pub const ALL: [Self; 5] = [
        Self::Open,
        Self::Waiting,
        Self::Solved,
        Self::Shop,
        Self::Closed,
    ];

    /// How a conversation stands.
    #[must_use]
    pub fn of(standing: &Standing) -> Self {
        match (&standing.end, standing.status) {
            (Some(End::HandedOver(HandOver::Asked)), _) => Self::Open,
            (Some(End::HandedOver(_)), _) => Self::Shop,
            (Some(End::Closed(Ending::Solved)), _) => Self::Solved,
            (Some(End::Closed(Ending::Stopped)), _) | (None, Status::Resting | Status::Closed) => {
                Self::Closed
            }
            (None, Status::Unfinished | Status::HandedOver) => Self::Waiting,
        }
    }

    /// Its word, in titles and as the name of a tag.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "Open",
            Self::Waiting => "Waiting for rider",
            Self::Solved => "Solved",
            Self::Shop => "Shop",
            Self::Closed => "Closed",
        }
    }
}

/// A title with its state in front.
#[must_use]
pub fn title(mark: Mark, about: &str) -> String {
    let about = Mark::ALL
        .iter()
        .find_map(|mark| {
            let before = format!("{}{BETWEEN}", mark.word());
            about.strip_prefix(&before).map(str::to_owned)
        })
        .unwrap_or_else(|| about.to_owned());
    let words: Vec<&str> = about.split_whitespace().collect();
    let whole = format!("{}{BETWEEN}{}", mark.word(), words.join(" "));
    short(&whole, LONGEST_TITLE)
}

/// Brings a thread up to a turn, unless it is there already.
pub async fn run<D: Dialogue + 'static>(bot: Arc<Bot<D>>, errand: Errand) {
    let Some((_, thread)) = whereabouts(&errand.address) else {
        return;
    };
    let shown = bot.shown.get(thread.get()).unwrap_or_default();
    if shown.mark.is_some() && shown.turn >= errand.turn {
        return;
    }
    tokio::select! {
        () = sleep(SETTLE) => {}
        () = bot.stop.cancelled() => {}
    }
    match bot.desk.standing(&errand.address).await {
        Ok(Some(standing)) => {
            let shown = bring_up(&bot, thread, shown, &standing).await;
            bot.shown.put(thread.get(), shown);
        }
        Ok(None) => take_down(&bot, thread, shown).await,
        Err(error) => bot.store_failed(error),
    }
}

/// Removes the summary of a conversation that has been forgotten.
async fn take_down<D: Dialogue + 'static>(bot: &Bot<D>, thread: ChannelId, shown: Shown) {
    let pinned = match shown.pinned {
        Some(pinned) => Some(pinned),
        None => find(bot, thread).await.ok().flatten(),
    };
    bot.shown.drop(thread.get());
    if let Some(pinned) = pinned
        && let Err(refusal) = bot.rest.delete(thread, pinned).await
    {
        tracing::warn!(%thread, %refusal, "the summary of a forgotten conversation cannot be removed");
    }
}

async fn bring_up<D: Dialogue + 'static>(
    bot: &Bot<D>,
    thread: ChannelId,
    mut shown: Shown,
    standing: &Standing,
) -> Shown {
    let mark = Mark::of(standing);
    // The summary first: it is read more often, and a title may have to wait for its turn.
    let summary = summary(standing);
    if shown.summary != summary {
        match show(bot, thread, shown.pinned, &summary).await {
            Ok(pinned) => {
                shown.pinned = Some(pinned);
                shown.summary = summary;
            }
            Err(refusal) => tracing::info!(%thread, %refusal, "the summary cannot be shown"),
        }
    }
    if shown.mark != Some(mark) {
        if let Err(refusal) = retitle(bot, thread, mark).await {
            tracing::info!(%thread, %refusal, "the title or the tags cannot be changed");
        }
        shown.mark = Some(mark);
    }
    shown.turn = standing.turn;
    shown
}

/// The text of the pinned message.
#[must_use]
pub fn summary(standing: &Standing) -> String {
    let reply = &standing.reply;
    let mut blocks = vec![format!(
        "**{}** · {}",
        words::SUMMARY,
        words::phase(reply.phase)
    )];
    let kept = reply
        .lines
        .iter()
        .filter(|line| matches!(line, Line::Danger(_) | Line::Plain(_) | Line::Judgement(_)));
    let kept: Vec<Line> = kept.cloned().collect();
    blocks.extend(render::blocks(&kept));
    if !matches!(reply.phase, Phase::Closed | Phase::HandedOver) {
        let asked = reply.lines.iter().rev().find_map(|line| match line {
            Line::Question(text) | Line::Instruction(text) => Some(text),
            _ => None,
        });
        blocks.extend(asked.map(|text| format!("**{}**", plain(text))));
    }
    let foot = format!("-# {}", words::GUIDANCE);
    let mut text = String::new();
    for block in blocks {
        if length(&text) + length(&block) + length(&foot) + 4 > LONGEST {
            break;
        }
        text.push_str(&block);
        text.push_str("\n\n");
    }
    text + &foot
}

/// Edits the pinned message, or makes it.
async fn show<D: Dialogue + 'static>(
    bot: &Bot<D>,
    thread: ChannelId,
    pinned: Option<MessageId>,
    text: &str,
) -> Result<MessageId, Refusal> {
    let body = json!({"content": text, "allowed_mentions": render::mentions(None)});
    let known = match pinned {
        Some(pinned) => Some(pinned),
        None => find(bot, thread).await?,
    };
    if let Some(pinned) = known {
        match bot.rest.edit(thread, pinned, &body, Urgency::Later).await {
            // Somebody deleted it: it is made anew.
            Err(Refusal::Gone(_)) => {}
            other => return other.map(|()| pinned),
        }
    }
    let made = bot.rest.post(thread, body, None, Urgency::Later).await?;
    if let Err(refusal) = bot.rest.pin(thread, made).await {
        // It stands in the thread all the same, and is edited from now on.
        tracing::info!(%thread, %refusal, "the summary cannot be pinned");
    }
    Ok(made)
}

/// Our pinned message of an earlier run.
async fn find<D: Dialogue + 'static>(
    bot: &Bot<D>,
    thread: ChannelId,
) -> Result<Option<MessageId>, Refusal> {
    let me = bot.me().map_or(0, |me| me.user.get());
    let head = format!("**{}**", words::SUMMARY);
    let pins = bot.rest.pins(thread).await?;
    let ours = pins.iter().find(|pin| {
        let text = pin["content"].as_str().unwrap_or_default();
        number(&pin["author"]["id"]) == me && text.starts_with(&head)
    });
    Ok(ours.map(|pin| MessageId::new(number(&pin["id"]))))
}

/// Says the state in the title and, in a forum that has a tag of that name, in the tags.
async fn retitle<D: Dialogue + 'static>(
    bot: &Bot<D>,
    thread: ChannelId,
    mark: Mark,
) -> Result<(), Refusal> {
    let channel = bot.rest.channel(thread).await?;
    let name = channel["name"].as_str().unwrap_or_default();
    let mut change = json!({});
    let wanted = title(mark, name);
    if wanted != name {
        change["name"] = wanted.into();
    }
    if channel["applied_tags"].is_array() {
        let parent = ChannelId::new(number(&channel["parent_id"]).max(1));
        let forum = bot.rest.channel(parent).await?;
        let tags = tags(mark, &forum["available_tags"], &channel["applied_tags"]);
        if tags != channel["applied_tags"] {
            change["applied_tags"] = tags;
        }
    }
    if change == json!({}) {
        return Ok(());
    }
    bot.rest.change(thread, &change).await
}

/// The tags of a post with the state's tag in place of the other states' tags.
fn tags(mark: Mark, available: &Value, applied: &Value) -> Value {
    let empty = Vec::new();
    let available = available.as_array().unwrap_or(&empty);
    let of = |mark: Mark| {
        available.iter().find(|tag| {
            let name = tag["name"].as_str().unwrap_or_default();
            name.eq_ignore_ascii_case(mark.word())
        })
    };
    let states: Vec<&Value> = Mark::ALL
        .iter()
        .filter_map(|mark| of(*mark))
        .map(|tag| &tag["id"])
        .collect();
    let others = applied.as_array().unwrap_or(&empty).iter();
    let others = others.filter(|tag| !states.contains(tag));
    let state = of(mark).map(|tag| &tag["id"]);
    let all = state.into_iter().chain(others).take(TAGS);
    Value::Array(all.cloned().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(
        Mark::Waiting,
        "cranks, no start",
        "Waiting for rider · cranks, no start"
    )]
    #[case(
        Mark::Solved,
        "Waiting for rider · cranks, no start",
        "Solved · cranks, no start"
    )]
    #[case(Mark::Shop, "a\n b", "Shop · a b")]
    fn a_title_says_the_state_once(
        #[case] mark: Mark,
        #[case] about: &str,
        #[case] expected: &str,
    ) {
        assert_eq!(title(mark, about), expected);
    }

    #[test]
    fn a_title_is_never_too_long() {
        let long = "x".repeat(300);
        assert!(length(&title(Mark::Waiting, &long)) <= LONGEST_TITLE);
    }

    #[test]
    fn the_states_tag_takes_the_place_of_another_states() {
        let available = json!([
            {"id": "1", "name": "waiting for rider"},
            {"id": "2", "name": "Solved"},
            {"id": "3", "name": "Carburettor"},
        ]);
        let tags = tags(Mark::Solved, &available, &json!(["1", "3"]));
        assert_eq!(tags, json!(["2", "3"]));
    }
}
