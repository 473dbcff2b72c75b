//! Buttons, menus and forms: the rider's are a turn, once; everybody else's are turned away kindly.

use super::act::Scene;
use super::adopt::as_riders;
use super::bot::{Bot, address, rider, stored};
use super::custom_id::CustomId;
use super::event::Message;
use super::hear::{self, Turn};
use super::markdown::{LONGEST, length, plain};
use super::pace::Urgency;
use super::rest::Refusal;
use super::{form, respond, rights, words};
use crate::conversation::event::{self, Incoming};
use crate::desk::{Dialogue, Standing};
use serenity::model::id::{MessageId, UserId};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::timeout;

/// A press must be answered within three seconds; a turn that takes longer is answered for later.
///
/// Source: Discord developer documentation, Receiving and Responding.
const IN_TIME: Duration = Duration::from_millis(1500);

/// Handles a press, a choice or a form.
pub async fn press<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let Some(id) = CustomId::read(scene.act.custom_id()) else {
        respond::say(bot, &scene.act, words::ANSWERED_ALREADY).await;
        return;
    };
    match id {
        CustomId::Adopt(message) => adopt(bot, scene, message).await,
        CustomId::Leave(_) => leave(bot, scene).await,
        CustomId::Pick { turn, id } => answer(bot, scene, turn, Some(Incoming::Choose(id))).await,
        CustomId::Menu { turn, .. } => {
            let chosen = scene.act.chosen().map(str::to_owned);
            answer(bot, scene, turn, chosen.map(Incoming::Choose)).await;
        }
        CustomId::Filled { turn } => {
            let filled = form::filled(&scene.act);
            answer(bot, scene, turn, filled.map(Incoming::Text)).await;
        }
        CustomId::Form { turn } => {
            if let Some(standing) = table(bot, &scene, turn).await {
                let form = form::form(&standing.reply);
                respond::open_form(bot, &scene.act, &form).await;
            }
        }
    }
}

/// How things stand, if it is the rider who acts and the question is still open; else whoever acts
/// is told.
async fn table<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    scene: &Scene,
    turn: event::Turn,
) -> Option<Standing> {
    let place = address(scene.guild, scene.channel);
    let owner = bot.desk.owner(&place).await;
    let standing = bot.desk.standing(&place).await;
    let (Ok(owner), Ok(standing)) = (owner, standing) else {
        respond::say(bot, &scene.act, words::TRY_AGAIN).await;
        return None;
    };
    let (Some(owner), Some(standing)) = (owner, standing) else {
        respond::say(bot, &scene.act, words::NOT_HERE).await;
        return None;
    };
    if owner != rider(scene.member.user.id) {
        respond::say(bot, &scene.act, words::NOT_YOURS).await;
        return None;
    }
    // The same press delivered twice is no second answer.
    let again = bot.desk.store().answered(stored(scene.act.id.get())).await;
    if matches!(again, Ok(Some(_))) {
        return None;
    }
    if standing.turn != turn {
        respond::say(bot, &scene.act, words::ANSWERED_ALREADY).await;
        return None;
    }
    Some(standing)
}

/// Takes an answer and closes the question it was given to.
async fn answer<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    scene: Scene,
    turn: event::Turn,
    incoming: Option<Incoming>,
) {
    let (Some(_), Some(incoming)) = (table(bot, &scene, turn).await, incoming) else {
        return;
    };
    let text = closed(&scene, &incoming);
    let taking = {
        let (bot, turn) = (Arc::clone(bot), turn_of(&scene, incoming));
        let place = address(scene.guild, scene.channel);
        bot.running
            .clone()
            .spawn(async move { hear::take(&bot, place, turn).await })
    };
    tokio::pin!(taking);
    if let Ok(taken) = timeout(IN_TIME, &mut taking).await {
        match taken {
            Ok(Ok(())) => respond::settle(bot, &scene.act, &text).await,
            _ => respond::say(bot, &scene.act, words::TRY_AGAIN).await,
        }
        return;
    }
    respond::note(bot, &scene.act).await;
    let taken = taking.await;
    if let (Ok(Ok(())), Some(message)) = (taken, scene.act.under()) {
        let body = respond::settled(&text);
        let edited = bot.rest.edit(scene.channel, message, &body, Urgency::Later);
        if let Err(refusal) = edited.await {
            tracing::info!(%refusal, "buttons of an answered question cannot be taken away");
        }
    }
}

fn turn_of(scene: &Scene, incoming: Incoming) -> Turn {
    Turn {
        thread: scene.channel,
        rider: scene.member.user.id,
        id: scene.act.id.get(),
        incoming,
        since: scene.since,
    }
}

/// The question with what was picked under it.
fn closed(scene: &Scene, incoming: &Incoming) -> String {
    let asked = scene.act.message["content"].as_str().unwrap_or_default();
    let picked = match incoming {
        Incoming::Choose(id) => scene.act.words().unwrap_or(id),
        Incoming::Text(text) => text,
    };
    let whole = format!(
        "{asked}\n{}",
        words::picked(&plain(picked).replace('\n', " "))
    );
    if length(&whole) <= LONGEST {
        whole
    } else {
        asked.to_owned()
    }
}

/// Takes a bystander's message in as the rider's own, by the rider's or a moderator's hand.
async fn adopt<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene, message: MessageId) {
    let Some(owner) = may_adopt(bot, &scene).await else {
        return;
    };
    respond::note(bot, &scene.act).await;
    let found = bot.rest.message(scene.channel, message).await;
    let text = match found {
        Ok(found) => match serde_json::from_value::<Message>(found) {
            Ok(message) if message.by_person() => take_in(bot, &scene, owner, &message).await,
            _ => words::NO_TEXT.to_owned(),
        },
        Err(Refusal::Gone(_)) => words::NO_LONGER_THERE.to_owned(),
        Err(refusal) => {
            tracing::info!(%refusal, "a message to be taken in cannot be read");
            words::TRY_AGAIN.to_owned()
        }
    };
    close_offer(bot, &scene, &text).await;
}

/// Takes a message in; what to say about it.
pub async fn take_in<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    scene: &Scene,
    owner: UserId,
    message: &Message,
) -> String {
    let text = as_riders(&hear::without_mention(bot, &message.content));
    if text.is_empty() {
        return words::CANNOT_READ.to_owned();
    }
    let turn = Turn {
        thread: scene.channel,
        rider: owner,
        id: message.id.get(),
        incoming: Incoming::Text(text),
        since: scene.since,
    };
    match hear::take(bot, address(scene.guild, scene.channel), turn).await {
        Ok(()) => words::adopted(scene.member.user.id.get()),
        Err(_) => words::TRY_AGAIN.to_owned(),
    }
}

async fn leave<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    if may_adopt(bot, &scene).await.is_some() {
        respond::settle(bot, &scene.act, words::LEFT).await;
        bot.offers.drop(scene.channel.get());
    }
}

/// The rider, if whoever acts is the rider or a moderator; else they are told.
pub async fn may_adopt<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: &Scene) -> Option<UserId> {
    let place = address(scene.guild, scene.channel);
    let owner = bot.desk.owner(&place).await.ok().flatten();
    let Some(owner) = owner.as_ref().and_then(super::bot::user) else {
        respond::say(bot, &scene.act, words::NOT_HERE).await;
        return None;
    };
    let places = bot.places(scene.guild).await.unwrap_or_default();
    if owner == scene.member.user.id || rights::moderates(&scene.member, &places) {
        return Some(owner);
    }
    respond::say(bot, &scene.act, words::NOT_YOURS).await;
    None
}

async fn close_offer<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: &Scene, text: &str) {
    let Some(offer) = scene.act.under() else {
        return;
    };
    bot.offers.drop(scene.channel.get());
    let body = respond::settled(text);
    if let Err(refusal) = bot
        .rest
        .edit(scene.channel, offer, &body, Urgency::Now)
        .await
    {
        tracing::info!(%refusal, "an offer cannot be closed");
    }
}
