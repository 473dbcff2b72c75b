//! Events as they come from the gateway, read and put in the line where they belong.

use super::bot::{Bot, Job, Me, What};
use super::event::{Interaction, Message};
use super::gateway::Dispatch;
use super::{Registration, command};
use crate::desk::Dialogue;
use serde::de::DeserializeOwned;
use serde_json::Value;
use serenity::model::id::{ApplicationId, GuildId, UserId};
use std::sync::Arc;
use tokio::sync::mpsc;
use tokio::time::Instant;

/// Reads events until the gateway has stopped and all are read. Nothing here waits for Discord or for
/// a turn, so that the heart of the gateway beats on.
pub async fn all<D: Dialogue + 'static>(bot: Arc<Bot<D>>, mut events: mpsc::Receiver<Dispatch>) {
    while let Some(event) = events.recv().await {
        route(&bot, event);
    }
}

fn route<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, event: Dispatch) {
    match event.name.as_str() {
        "READY" => ready(bot, &event.data),
        "MESSAGE_CREATE" => {
            if let Some(message) = read::<Message, D>(bot, event.data)
                && message.by_person()
                && message.guild_id.is_some()
            {
                let (channel, order) = (message.channel_id.get(), message.id.get());
                put(bot, channel, order, What::Said(message));
            }
        }
        "INTERACTION_CREATE" => {
            if let Some(act) = read::<Interaction, D>(bot, event.data) {
                let order = act.id.get();
                let channel = act
                    .channel_id
                    .map_or(order, serenity::model::id::ChannelId::get);
                put(bot, channel, order, What::Acted(Box::new(act)));
            }
        }
        "GUILD_CREATE" => {
            // A group that comes back after an outage of Discord's own, or has just invited us.
            let id = super::rest::number(&event.data["id"]);
            if id > 0 && event.data["unavailable"] != true {
                bot.catch_up(GuildId::new(id));
            }
        }
        _ => {}
    }
}

fn put<D: Dialogue + 'static>(bot: &Bot<D>, channel: u64, order: u64, what: What) {
    let since = Instant::now();
    bot.inbox.put(channel, Job { order, since, what });
}

fn read<T: DeserializeOwned, D: Dialogue + 'static>(bot: &Bot<D>, data: Value) -> Option<T> {
    match serde_json::from_value(data) {
        Ok(read) => Some(read),
        Err(error) => {
            bot.gauges.unreadable();
            // The place in the event, not its text.
            tracing::warn!(category = ?error.classify(), "an event cannot be read");
            None
        }
    }
}

/// Learns who we are and, the first time, registers the commands. The groups come one by one after
/// this, and each is caught up with as it comes.
fn ready<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, ready: &Value) {
    let user = super::rest::number(&ready["user"]["id"]);
    let application = super::rest::number(&ready["application"]["id"]);
    if user == 0 || application == 0 {
        bot.gauges.unreadable();
        return;
    }
    let me = Me {
        user: UserId::new(user),
        application: ApplicationId::new(application),
    };
    if bot.introduce(me) {
        let bot = Arc::clone(bot);
        bot.running
            .clone()
            .spawn(async move { register(&bot, me.application).await });
    }
}

async fn register<D: Dialogue + 'static>(bot: &Bot<D>, application: ApplicationId) {
    let commands = command::all();
    let places = match &bot.setting.registration {
        Registration::No => return,
        Registration::Everywhere => vec![None],
        Registration::In(groups) => groups.iter().copied().map(Some).collect(),
    };
    for place in places {
        match bot.rest.register(application, place, &commands).await {
            Ok(()) => tracing::info!(group = ?place, "commands registered"),
            Err(refusal) => {
                tracing::error!(group = ?place, %refusal, "commands cannot be registered");
            }
        }
    }
}
