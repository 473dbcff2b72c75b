//! The JSON of users, members, guilds, channels and messages as Discord shows it.

use serde_json::{Value, json};

use super::permission::is_thread;
use super::settings::MESSAGE_CONTENT;
use super::time;
use super::world::{Guild, Role, World, merge, number};

/// What sort of message it is.
pub const REGULAR: u64 = 0;
/// "renamed the thread".
pub const RENAMED: u64 = 4;
/// "pinned a message".
pub const PINNED: u64 = 6;
/// "started a thread".
pub const THREAD_STARTED: u64 = 18;
/// First message of a thread that was started from a message.
pub const THREAD_STARTER: u64 = 21;

impl World {
    /// A user.
    pub fn user_json(&self, id: u64) -> Value {
        let user = &self.users[&id];
        json!({
            "id": id.to_string(), "username": user.name, "global_name": user.name, "discriminator": "0",
            "avatar": null, "bot": user.bot, "system": false, "public_flags": 0, "flags": 0,
            "banner": null, "accent_color": null, "avatar_decoration_data": null,
        })
    }

    /// A member without its user, as it comes with a message.
    pub fn partial_member(&self, guild: u64, user: u64) -> Value {
        let roles = self
            .guilds
            .get(&guild)
            .and_then(|home| home.members.get(&user))
            .map(|member| &member.roles);
        let roles: Vec<_> = roles.into_iter().flatten().map(u64::to_string).collect();
        json!({
            "roles": roles, "joined_at": time::iso(time::millis_of(guild.max(1 << 22))), "nick": null, "avatar": null,
            "premium_since": null, "deaf": false, "mute": false, "pending": false,
            "communication_disabled_until": null, "flags": 0,
        })
    }

    /// A whole member.
    pub fn member_json(&self, guild: u64, user: u64) -> Value {
        let mut member = self.partial_member(guild, user);
        member["user"] = self.user_json(user);
        member
    }

    /// A guild as `GUILD_CREATE` shows it.
    pub fn guild_create(&self, id: u64) -> Value {
        let guild = &self.guilds[&id];
        let of_guild = |channel: &&Value| number(&channel["guild_id"]) == Some(id);
        let (threads, channels): (Vec<_>, Vec<_>) = self
            .channels
            .values()
            .filter(of_guild)
            .partition(|one| is_thread(one));
        let active: Vec<_> = threads
            .into_iter()
            .filter(|one| one["thread_metadata"]["archived"] == false)
            .collect();
        let members: Vec<_> = [guild.owner, self.bot]
            .into_iter()
            .filter(|user| guild.members.contains_key(user))
            .map(|user| self.member_json(id, user))
            .collect();
        let mut json = guild_json(guild);
        merge(
            &mut json,
            &json!({
                "joined_at": time::iso_now(), "large": false, "unavailable": false, "member_count": guild.members.len(),
                "voice_states": [], "members": members, "channels": channels, "threads": active, "presences": [],
                "stage_instances": [], "guild_scheduled_events": [], "soundboard_sounds": [],
            }),
        );
        json
    }

    /// A message that is about to be kept.
    pub fn message_json(&self, id: u64, channel: u64, author: u64, kind: u64) -> Value {
        json!({
            "id": id.to_string(), "channel_id": channel.to_string(), "type": kind, "content": "",
            "author": self.user_json(author), "timestamp": time::iso_now(), "edited_timestamp": null,
            "tts": false, "mention_everyone": false, "mentions": [], "mention_roles": [], "attachments": [],
            "embeds": [], "components": [], "pinned": false, "flags": 0,
        })
    }

    /// A kept message as the REST side shows it: without what the missing intent hides.
    pub fn shown(&self, json: &Value) -> Value {
        let mut shown = json.clone();
        if self.settings.privileged & MESSAGE_CONTENT == 0 {
            self.censor(&mut shown);
        }
        shown
    }

    /// Takes the text out of a message, and out of the one it answers, as far as it is hidden.
    pub fn censor(&self, message: &mut Value) {
        if self.hides(message) {
            hide(message);
        }
        if let Some(inner) = message
            .get_mut("referenced_message")
            .filter(|inner| inner.is_object())
        {
            self.censor(inner);
        }
    }

    /// Whether text is hidden from a bot without the message content intent (Discord developer
    /// documentation, Gateway, Message Content Intent).
    pub fn hides(&self, json: &Value) -> bool {
        let bot = self.bot.to_string();
        let channel = number(&json["channel_id"]).unwrap_or(0);
        let mentioned = json["mentions"]
            .as_array()
            .is_some_and(|users| users.iter().any(|user| user["id"] == bot));
        json["author"]["id"] != bot && !mentioned && self.guild_of(channel).is_some()
    }

    /// A message as the gateway shows it, with guild and member.
    pub fn gateway_message(&self, json: &Value) -> Value {
        let mut message = json.clone();
        let channel = number(&json["channel_id"]).unwrap_or(0);
        if let (Some(guild), Some(author)) = (self.guild_of(channel), number(&json["author"]["id"]))
        {
            message["guild_id"] = json!(guild.to_string());
            message["member"] = self.partial_member(guild, author);
        }
        message
    }
}

/// A guild as GET shows it.
pub fn guild_json(guild: &Guild) -> Value {
    let roles: Vec<_> = guild.roles.iter().map(role_json).collect();
    json!({
        "id": guild.id.to_string(), "name": guild.name, "icon": null, "splash": null, "discovery_splash": null,
        "owner_id": guild.owner.to_string(), "afk_channel_id": null, "afk_timeout": 300,
        "verification_level": 1, "default_message_notifications": 1, "explicit_content_filter": 0,
        "roles": roles, "emojis": [], "features": ["COMMUNITY"], "mfa_level": 0, "application_id": null,
        "system_channel_id": null, "system_channel_flags": 0, "rules_channel_id": null, "vanity_url_code": null,
        "description": null, "banner": null, "premium_tier": 0, "premium_subscription_count": 0,
        "preferred_locale": guild.locale, "public_updates_channel_id": null, "nsfw_level": 0, "stickers": [],
        "premium_progress_bar_enabled": false, "safety_alerts_channel_id": null, "nsfw": false,
    })
}

/// Takes the text out of a message.
fn hide(message: &mut Value) {
    message["content"] = json!("");
    for field in ["embeds", "attachments", "components"] {
        message[field] = json!([]);
    }
}

/// A role.
pub fn role_json(role: &Role) -> Value {
    json!({
        "id": role.id.to_string(), "name": role.name, "color": 0, "colors": {"primary_color": 0},
        "hoist": false, "icon": null, "unicode_emoji": null, "position": 0, "permissions": role.permissions.to_string(),
        "managed": false, "mentionable": false, "flags": 0,
    })
}

/// A channel that is not a thread.
pub fn channel_json(id: u64, guild: u64, kind: u64, name: &str) -> Value {
    json!({
        "id": id.to_string(), "type": kind, "guild_id": guild.to_string(), "name": name, "position": 0,
        "permission_overwrites": [], "topic": null, "nsfw": false, "last_message_id": null,
        "rate_limit_per_user": 0, "parent_id": null, "flags": 0, "last_pin_timestamp": null,
    })
}

/// A thread that was just started.
pub fn thread_json(id: u64, parent: &Value, owner: u64, wish: &Value) -> Value {
    let now = time::iso_now();
    json!({
        "id": id.to_string(), "type": wish.get("type").and_then(Value::as_u64).unwrap_or(11),
        "guild_id": parent["guild_id"], "parent_id": parent["id"], "owner_id": owner.to_string(),
        "name": wish["name"], "last_message_id": null, "last_pin_timestamp": null, "rate_limit_per_user": 0,
        "message_count": 0, "total_message_sent": 0, "member_count": 1, "flags": 0,
        "applied_tags": wish.get("applied_tags").cloned().unwrap_or_else(|| json!([])),
        "thread_metadata": {
            "archived": false, "locked": false, "archive_timestamp": now, "create_timestamp": now,
            "auto_archive_duration": wish["auto_archive_duration"].as_u64().unwrap_or(4320),
        },
    })
}
