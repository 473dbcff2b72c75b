//! What every interaction carries.

use std::time::Instant;

use serde_json::{Value, json};

use crate::fake::world::{Interaction, World, number};

/// Who does something where, and what.
pub struct Act<'a> {
    /// Where.
    pub channel: u64,
    /// Who.
    pub user: u64,
    /// 2 command, 3 component, 4 autocomplete, 5 modal.
    pub kind: u8,
    /// Message the component stands on.
    pub source: Option<u64>,
    /// Name for messages about it.
    pub name: &'a str,
}

impl World {
    /// Keeps an interaction and sends its event.
    pub fn interact(&mut self, act: &Act<'_>, data: &Value) -> u64 {
        let id = self.next_id();
        let token = format!("invented-interaction-token-{id}");
        let guild = self.guild_of(act.channel);
        let mut told = json!({
            "id": id.to_string(), "application_id": self.application.to_string(), "type": act.kind, "data": data,
            "channel_id": act.channel.to_string(), "channel": self.partial_channel(act.channel, act.user),
            "token": token, "version": 1, "locale": self.users[&act.user].locale, "entitlements": [],
            "app_permissions": self.permissions_in(act.channel, self.bot).to_string(),
            "authorizing_integration_owners": {"0": guild.map_or("0".to_owned(), |one| one.to_string())},
            "context": u8::from(guild.is_none()), "attachment_size_limit": 10_485_760,
        });
        self.say_who(&mut told, act, guild);
        if let Some(source) = act.source {
            told["message"] = self.messages[&source].json.clone();
        }
        let known = Interaction {
            id,
            token,
            guild,
            kind: act.kind,
            channel: act.channel,
            user: act.user,
            at: Instant::now(),
            answer: None,
            data: Value::Null,
            answered_after: None,
            original: None,
            source: act.source,
            thinking: false,
            followups: Vec::new(),
            name: act.name.to_owned(),
        };
        self.interactions.insert(id, known);
        self.emit("INTERACTION_CREATE", guild, told);
        id
    }

    /// In a guild a member with permissions, elsewhere a user.
    fn say_who(&self, told: &mut Value, act: &Act<'_>, guild: Option<u64>) {
        let Some(guild) = guild else {
            told["user"] = self.user_json(act.user);
            return;
        };
        let locale = &self.guilds[&guild].locale;
        let mut member = self.member_json(guild, act.user);
        member["permissions"] = json!(self.permissions_in(act.channel, act.user).to_string());
        told["member"] = member;
        told["guild_id"] = json!(guild.to_string());
        told["guild_locale"] = json!(locale);
        told["guild"] = json!({"id": guild.to_string(), "locale": locale, "features": []});
    }

    /// A channel as interactions show it.
    pub fn partial_channel(&self, channel: u64, user: u64) -> Value {
        let mut shown = self.channels[&channel].clone();
        shown["permissions"] = json!(self.permissions_in(channel, user).to_string());
        shown
    }

    /// The maps of users, roles and channels that ids in an interaction stand for.
    pub fn resolved(&self, ids: &[u64], channel: u64, user: u64) -> Value {
        let mut out = json!({});
        let guild = self.guild_of(channel);
        for id in ids {
            let name = id.to_string();
            let role =
                guild.and_then(|one| self.guilds[&one].roles.iter().find(|role| role.id == *id));
            if self.users.contains_key(id) {
                out["users"][&name] = self.user_json(*id);
                if let Some(guild) = guild.filter(|one| self.guilds[one].members.contains_key(id)) {
                    let mut member = self.partial_member(guild, *id);
                    member["permissions"] = json!(self.permissions_in(channel, *id).to_string());
                    out["members"][&name] = member;
                }
            } else if let Some(role) = role {
                out["roles"][&name] = crate::fake::shape::role_json(role);
            } else if self.channels.contains_key(id) {
                out["channels"][&name] = self.partial_channel(*id, user);
            }
        }
        out
    }
}

/// The ids in a list of values.
pub fn ids(values: &[Value]) -> Vec<u64> {
    values.iter().filter_map(number).collect()
}
