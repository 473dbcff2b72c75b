//! The commands, carried out.

use super::act::Scene;
use super::begin::{self, BeginError, Opening};
use super::bot::{Bot, Errand, address, rider, user, whereabouts};
use super::hear::{self, Turn};
use super::pace::Urgency;
use super::{command, errand, press, render, respond, rights, setup, sheet, words};
use crate::conversation::event::Incoming;
use crate::desk::{self, Dialogue};
use serde_json::json;
use serenity::model::id::{MessageId, UserId};
use std::sync::Arc;

/// Carries a command out.
pub async fn order<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    match scene.act.name() {
        command::START => start(bot, scene).await,
        command::START_FROM => start_from(bot, scene).await,
        command::TAKE_IN => take_in(bot, scene).await,
        command::WHERE => where_we_are(bot, scene).await,
        command::WHY => said(bot, scene, Incoming::Choose("why".to_owned())).await,
        command::UNDO => said(bot, scene, Incoming::Choose("undo".to_owned())).await,
        command::HELPER => helper(bot, scene).await,
        command::MANUAL => match scene.act.text("value").map(str::to_owned) {
            Some(value) => said(bot, scene, Incoming::Text(value)).await,
            None => respond::say(bot, &scene.act, words::NOT_HERE).await,
        },
        command::FORGET => forget(bot, scene).await,
        command::SETUP => setup::setup(bot, scene).await,
        command::SHEET => sheet::show(bot, scene).await,
        command::REVIEW => review(bot, scene).await,
        other => tracing::warn!(command = other, "a command that is not ours; register anew"),
    }
}

/// The rider's own command opens a thread, or begins in the one it was given in.
async fn start<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let bike = scene.act.text("sheet").map(str::to_owned);
    if let Some(bike) = &bike
        && let Err(text) = sheet::approved(bot, scene.guild, bike).await
    {
        respond::say(bot, &scene.act, &text).await;
        return;
    }
    let opening = Opening {
        guild: scene.guild,
        rider: scene.member.user.id,
        complaint: scene.act.text("what").map(str::to_owned),
        bike,
        id: scene.act.id.get(),
        since: scene.since,
    };
    open(bot, scene, opening, None).await;
}

/// A moderator starts from a newcomer's post: its text is the complaint, its author the rider.
async fn start_from<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let places = bot.places(scene.guild).await.unwrap_or_default();
    if !rights::moderates(&scene.member, &places) {
        respond::say(bot, &scene.act, words::MODERATORS_ONLY).await;
        return;
    }
    let Some(post) = scene.act.target().filter(super::event::Message::by_person) else {
        respond::say(bot, &scene.act, words::NO_TEXT).await;
        return;
    };
    let text = hear::without_mention(bot, &post.content);
    let opening = Opening {
        guild: scene.guild,
        rider: post.author.id,
        complaint: (!text.is_empty()).then_some(text),
        bike: None,
        // The post's own id: pointing at one post twice begins one conversation.
        id: post.id.get(),
        since: scene.since,
    };
    open(bot, scene, opening, Some(post.id)).await;
}

/// Opens a conversation and says where; in order: is there one, may we, then make.
async fn open<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    scene: Scene,
    opening: Opening,
    post: Option<MessageId>,
) {
    let in_thread = scene
        .act
        .channel
        .as_ref()
        .is_some_and(super::event::Place::is_thread);
    let owner = bot.desk.owner(&address(scene.guild, scene.channel)).await;
    if let Some(owner) = owner.ok().flatten().as_ref().and_then(user) {
        let running = matches!(still_open(bot, &scene).await, Some(true));
        if running || owner != opening.rider {
            respond::say(bot, &scene.act, &words::already(owner.get())).await;
            return;
        }
    }
    if let Some(missing) = rights::missing(&scene.act, in_thread) {
        respond::say(bot, &scene.act, &words::missing(&missing)).await;
        return;
    }
    respond::promise(bot, &scene.act).await;
    // Opening a thread may have to wait for Discord; others in this channel shall not.
    let bot = Arc::clone(bot);
    bot.running.clone().spawn(async move {
        let begun = match post {
            _ if in_thread => begin::in_place(&bot, scene.channel, opening)
                .await
                .map(|()| scene.channel),
            Some(post) => begin::at_message(&bot, scene.channel, post, opening).await,
            None => begin::in_channel(&bot, scene.channel, opening).await,
        };
        let text = match begun {
            Ok(thread) => words::opened(thread.get()),
            Err(BeginError::Store(_)) => words::TRY_AGAIN.to_owned(),
            Err(BeginError::Refused(refusal)) => {
                tracing::warn!(channel = %scene.channel, %refusal, "no thread could be opened");
                words::missing("Create Public Threads or Send Messages in Threads")
            }
        };
        respond::amend(&bot, &scene.act, &text).await;
    });
}

async fn still_open<D: Dialogue + 'static>(bot: &Bot<D>, scene: &Scene) -> Option<bool> {
    let place = address(scene.guild, scene.channel);
    let standing = bot.desk.standing(&place).await.ok()??;
    Some(standing.end.is_none())
}

/// Takes the message pointed at in as the rider's own. Here even a message that we may not read
/// elsewhere has its text.
async fn take_in<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let Some(owner) = press::may_adopt(bot, &scene).await else {
        return;
    };
    let Some(message) = scene.act.target().filter(super::event::Message::by_person) else {
        respond::say(bot, &scene.act, words::NO_TEXT).await;
        return;
    };
    let text = press::take_in(bot, &scene, owner, &message).await;
    respond::say(bot, &scene.act, &text).await;
}

/// A command that amounts to a message of the rider's.
async fn said<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene, incoming: Incoming) {
    if own(bot, &scene).await {
        let text = if take(bot, &scene, incoming).await {
            words::BELOW
        } else {
            words::TRY_AGAIN
        };
        respond::say(bot, &scene.act, text).await;
    }
}

async fn take<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: &Scene, incoming: Incoming) -> bool {
    let turn = Turn {
        thread: scene.channel,
        rider: scene.member.user.id,
        id: scene.act.id.get(),
        incoming,
        since: scene.since,
    };
    let place = address(scene.guild, scene.channel);
    hear::take(bot, place, turn).await.is_ok()
}

/// Whether the conversation here is of whoever acts; they are told if not.
async fn own<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: &Scene) -> bool {
    let owner = bot.desk.owner(&address(scene.guild, scene.channel)).await;
    let text = match owner {
        Ok(Some(owner)) if owner == rider(scene.member.user.id) => return true,
        Ok(Some(_)) => words::NOT_YOURS,
        Ok(None) => words::NOT_HERE,
        Err(_) => words::TRY_AGAIN,
    };
    respond::say(bot, &scene.act, text).await;
    false
}

/// Anybody in the thread may look: what is known is in the pinned message anyway.
async fn where_we_are<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let place = address(scene.guild, scene.channel);
    let text = match bot.desk.standing(&place).await {
        Ok(Some(standing)) => errand::summary(&standing),
        Ok(None) => words::NOT_HERE.to_owned(),
        Err(_) => words::TRY_AGAIN.to_owned(),
    };
    respond::say(bot, &scene.act, &text).await;
}

/// Hands the conversation to a person and says so where helpers look, without pinging anybody.
async fn helper<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    if !own(bot, &scene).await {
        return;
    }
    if !take(bot, &scene, Incoming::Choose("person".to_owned())).await {
        respond::say(bot, &scene.act, words::TRY_AGAIN).await;
        return;
    }
    respond::say(bot, &scene.act, words::CALLED).await;
    let places = bot.places(scene.guild).await.unwrap_or_default();
    let Some(helpers) = places.helpers else {
        return;
    };
    let body = json!({
        "content": words::help_wanted(scene.channel.get()),
        "allowed_mentions": render::mentions(None),
    });
    if let Err(refusal) = bot.rest.post(helpers, body, None, Urgency::Later).await {
        tracing::warn!(channel = %helpers, %refusal, "helpers cannot be told");
    }
}

/// Erases everything of whoever asks, in all groups and threads.
async fn forget<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let asking: UserId = scene.member.user.id;
    let places = bot.desk.places_of(&rider(asking)).await.unwrap_or_default();
    let text = match bot.desk.forget(rider(asking)).await {
        Ok(erased) if erased.messages == 0 => desk::words::NOTHING_KEPT.to_owned(),
        Ok(erased) => format!("{}\n\n{}", desk::words::erased(&erased), words::FORGOTTEN),
        Err(error) => {
            tracing::error!(%error, "somebody could not be forgotten");
            words::TRY_AGAIN.to_owned()
        }
    };
    respond::say(bot, &scene.act, &text).await;
    // What the pinned messages of these threads say was theirs too.
    for address in places {
        if let Some((_, thread)) = whereabouts(&address) {
            let errand = Errand {
                turn: u32::MAX,
                address,
            };
            bot.errands.put(thread.get(), errand);
        }
    }
}

async fn review<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let places = bot.places(scene.guild).await.unwrap_or_default();
    let text = match &bot.setting.review_page {
        _ if !rights::moderates(&scene.member, &places) => words::MODERATORS_ONLY,
        Some(page) => page,
        None => words::NO_REVIEW,
    };
    respond::say(bot, &scene.act, text).await;
}
