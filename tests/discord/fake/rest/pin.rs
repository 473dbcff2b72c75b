//! Pins on the older and the newer paths (Discord developer documentation, Message Resource).

use serde_json::{Value, json};

use super::reach;
use crate::fake::call::Call;
use crate::fake::permission::{PIN_MESSAGES, READ_MESSAGE_HISTORY};
use crate::fake::reply::{Answer, Reply, archived, unknown};
use crate::fake::shape::PINNED;
use crate::fake::time;
use crate::fake::world::World;

/// Pins a channel holds, from memory.
const MOST: usize = 250;

/// Get Pinned Messages (deprecated): newest first.
pub fn list_old(world: &World, channel: u64) -> Answer {
    reach(world, channel, 0)?;
    Ok(Reply::with(
        pinned(world, channel)
            .into_iter()
            .map(|(json, _)| json)
            .collect(),
    ))
}

/// Get Channel Pins: a page with the time of each pin.
pub fn list(world: &World, call: &Call, channel: u64) -> Answer {
    reach(world, channel, 0)?;
    let limit = call
        .asked("limit")
        .and_then(|text| text.parse().ok())
        .unwrap_or(50);
    let before = call.asked("before").unwrap_or("9999");
    let all: Vec<_> = pinned(world, channel)
        .into_iter()
        .filter(|(_, at)| at.as_str() < before)
        .collect();
    let items: Vec<_> = all
        .iter()
        .take(limit)
        .map(|(json, at)| json!({"pinned_at": at, "message": json}))
        .collect();
    Ok(Reply::with(
        json!({"items": items, "has_more": all.len() > limit}),
    ))
}

fn pinned(world: &World, channel: u64) -> Vec<(Value, String)> {
    if !world.bot_may(channel, READ_MESSAGE_HISTORY) {
        return Vec::new();
    }
    let pins = world.pins.get(&channel).map_or(&[][..], Vec::as_slice);
    pins.iter()
        .rev()
        .map(|(id, at)| (world.shown(&world.messages[id].json), at.clone()))
        .collect()
}

/// Pin Message; Discord writes a message of its own about it.
pub fn put(world: &mut World, channel: u64, id: u64) -> Answer {
    allowed(world, channel, id)?;
    let pins = world.pins.entry(channel).or_default();
    if pins.iter().any(|(one, _)| *one == id) {
        return Ok(Reply::nothing());
    }
    if pins.len() >= MOST {
        return Err(Reply::error(400, 30_003, "Maximum number of pins reached"));
    }
    pins.push((id, time::iso_now()));
    changed(world, channel, id, true);
    let reference = json!({"message_reference": {"type": 0, "message_id": id.to_string(), "channel_id": channel.to_string()}});
    world.system_message(PINNED, channel, world.bot, &reference);
    Ok(Reply::nothing())
}

/// Unpin Message.
pub fn remove(world: &mut World, channel: u64, id: u64) -> Answer {
    allowed(world, channel, id)?;
    world
        .pins
        .entry(channel)
        .or_default()
        .retain(|(one, _)| *one != id);
    changed(world, channel, id, false);
    Ok(Reply::nothing())
}

fn allowed(world: &World, channel: u64, id: u64) -> Result<(), Reply> {
    let found = reach(world, channel, PIN_MESSAGES)?;
    if world.live(id).is_none_or(|one| one.channel != channel) {
        return Err(unknown("Message"));
    }
    if found["thread_metadata"]["archived"] == true {
        return Err(archived());
    }
    Ok(())
}

fn changed(world: &mut World, channel: u64, id: u64, pinned: bool) {
    if let Some(message) = world.messages.get_mut(&id) {
        message.json["pinned"] = json!(pinned);
    }
    let guild = world.guild_of(channel);
    let told = json!({
        "guild_id": guild.map(|one| one.to_string()), "channel_id": channel.to_string(),
        "last_pin_timestamp": pinned.then(time::iso_now),
    });
    world.emit("CHANNEL_PINS_UPDATE", guild, told);
}
