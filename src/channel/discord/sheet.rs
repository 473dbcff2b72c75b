//! Sheets of bikes that a group has approved: the list, and one of them in words.

use super::act::Scene;
use super::bot::Bot;
use super::markdown::plain;
use super::{respond, words};
use crate::desk::Dialogue;
use serenity::model::id::GuildId;
use std::sync::Arc;

/// Shows the list, or one sheet.
pub async fn show<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    let text = match scene.act.text("bike") {
        None => list(bot, scene.guild).await,
        Some(bike) => match approved(bot, scene.guild, bike).await {
            Ok(sheet) => sheet,
            Err(text) => text,
        },
    };
    respond::say(bot, &scene.act, &text).await;
}

/// A sheet in words, if the group has approved it; else what to say.
///
/// # Errors
/// When the group has not approved it, or the store fails.
pub async fn approved<D: Dialogue + 'static>(
    bot: &Bot<D>,
    guild: GuildId,
    bike: &str,
) -> Result<String, String> {
    let places = bot
        .places(guild)
        .await
        .map_err(|_| words::TRY_AGAIN.to_owned())?;
    let known = places.sheets.iter().any(|sheet| sheet == bike);
    match bot.setting.sheets.get(bike).filter(|_| known) {
        Some(sheet) => Ok(plain(&sheet.words)),
        None => Err(list(bot, guild).await),
    }
}

async fn list<D: Dialogue + 'static>(bot: &Bot<D>, guild: GuildId) -> String {
    let places = bot.places(guild).await.unwrap_or_default();
    if places.sheets.is_empty() {
        return words::NO_SHEETS.to_owned();
    }
    format!("{} {}", words::SHEETS, plain(&places.sheets.join(", ")))
}
