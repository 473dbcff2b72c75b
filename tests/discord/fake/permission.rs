//! Permission bits and what a member may do in a channel (Discord developer documentation, Permissions).

use serde_json::Value;

use super::world::{World, number};

/// May do everything.
pub const ADMINISTRATOR: u64 = 1 << 3;
/// May change channels.
pub const MANAGE_CHANNELS: u64 = 1 << 4;
/// May change the guild.
pub const MANAGE_GUILD: u64 = 1 << 5;
/// May see the channel.
pub const VIEW_CHANNEL: u64 = 1 << 10;
/// May write in a channel, and post in a forum.
pub const SEND_MESSAGES: u64 = 1 << 11;
/// May delete other people's messages.
pub const MANAGE_MESSAGES: u64 = 1 << 13;
/// May send embeds.
pub const EMBED_LINKS: u64 = 1 << 14;
/// May send files.
pub const ATTACH_FILES: u64 = 1 << 15;
/// May read what was said before.
pub const READ_MESSAGE_HISTORY: u64 = 1 << 16;
/// May use application commands.
pub const USE_APPLICATION_COMMANDS: u64 = 1 << 31;
/// May lock, unlock, rename and delete threads.
pub const MANAGE_THREADS: u64 = 1 << 34;
/// May start a public thread.
pub const CREATE_PUBLIC_THREADS: u64 = 1 << 35;
/// May start a private thread.
pub const CREATE_PRIVATE_THREADS: u64 = 1 << 36;
/// May write in threads.
pub const SEND_MESSAGES_IN_THREADS: u64 = 1 << 38;
/// May pin; split from `MANAGE_MESSAGES` (Discord developer documentation, Change Log).
pub const PIN_MESSAGES: u64 = 1 << 51;
/// Every bit that exists.
pub const ALL: u64 = (1 << 52) - 1;
/// What `@everyone` may do in a guild of the fake.
pub const EVERYONE: u64 = VIEW_CHANNEL
    | SEND_MESSAGES
    | EMBED_LINKS
    | ATTACH_FILES
    | READ_MESSAGE_HISTORY
    | USE_APPLICATION_COMMANDS
    | CREATE_PUBLIC_THREADS
    | SEND_MESSAGES_IN_THREADS;
/// What the bot's own role adds.
pub const BOT: u64 = EVERYONE | MANAGE_MESSAGES | MANAGE_THREADS | PIN_MESSAGES;

impl World {
    /// What a member may do in the whole guild.
    pub fn permissions_in_guild(&self, guild: u64, user: u64) -> u64 {
        let Some(home) = self.guilds.get(&guild) else {
            return 0;
        };
        let Some(member) = home.members.get(&user) else {
            return 0;
        };
        let granted = home
            .roles
            .iter()
            .filter(|role| role.id == guild || member.roles.contains(&role.id))
            .fold(0, |bits, role| bits | role.permissions);
        if granted & ADMINISTRATOR != 0 || home.owner == user {
            ALL
        } else {
            granted
        }
    }

    /// What a member may do in a channel; a thread follows its parent.
    pub fn permissions_in(&self, channel: u64, user: u64) -> u64 {
        let Some(place) = self.channels.get(&channel) else {
            return 0;
        };
        let Some(guild) = number(&place["guild_id"]) else {
            return EVERYONE;
        };
        let bits = self.permissions_in_guild(guild, user);
        if bits == ALL {
            return ALL;
        }
        let parent = if is_thread(place) {
            number(&place["parent_id"]).unwrap_or(channel)
        } else {
            channel
        };
        let overwrites = self
            .channels
            .get(&parent)
            .map_or(&Value::Null, |found| &found["permission_overwrites"]);
        let roles = self.guilds[&guild]
            .members
            .get(&user)
            .map(|found| found.roles.clone())
            .unwrap_or_default();
        let bits = apply(bits, overwrites, |target| target == guild);
        let bits = apply(bits, overwrites, |target| roles.contains(&target));
        let bits = apply(bits, overwrites, |target| target == user);
        if bits & VIEW_CHANNEL == 0 { 0 } else { bits }
    }
}

/// Takes away what the matching overwrites deny, then adds what they allow.
fn apply(bits: u64, overwrites: &Value, wanted: impl Fn(u64) -> bool) -> u64 {
    let (mut allow, mut deny) = (0, 0);
    for overwrite in overwrites.as_array().into_iter().flatten() {
        if number(&overwrite["id"]).is_some_and(&wanted) {
            allow |= number(&overwrite["allow"]).unwrap_or(0);
            deny |= number(&overwrite["deny"]).unwrap_or(0);
        }
    }
    bits & !deny | allow
}

/// Whether a channel is a thread.
pub fn is_thread(channel: &Value) -> bool {
    matches!(channel["type"].as_u64(), Some(10..=12))
}
