//! Threads and forum posts: start, change, list (Discord developer documentation, Channel Resource, Threads).

use std::time::Instant;

use serde_json::{Value, json};

use super::message::bits_for;
use super::post::Post;
use super::reach;
use crate::fake::call::Call;
use crate::fake::check::message::Stage;
use crate::fake::check::{list, message, thread};
use crate::fake::permission::{
    CREATE_PRIVATE_THREADS, CREATE_PUBLIC_THREADS, MANAGE_THREADS, READ_MESSAGE_HISTORY,
    SEND_MESSAGES, SEND_MESSAGES_IN_THREADS, is_thread,
};
use crate::fake::reply::{Answer, Reply, archived, missing_permissions, unknown};
use crate::fake::shape::{REGULAR, RENAMED, THREAD_STARTED, THREAD_STARTER, thread_json};
use crate::fake::time;
use crate::fake::world::{World, merge, number};

/// Channel flag of a forum whose posts need a tag.
const REQUIRE_TAG: u64 = 1 << 4;

/// Start Thread without Message, or in a forum or media channel.
pub fn start(world: &mut World, call: &Call, channel: u64) -> Answer {
    let parent = reach(world, channel, 0)?;
    if matches!(parent["type"].as_u64(), Some(15 | 16)) {
        return start_post(world, call, &parent, channel);
    }
    if !matches!(parent["type"].as_u64(), Some(0 | 5)) {
        return Err(Reply::error(
            400,
            50_024,
            "Cannot execute action on this channel type",
        ));
    }
    world.judge(call, &thread::check(&call.body, &Value::Null, true))?;
    let mut wish = call.body.clone();
    // The page says that a thread without a type is private.
    wish["type"] = json!(wish["type"].as_u64().unwrap_or(12));
    reach(
        world,
        channel,
        if wish["type"] == 12 {
            CREATE_PRIVATE_THREADS
        } else {
            CREATE_PUBLIC_THREADS
        },
    )?;
    let id = world.next_id();
    let whole = world.add_thread((id, world.bot), &parent, &wish);
    if wish["type"] == 11 {
        let reference = json!({"content": wish["name"], "message_reference": {"type": 0, "channel_id": id.to_string()}});
        world.system_message(THREAD_STARTED, channel, world.bot, &reference);
    }
    Ok(Reply::created(whole))
}

/// Start Thread in Forum or Media Channel: the thread and its first message at once.
fn start_post(world: &mut World, call: &Call, forum: &Value, channel: u64) -> Answer {
    let mut inner = call.clone();
    inner.body = call.body["message"].clone();
    reach(world, channel, SEND_MESSAGES)?;
    reach(world, channel, bits_for(forum, &inner))?;
    world.judge(call, &thread::check(&call.body, forum, true))?;
    world.judge(call, &message::check(&inner.body, &inner.files, Stage::New))?;
    let needs_tag = forum["flags"].as_u64().unwrap_or(0) & REQUIRE_TAG != 0;
    if needs_tag && list(&call.body["applied_tags"]).is_empty() {
        return Err(Reply::error(
            400,
            40_067,
            "A tag is required to create a forum post in this channel",
        ));
    }
    let id = world.next_id();
    let mut whole = world.add_thread((id, world.bot), forum, &call.body);
    world.keep_as(
        id,
        &inner,
        Post {
            channel: id,
            author: world.bot,
            kind: REGULAR,
            only_for: None,
        },
    );
    whole["message"] = world.messages[&id].json.clone();
    Ok(Reply::created(whole))
}

/// Start Thread from Message: the thread has the message's id.
pub fn start_from(world: &mut World, call: &Call, channel: u64, from: u64) -> Answer {
    let parent = reach(world, channel, CREATE_PUBLIC_THREADS)?;
    if world.live(from).is_none_or(|one| one.channel != channel) {
        return Err(unknown("Message"));
    }
    if is_thread(&parent) {
        return Err(Reply::error(
            400,
            50_024,
            "Cannot execute action on this channel type",
        ));
    }
    if world.channels.contains_key(&from) {
        return Err(Reply::error(
            400,
            160_004,
            "A thread has already been created for this message",
        ));
    }
    world.judge(call, &thread::check(&call.body, &Value::Null, true))?;
    let whole = world.add_thread_from(from, world.bot, &call.body);
    Ok(Reply::created(whole))
}

/// List Public Archived Threads: those archived last first.
pub fn archived_public(world: &World, call: &Call, channel: u64) -> Answer {
    reach(world, channel, READ_MESSAGE_HISTORY)?;
    let limit = call
        .asked("limit")
        .and_then(|text| text.parse().ok())
        .unwrap_or(50);
    let before = call.asked("before").unwrap_or("9999").to_owned();
    let at = |one: &Value| {
        one["thread_metadata"]["archive_timestamp"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    };
    let asleep = |one: &&Value| {
        number(&one["parent_id"]) == Some(channel) && one["thread_metadata"]["archived"] == true
    };
    let mut all: Vec<_> = world
        .channels
        .values()
        .filter(asleep)
        .filter(|one| at(one) < before)
        .cloned()
        .collect();
    all.sort_by_key(|one| std::cmp::Reverse(at(one)));
    let more = all.len() > limit;
    all.truncate(limit);
    Ok(Reply::with(
        json!({"threads": all, "members": [], "has_more": more}),
    ))
}

/// Modify Channel, Thread.
pub fn change(world: &mut World, call: &Call, channel: u64, found: &Value) -> Answer {
    let parent = number(&found["parent_id"])
        .and_then(|id| world.channels.get(&id))
        .cloned()
        .unwrap_or_default();
    may_change(world, call, channel, found)?;
    world.judge(call, &thread::check(&call.body, &parent, false))?;
    let asleep = found["thread_metadata"]["archived"] == true;
    if asleep && call.body["archived"] != false {
        return Err(archived());
    }
    if call.body["name"].is_string() && call.body["name"] != found["name"] {
        count_rename(world, channel)?;
    }
    let changed = world.change_thread(channel, &call.body);
    if call.body["name"].is_string() && call.body["name"] != found["name"] {
        world.system_message(
            RENAMED,
            channel,
            world.bot,
            &json!({"content": call.body["name"]}),
        );
    }
    Ok(Reply::with(changed))
}

/// Opening an unlocked thread needs the right to write. The rest needs `MANAGE_THREADS`; that a thread's owner
/// may rename, archive and tag it is from memory.
fn may_change(world: &World, call: &Call, channel: u64, found: &Value) -> Result<(), Reply> {
    if world.bot_may(channel, MANAGE_THREADS) {
        return Ok(());
    }
    let fields: Vec<_> = call
        .body
        .as_object()
        .into_iter()
        .flatten()
        .map(|(key, _)| key.as_str())
        .collect();
    let unlocked = found["thread_metadata"]["locked"] != true;
    let only_opens = fields == ["archived"] && call.body["archived"] == false;
    if unlocked && only_opens && world.bot_may(channel, SEND_MESSAGES_IN_THREADS) {
        return Ok(());
    }
    let own = number(&found["owner_id"]) == Some(world.bot);
    let of_owner = ["name", "archived", "auto_archive_duration", "applied_tags"];
    if own && unlocked && fields.iter().all(|field| of_owner.contains(field)) {
        return Ok(());
    }
    Err(missing_permissions())
}

/// Two renames in ten minutes, from memory.
fn count_rename(world: &mut World, channel: u64) -> Result<(), Reply> {
    let (most, window) = (
        world.settings.limits.renames,
        world.settings.limits.rename_window,
    );
    let times = world.renames.entry(channel).or_default();
    times.retain(|at| at.elapsed() < window);
    if let Some(first) = times.first().filter(|_| times.len() >= most) {
        let wait = window.saturating_sub(first.elapsed());
        world.breach(format!(
            "thread {channel} renamed more than {most} times within {window:?}"
        ));
        return Err(Reply::too_many(wait.as_secs_f64(), "shared"));
    }
    times.push(Instant::now());
    Ok(())
}

impl World {
    /// Adds a thread, and tells.
    pub fn add_thread(&mut self, (id, owner): (u64, u64), parent: &Value, wish: &Value) -> Value {
        let mut whole = thread_json(id, parent, owner, wish);
        if matches!(parent["type"].as_u64(), Some(15 | 16)) {
            whole["type"] = json!(11);
        }
        self.channels.insert(id, whole.clone());
        let mut told = whole.clone();
        told["newly_created"] = json!(true);
        if owner == self.bot {
            let member = json!({"id": id.to_string(), "user_id": owner.to_string(), "join_timestamp": time::iso_now(), "flags": 1});
            whole["member"] = member.clone();
            told["member"] = member;
        }
        self.emit("THREAD_CREATE", number(&parent["guild_id"]), told);
        whole
    }

    /// Adds a thread that grows from a message, with the message that opens it.
    pub fn add_thread_from(&mut self, from: u64, owner: u64, wish: &Value) -> Value {
        let channel = self.messages[&from].channel;
        let parent = self.channels[&channel].clone();
        let whole = self.add_thread((from, owner), &parent, wish);
        if let Some(message) = self.messages.get_mut(&from) {
            message.json["thread"] = whole.clone();
            message.json["flags"] = json!(message.json["flags"].as_u64().unwrap_or(0) | 32);
        }
        self.tell_change(from);
        let origin = self.messages[&from].json.clone();
        let reference = json!({
            "message_reference": {"type": 0, "channel_id": channel.to_string(), "message_id": from.to_string()},
            "referenced_message": origin,
        });
        self.system_message(THREAD_STARTER, from, owner, &reference);
        self.channels[&from].clone()
    }

    /// Changes a thread's fields, and tells.
    pub fn change_thread(&mut self, id: u64, wish: &Value) -> Value {
        let Some(thread) = self.channels.get_mut(&id) else {
            return Value::Null;
        };
        for (key, value) in wish.as_object().into_iter().flatten() {
            match key.as_str() {
                "archived" | "locked" | "auto_archive_duration" | "invitable" => {
                    merge(&mut thread["thread_metadata"], &json!({key: value}));
                }
                _ => thread[key] = value.clone(),
            }
        }
        if wish.get("archived").is_some() {
            thread["thread_metadata"]["archive_timestamp"] = json!(time::iso_now());
        }
        let told = thread.clone();
        self.emit("THREAD_UPDATE", number(&told["guild_id"]), told.clone());
        told
    }
}
