//! Messages: list, get, create, edit, delete (Discord developer documentation, Message Resource).

use serde_json::{Value, json};

use super::channel::speak;
use super::post::Post;
use super::reach;
use crate::fake::call::Call;
use crate::fake::check::message::{Stage, check};
use crate::fake::permission::{ATTACH_FILES, EMBED_LINKS, MANAGE_MESSAGES, READ_MESSAGE_HISTORY};
use crate::fake::reply::{Answer, Reply, archived, invalid_form, unknown};
use crate::fake::shape::REGULAR;
use crate::fake::world::{World, number};

/// Get Channel Messages: newest first.
pub fn list(world: &mut World, call: &Call, channel: u64) -> Answer {
    reach(world, channel, 0)?;
    let limit = call
        .asked("limit")
        .map_or(Some(50), |text| text.parse().ok())
        .filter(|count| (1..=100).contains(count));
    let Some(limit) = limit else {
        world.breach(format!(
            "{}: limit {:?}, 1 to 100 allowed",
            call.title(),
            call.asked("limit")
        ));
        return Err(invalid_form(&["limit".into()]));
    };
    if !world.bot_may(channel, READ_MESSAGE_HISTORY) {
        return Ok(Reply::with(json!([])));
    }
    let here = world
        .messages
        .iter()
        .filter(|(_, one)| one.channel == channel && !one.deleted && one.only_for.is_none());
    let ids: Vec<u64> = here.map(|(id, _)| *id).collect();
    let asked = |name: &str| call.asked(name).and_then(|text| text.parse::<u64>().ok());
    let ids = page(
        &ids,
        limit,
        (asked("before"), asked("after"), asked("around")),
    );
    Ok(Reply::with(
        ids.iter()
            .map(|id| world.shown(&world.messages[id].json))
            .collect(),
    ))
}

/// Picks a page from rising ids and turns it newest first.
fn page(
    ids: &[u64],
    limit: usize,
    (before, after, around): (Option<u64>, Option<u64>, Option<u64>),
) -> Vec<u64> {
    let mut picked: Vec<u64> = match (before, after, around) {
        (_, Some(after), _) => ids
            .iter()
            .copied()
            .filter(|id| *id > after)
            .take(limit)
            .collect(),
        (_, _, Some(around)) => {
            let at = ids.partition_point(|id| *id < around);
            let start = at.saturating_sub(limit / 2);
            ids[start..].iter().copied().take(limit).collect()
        }
        (before, ..) => {
            let older: Vec<_> = ids
                .iter()
                .copied()
                .filter(|id| before.is_none_or(|edge| *id < edge))
                .collect();
            older[older.len().saturating_sub(limit)..].to_vec()
        }
    };
    picked.reverse();
    picked
}

/// Get Channel Message.
pub fn get(world: &World, channel: u64, id: u64) -> Answer {
    reach(world, channel, READ_MESSAGE_HISTORY)?;
    let found = world
        .live(id)
        .filter(|one| one.channel == channel && one.only_for.is_none());
    found
        .map(|one| Reply::with(world.shown(&one.json)))
        .ok_or_else(|| unknown("Message"))
}

/// The bits a message needs here.
pub fn bits_for(channel: &Value, call: &Call) -> u64 {
    let embeds = call.body["embeds"]
        .as_array()
        .is_some_and(|all| !all.is_empty());
    let files = if call.files.is_empty() {
        0
    } else {
        ATTACH_FILES
    };
    speak(channel) | files | if embeds { EMBED_LINKS } else { 0 }
}

/// Create Message; a repeated nonce gives the first message again.
pub fn create(world: &mut World, call: &Call, channel: u64) -> Answer {
    let found = reach(world, channel, 0)?;
    reach(world, channel, bits_for(&found, call))?;
    world.judge(call, &check(&call.body, &call.files, Stage::New))?;
    if !matches!(found["type"].as_u64(), Some(0..=3 | 5 | 10..=12)) {
        return Err(Reply::error(
            400,
            50_008,
            "Cannot send messages in a non-text channel",
        ));
    }
    if found["thread_metadata"]["locked"] == true
        && !world.bot_may(channel, crate::fake::permission::MANAGE_THREADS)
    {
        return Err(archived());
    }
    if let Some(first) = world.repeated(&call.body) {
        return Ok(Reply::with(world.messages[&first].json.clone()));
    }
    check_reference(world, call, channel)?;
    let id = world.keep(
        call,
        Post {
            channel,
            author: world.bot,
            kind: REGULAR,
            only_for: None,
        },
    );
    world.remember_nonce(&call.body, id);
    Ok(Reply::with(world.messages[&id].json.clone()))
}

/// A reply needs its target, unless it said that it does not.
fn check_reference(world: &World, call: &Call, channel: u64) -> Result<(), Reply> {
    let reference = &call.body["message_reference"];
    let Some(target) = number(&reference["message_id"]) else {
        return Ok(());
    };
    let there = world.live(target).is_some_and(|one| one.channel == channel);
    if there || reference["fail_if_not_exists"] == false {
        return Ok(());
    }
    Err(invalid_form(&["message_reference: Unknown message".into()]))
}

/// Edit Message.
pub fn edit(world: &mut World, call: &Call, channel: u64, id: u64) -> Answer {
    let found = reach(world, channel, 0)?;
    let message = world
        .live(id)
        .filter(|one| one.channel == channel && one.only_for.is_none());
    let author = message.ok_or_else(|| unknown("Message"))?.author;
    if author != world.bot {
        return Err(Reply::error(
            403,
            50_005,
            "Cannot edit a message authored by another user",
        ));
    }
    if found["thread_metadata"]["archived"] == true {
        return Err(archived());
    }
    world.judge(call, &check(&call.body, &call.files, Stage::Edit))?;
    world.rewrite(call, id);
    Ok(Reply::with(world.messages[&id].json.clone()))
}

/// Delete Message.
pub fn delete(world: &mut World, channel: u64, id: u64) -> Answer {
    reach(world, channel, 0)?;
    let message = world
        .live(id)
        .filter(|one| one.channel == channel && one.only_for.is_none());
    let author = message.ok_or_else(|| unknown("Message"))?.author;
    if author != world.bot {
        reach(world, channel, MANAGE_MESSAGES)?;
    }
    if world.channels[&channel]["thread_metadata"]["archived"] == true {
        return Err(archived());
    }
    world.remove_message(id);
    Ok(Reply::nothing())
}

impl World {
    /// Takes a message away, and tells.
    pub fn remove_message(&mut self, id: u64) {
        let Some(message) = self.messages.get_mut(&id) else {
            return;
        };
        message.deleted = true;
        let (channel, hidden) = (message.channel, message.only_for.is_some());
        if let Some(pins) = self.pins.get_mut(&channel) {
            pins.retain(|(pinned, _)| *pinned != id);
        }
        let guild = self.guild_of(channel);
        let told = json!({"id": id.to_string(), "channel_id": channel.to_string(), "guild_id": guild.map(|one| one.to_string())});
        if !hidden {
            self.emit("MESSAGE_DELETE", guild, told);
        }
    }
}
