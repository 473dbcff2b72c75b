//! Guilds, their channels, active threads and members (Discord developer documentation, Guild Resource).

use serde_json::{Value, json};

use super::id;
use crate::fake::permission::{VIEW_CHANNEL, is_thread};
use crate::fake::reply::{Answer, Reply, missing_access, unknown};
use crate::fake::shape::{guild_json, role_json};
use crate::fake::world::{World, number};

/// Finds the handler of a path under a guild.
pub fn route(world: &World, guild: u64, rest: &[&str]) -> Option<Answer> {
    let Some(home) = world.guilds.get(&guild).filter(|home| home.joined) else {
        return Some(Err(missing_access()));
    };
    Some(Ok(Reply::with(match rest {
        [] => guild_json(home),
        ["roles"] => home.roles.iter().map(role_json).collect(),
        ["channels"] => channels(world, guild)
            .into_iter()
            .filter(|one| !is_thread(one))
            .collect(),
        ["threads", "active"] => json!({"threads": active(world, guild), "members": []}),
        ["members", user] => {
            let user = id(user)?;
            if !home.members.contains_key(&user) {
                return Some(Err(unknown("Member")));
            }
            world.member_json(guild, user)
        }
        _ => return None,
    })))
}

fn channels(world: &World, guild: u64) -> Vec<Value> {
    let here = |one: &&Value| number(&one["guild_id"]) == Some(guild);
    let seen = |one: &&Value| number(&one["id"]).is_some_and(|id| world.bot_may(id, VIEW_CHANNEL));
    world
        .channels
        .values()
        .filter(here)
        .filter(seen)
        .cloned()
        .collect()
}

fn active(world: &World, guild: u64) -> Vec<Value> {
    let awake = |one: &Value| is_thread(one) && one["thread_metadata"]["archived"] == false;
    channels(world, guild)
        .into_iter()
        .filter(awake)
        .rev()
        .collect()
}
