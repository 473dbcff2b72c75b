//! Everything under `/channels`: a channel itself, typing, joining, direct messages.

use serde_json::{Value, json};

use super::{id, message, pin, reach, thread};
use crate::fake::call::Call;
use crate::fake::permission::{
    MANAGE_CHANNELS, MANAGE_THREADS, SEND_MESSAGES, SEND_MESSAGES_IN_THREADS, is_thread,
};
use crate::fake::reply::{Answer, Reply, archived, unknown};
use crate::fake::time;
use crate::fake::world::{World, merge, number};

/// Finds the handler of a path under a channel.
pub fn route(world: &mut World, call: &Call, channel: u64, rest: &[&str]) -> Option<Answer> {
    Some(match (call.method.as_str(), rest) {
        ("GET", []) => reach(world, channel, 0).map(Reply::with),
        ("PATCH", []) => change(world, call, channel),
        ("DELETE", []) => delete(world, channel),
        ("POST", ["typing"]) => typing(world, channel),
        ("PUT", ["thread-members", "@me"]) => join(world, channel),
        ("DELETE", ["thread-members", "@me"]) => reach(world, channel, 0).map(|_| Reply::nothing()),
        ("POST", ["threads"]) => thread::start(world, call, channel),
        ("GET", ["threads", "archived", "public"]) => thread::archived_public(world, call, channel),
        ("GET", ["pins"]) => pin::list_old(world, channel),
        ("GET", ["messages", "pins"]) => pin::list(world, call, channel),
        ("PUT", ["pins", one] | ["messages", "pins", one]) => pin::put(world, channel, id(one)?),
        ("DELETE", ["pins", one] | ["messages", "pins", one]) => {
            pin::remove(world, channel, id(one)?)
        }
        ("GET", ["messages"]) => message::list(world, call, channel),
        ("POST", ["messages"]) => message::create(world, call, channel),
        ("GET", ["messages", one]) => message::get(world, channel, id(one)?),
        ("PATCH", ["messages", one]) => message::edit(world, call, channel, id(one)?),
        ("DELETE", ["messages", one]) => message::delete(world, channel, id(one)?),
        ("POST", ["messages", one, "threads"]) => {
            thread::start_from(world, call, channel, id(one)?)
        }
        _ => return None,
    })
}

/// The bits it takes to write here.
pub fn speak(channel: &Value) -> u64 {
    if is_thread(channel) {
        SEND_MESSAGES_IN_THREADS
    } else {
        SEND_MESSAGES
    }
}

fn typing(world: &mut World, channel: u64) -> Answer {
    let found = reach(world, channel, 0)?;
    reach(world, channel, speak(&found))?;
    *world.typing.entry(channel).or_default() += 1;
    Ok(Reply::nothing())
}

fn join(world: &mut World, channel: u64) -> Answer {
    let found = reach(world, channel, 0)?;
    if found["thread_metadata"]["archived"] == true {
        return Err(archived());
    }
    Ok(Reply::nothing())
}

/// Modify Channel (Discord developer documentation, Channel Resource).
fn change(world: &mut World, call: &Call, channel: u64) -> Answer {
    let found = reach(world, channel, 0)?;
    if is_thread(&found) {
        return thread::change(world, call, channel, &found);
    }
    reach(world, channel, MANAGE_CHANNELS)?;
    let mut changed = found;
    merge(&mut changed, &call.body);
    world.channels.insert(channel, changed.clone());
    world.emit(
        "CHANNEL_UPDATE",
        number(&changed["guild_id"]),
        changed.clone(),
    );
    Ok(Reply::with(changed))
}

fn delete(world: &mut World, channel: u64) -> Answer {
    let found = reach(world, channel, 0)?;
    reach(
        world,
        channel,
        if is_thread(&found) {
            MANAGE_THREADS
        } else {
            MANAGE_CHANNELS
        },
    )?;
    world.remove_channel(channel);
    Ok(Reply::with(found))
}

/// Create DM (Discord developer documentation, User Resource).
pub fn open_direct(world: &mut World, call: &Call) -> Answer {
    let user = number(&call.body["recipient_id"]).filter(|user| world.users.contains_key(user));
    let user = user.ok_or_else(|| unknown("User"))?;
    let channel = world.direct_channel(user);
    Ok(Reply::with(world.channels[&channel].clone()))
}

impl World {
    /// The direct channel with a user, made if there is none.
    pub fn direct_channel(&mut self, user: u64) -> u64 {
        let name = user.to_string();
        let known = self
            .channels
            .iter()
            .find(|(_, one)| one["type"] == 1 && one["recipients"][0]["id"] == name);
        if let Some((channel, _)) = known {
            return *channel;
        }
        let channel = self.next_id();
        let whole = json!({
            "id": channel.to_string(), "type": 1, "last_message_id": null, "flags": 0,
            "recipients": [self.user_json(user)], "created": time::iso_now(),
        });
        self.channels.insert(channel, whole);
        channel
    }

    /// Takes a channel or thread away, and tells.
    pub fn remove_channel(&mut self, channel: u64) {
        let Some(gone) = self.channels.remove(&channel) else {
            return;
        };
        let guild = number(&gone["guild_id"]);
        for message in self
            .messages
            .values_mut()
            .filter(|message| message.channel == channel)
        {
            message.deleted = true;
        }
        if is_thread(&gone) {
            let told = json!({"id": gone["id"], "guild_id": gone["guild_id"], "parent_id": gone["parent_id"], "type": gone["type"]});
            self.emit("THREAD_DELETE", guild, told);
        } else {
            self.emit("CHANNEL_DELETE", guild, gone);
        }
    }
}
