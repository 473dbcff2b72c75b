//! One interaction: a command, a press, a choice in a menu or a form, led to where it is handled.

use super::bot::Bot;
use super::event::{Interaction, Kind, Member};
use super::{order, press, respond, words};
use crate::desk::Dialogue;
use serenity::model::id::{ChannelId, GuildId};
use std::sync::Arc;
use tokio::time::Instant;

/// Where an interaction happened and who acted.
pub struct Scene {
    /// The interaction.
    pub act: Interaction,
    /// In which group.
    pub guild: GuildId,
    /// In which channel or thread.
    pub channel: ChannelId,
    /// By whom.
    pub member: Member,
    /// When it came.
    pub since: Instant,
}

/// Handles an interaction.
pub async fn act<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, act: Interaction, since: Instant) {
    let (Some(guild), Some(channel), Some(member)) =
        (act.guild_id, act.channel_id, act.member.clone())
    else {
        respond::say(bot, &act, words::GROUPS_ONLY).await;
        return;
    };
    let scene = Scene {
        act,
        guild,
        channel,
        member,
        since,
    };
    match scene.act.kind() {
        Kind::Command => order::order(bot, scene).await,
        Kind::Component | Kind::Form => press::press(bot, scene).await,
        Kind::Other => {}
    }
}
