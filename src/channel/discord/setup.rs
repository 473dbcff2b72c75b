//! Setting a group up: which forums are watched, who moderates, what is kept and who may read it.

use super::act::Scene;
use super::bot::{Bot, group};
use super::markdown::plain;
use super::places::{Places, Watched};
use super::{respond, rights, words};
use crate::desk::Dialogue;
use crate::store::setting::{Openness, Setting};
use serenity::model::id::{ChannelId, RoleId};
use std::sync::Arc;

/// Changes what the options name, and says how things are set then.
pub async fn setup<D: Dialogue + 'static>(bot: &Arc<Bot<D>>, scene: Scene) {
    if !rights::sets_up(&scene.member) {
        respond::say(bot, &scene.act, words::MODERATORS_ONLY).await;
        return;
    }
    let name = group(scene.guild);
    let store = bot.desk.store();
    let Ok(mut setting) = store.setting(name.clone()).await else {
        respond::say(bot, &scene.act, words::TRY_AGAIN).await;
        return;
    };
    let mut places = Places::of(&setting);
    change_places(&scene, &mut places);
    change_setting(&scene, &mut setting);
    let unknown: Vec<String> = places
        .sheets
        .iter()
        .filter(|sheet| !bot.setting.sheets.contains_key(*sheet))
        .cloned()
        .collect();
    places.sheets.retain(|sheet| !unknown.contains(sheet));
    setting.channel = places.kept();
    let text = match store.set(name, setting.clone()).await {
        Ok(()) => described(&setting, &places, &unknown),
        Err(_) => words::TRY_AGAIN.to_owned(),
    };
    respond::say(bot, &scene.act, &text).await;
}

fn change_places(scene: &Scene, places: &mut Places) {
    let id = |name: &str| {
        scene
            .act
            .option(name)
            .map(super::rest::number)
            .filter(|id| *id > 0)
    };
    if let Some(forum) = id("watch").filter(|forum| places.watching(*forum).is_none()) {
        places.watched.push(Watched {
            forum: ChannelId::new(forum),
            since: scene.act.id.get(),
        });
    }
    if let Some(forum) = id("unwatch") {
        places
            .watched
            .retain(|watched| watched.forum.get() != forum);
    }
    if let Some(role) = id("moderators").map(RoleId::new) {
        places.moderators = Some(role);
    }
    if let Some(channel) = id("helpers").map(ChannelId::new) {
        places.helpers = Some(channel);
    }
    if let Some(sheets) = scene.act.text("sheets") {
        let named = sheets.split_whitespace().filter(|sheet| *sheet != "-");
        places.sheets = named.map(str::to_owned).collect();
    }
}

fn change_setting(scene: &Scene, setting: &mut Setting) {
    let days = scene
        .act
        .option("keep-days")
        .and_then(serde_json::Value::as_u64);
    if let Some(days) = days
        .and_then(|days| u16::try_from(days).ok())
        .filter(|days| *days > 0)
    {
        setting.retention_days = days;
    }
    if let Some(nudge) = scene
        .act
        .option("reminders")
        .and_then(serde_json::Value::as_bool)
    {
        setting.nudge = nudge;
    }
    setting.open = match scene.act.text("open-to-volunteers") {
        Some("nothing") => Openness::Nothing,
        Some("handed-over") => Openness::HandedOver,
        Some("everything") => Openness::Everything,
        _ => setting.open,
    };
}

/// How a group is set up, in words.
fn described(setting: &Setting, places: &Places, unknown: &[String]) -> String {
    let forums = places.watched.iter();
    let forums: Vec<String> = forums
        .map(|watched| format!("<#{}>", watched.forum))
        .collect();
    let open = match setting.open {
        Openness::Nothing => "nothing without the rider's consent",
        Openness::HandedOver => "what a person has taken over, and what riders consent to",
        Openness::Everything => "everything",
    };
    let mut lines = vec![
        words::SET.to_owned(),
        format!("Forums I answer in: {}", or_none(forums.join(", "))),
        format!(
            "Moderators, besides those who manage messages or threads: {}",
            or_none(
                places
                    .moderators
                    .map_or_else(String::new, |role| format!("<@&{role}>"))
            )
        ),
        format!(
            "Where I say that a rider wants a person: {}",
            or_none(
                places
                    .helpers
                    .map_or_else(String::new, |id| format!("<#{id}>"))
            )
        ),
        "Language: English".to_owned(),
        format!(
            "Kept for {} days after the last turn",
            setting.retention_days
        ),
        format!(
            "Reminders: {}",
            if setting.nudge {
                "one after three days"
            } else {
                "none"
            }
        ),
        format!("Volunteers may read: {open}"),
        format!(
            "Sheets approved: {}",
            or_none(plain(&places.sheets.join(", ")))
        ),
    ];
    if !unknown.is_empty() {
        lines.push(format!(
            "I know no sheet called {}; nothing was approved for it.",
            plain(&unknown.join(", "))
        ));
    }
    lines.join("\n")
}

fn or_none(text: String) -> String {
    if text.is_empty() {
        "none".to_owned()
    } else {
        text
    }
}
