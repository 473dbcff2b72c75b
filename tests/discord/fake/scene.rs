//! Building the world a test plays in: guilds, people, channels, and what the bot may do there.

use serde_json::{Value, json};

use super::Fake;
use super::permission::{BOT, EVERYONE};
use super::shape::channel_json;
use super::world::{Guild, Member, Role, User, World, number};

impl Fake {
    /// A guild with the bot and an owner in it. Set it up before the bot connects, or call `join_guild` after.
    #[track_caller]
    pub fn guild(&self, id: u64) -> u64 {
        self.shared.with(|world| {
            let owner = world.add_user("demo-owner", false);
            let bot_role = Role {
                id: world.next_id(),
                name: "demo-bot".into(),
                permissions: BOT,
            };
            let everyone = Role {
                id,
                name: "@everyone".into(),
                permissions: EVERYONE,
            };
            let bot = Member {
                roles: vec![bot_role.id],
            };
            let guild = Guild {
                id,
                name: "Demo riders".into(),
                owner,
                locale: "en-US".into(),
                roles: vec![everyone, bot_role],
                members: [(owner, Member::default()), (world.bot, bot)].into(),
                joined: true,
            };
            world.guilds.insert(id, guild);
        });
        id
    }

    /// A role that grants these bits on top of `@everyone`.
    #[track_caller]
    pub fn role(&self, guild: u64, name: &str, permissions: u64) -> u64 {
        self.shared.with(|world| {
            let id = world.next_id();
            let home = world.guilds.get_mut(&guild).expect("the guild exists");
            home.roles.push(Role {
                id,
                name: name.into(),
                permissions,
            });
            id
        })
    }

    /// A person in a guild, with roles.
    #[track_caller]
    pub fn member(&self, guild: u64, name: &str, roles: &[u64]) -> u64 {
        let id = self.shared.with(|world| world.add_user(name, false));
        self.enter(guild, id, roles);
        id
    }

    /// Another bot in a guild.
    #[track_caller]
    pub fn other_bot(&self, guild: u64, name: &str) -> u64 {
        let id = self.shared.with(|world| world.add_user(name, true));
        self.enter(guild, id, &[]);
        id
    }

    /// Puts a person who exists into (another) guild, or gives other roles.
    #[track_caller]
    pub fn enter(&self, guild: u64, user: u64, roles: &[u64]) {
        self.shared.with(|world| {
            let home = world.guilds.get_mut(&guild).expect("the guild exists");
            home.members.insert(
                user,
                Member {
                    roles: roles.to_vec(),
                },
            );
        });
    }

    /// Sets the language of a person's client.
    #[track_caller]
    pub fn speaks(&self, user: u64, locale: &str) {
        self.shared.with(|world| {
            let known = world.users.get_mut(&user).expect("the person exists");
            known.locale = locale.into();
        });
    }

    /// A text channel.
    #[track_caller]
    pub fn text_channel(&self, guild: u64, name: &str) -> u64 {
        self.shared.with(|world| world.add_channel(guild, 0, name))
    }

    /// A forum with tags by name; gives the forum and the tags' ids.
    #[track_caller]
    pub fn forum(&self, guild: u64, name: &str, tags: &[&str]) -> (u64, Vec<u64>) {
        self.shared.with(|world| {
            let id = world.add_channel(guild, 15, name);
            let tags: Vec<_> = tags.iter().map(|tag| (world.next_id(), *tag)).collect();
            let tag = |(id, name): &(u64, &str)| {
                json!({"id": id.to_string(), "name": name, "moderated": false, "emoji_id": null, "emoji_name": null})
            };
            let channel = world.channels.get_mut(&id).expect("it was just made");
            channel["available_tags"] = tags.iter().map(tag).collect();
            channel["default_reaction_emoji"] = Value::Null;
            channel["default_sort_order"] = Value::Null;
            channel["default_forum_layout"] = json!(0);
            (id, tags.into_iter().map(|(id, _)| id).collect())
        })
    }

    /// Sets fields of a channel without telling (flags, topic, a parent).
    #[track_caller]
    pub fn arrange(&self, channel: u64, fields: &Value) {
        self.shared.with(|world| {
            let found = world
                .channels
                .get_mut(&channel)
                .expect("the channel exists");
            super::world::merge(found, fields);
        });
    }

    /// The direct channel with a person.
    #[track_caller]
    pub fn direct(&self, user: u64) -> u64 {
        self.shared.with(|world| world.direct_channel(user))
    }

    /// Takes permissions from the bot in a channel (and its threads): 403 with 50001 for `VIEW_CHANNEL`, else
    /// with 50013.
    #[track_caller]
    pub fn forbid(&self, channel: u64, bits: u64) {
        self.shared
            .with(|world| world.overwrite(channel, world.bot, |deny| deny | bits));
    }

    /// Gives back what `forbid` took.
    #[track_caller]
    pub fn allow(&self, channel: u64, bits: u64) {
        self.shared
            .with(|world| world.overwrite(channel, world.bot, |deny| deny & !bits));
    }

    /// Takes permissions from `@everyone` or another person in a channel.
    #[track_caller]
    pub fn forbid_for(&self, channel: u64, target: u64, bits: u64) {
        self.shared
            .with(|world| world.overwrite(channel, target, |deny| deny | bits));
    }
}

impl World {
    /// A new account.
    pub fn add_user(&mut self, name: &str, bot: bool) -> u64 {
        let id = self.next_id();
        self.users.insert(
            id,
            User {
                name: name.into(),
                bot,
                locale: "en-US".into(),
            },
        );
        id
    }

    fn add_channel(&mut self, guild: u64, kind: u64, name: &str) -> u64 {
        let known = self.guilds.contains_key(&guild);
        assert!(known, "there is no guild {guild}");
        let id = self.next_id();
        self.channels
            .insert(id, channel_json(id, guild, kind, name));
        id
    }

    /// Changes what an overwrite denies.
    fn overwrite(&mut self, channel: u64, target: u64, change: impl Fn(u64) -> u64) {
        let found = self.channels.get(&channel).expect("the channel exists");
        let parent = number(&found["parent_id"])
            .filter(|_| super::permission::is_thread(found))
            .unwrap_or(channel);
        let role = self
            .guild_of(channel)
            .is_some_and(|guild| self.guilds[&guild].roles.iter().any(|one| one.id == target));
        let place = self
            .channels
            .get_mut(&parent)
            .expect("a thread has a parent");
        let overwrites = place["permission_overwrites"]
            .as_array_mut()
            .expect("channels have overwrites");
        let name = target.to_string();
        let at = overwrites
            .iter()
            .position(|one| one["id"] == name)
            .unwrap_or_else(|| {
                overwrites
                    .push(json!({"id": name, "type": u8::from(!role), "allow": "0", "deny": "0"}));
                overwrites.len() - 1
            });
        let deny = number(&overwrites[at]["deny"]).unwrap_or(0);
        overwrites[at]["deny"] = json!(change(deny).to_string());
    }
}
