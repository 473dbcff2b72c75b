//! What people do: write, edit, delete, post, archive, come and go; each causes the event Discord would send.

pub mod command;
pub mod component;
pub mod interaction;
pub mod modal;

use serde_json::{Value, json};

use super::Fake;
use super::check::list;
use super::rest::post::Post;
use super::shape::REGULAR;
use super::world::{World, number};

impl Fake {
    /// Somebody writes in a channel, thread or direct channel.
    #[track_caller]
    pub fn say(&self, channel: u64, user: u64, text: &str) -> u64 {
        self.say_with(channel, user, &json!({"content": text}))
    }

    /// The same with fields of one's own: `message_reference`, `embeds`, ...
    #[track_caller]
    pub fn say_with(&self, channel: u64, user: u64, body: &Value) -> u64 {
        self.shared.with(|world| {
            assert!(
                world.channels.contains_key(&channel),
                "there is no channel {channel}"
            );
            let id = world.next_id();
            world.person_says(id, channel, user, body);
            id
        })
    }

    /// Somebody edits a message.
    #[track_caller]
    pub fn edit_message(&self, message: u64, text: &str) {
        self.shared.with(|world| {
            world.change_message(message, &json!({"content": text}));
            world.tell_change(message);
        });
    }

    /// Somebody deletes a message.
    #[track_caller]
    pub fn delete_message(&self, message: u64) {
        self.shared.with(|world| world.remove_message(message));
    }

    /// Somebody posts in a forum: a thread, and its first message with the same id.
    #[track_caller]
    pub fn post_in_forum(
        &self,
        forum: u64,
        user: u64,
        title: &str,
        text: &str,
        tags: &[u64],
    ) -> u64 {
        self.shared.with(|world| {
            let parent = world
                .channels
                .get(&forum)
                .cloned()
                .expect("the forum exists");
            assert_eq!(parent["type"], 15, "channel {forum} is no forum");
            let id = world.next_id();
            let tags: Vec<_> = tags.iter().map(u64::to_string).collect();
            world.add_thread(
                (id, user),
                &parent,
                &json!({"name": title, "applied_tags": tags}),
            );
            world.person_says(id, id, user, &json!({"content": text}));
            id
        })
    }

    /// Somebody starts a thread from a message.
    #[track_caller]
    pub fn start_thread(&self, message: u64, user: u64, name: &str) -> u64 {
        self.shared
            .with(|world| world.add_thread_from(message, user, &json!({"name": name})));
        message
    }

    /// Somebody changes a thread: name, `archived`, `locked`, tags.
    #[track_caller]
    pub fn change_thread(&self, thread: u64, fields: &Value) {
        self.shared
            .with(|world| world.change_thread(thread, fields));
    }

    /// A thread falls asleep.
    #[track_caller]
    pub fn archive_thread(&self, thread: u64) {
        self.change_thread(thread, &json!({"archived": true}));
    }

    /// A moderator archives a thread and locks it.
    #[track_caller]
    pub fn lock_thread(&self, thread: u64) {
        self.change_thread(thread, &json!({"archived": true, "locked": true}));
    }

    /// A thread or channel is deleted.
    #[track_caller]
    pub fn delete_channel(&self, channel: u64) {
        self.shared.with(|world| world.remove_channel(channel));
    }

    /// A moderator unpins a message.
    #[track_caller]
    pub fn unpin(&self, channel: u64, message: u64) {
        self.shared.with(|world| {
            world.pins.entry(channel).or_default().retain(|(one, _)| *one != message);
            let guild = world.guild_of(channel);
            let told = json!({"guild_id": guild.map(|one| one.to_string()), "channel_id": channel.to_string()});
            world.emit("CHANNEL_PINS_UPDATE", guild, told);
        });
    }

    /// The bot joins a guild (`GUILD_CREATE`), or the guild is back after an outage.
    #[track_caller]
    pub fn join_guild(&self, guild: u64) {
        self.shared.with(|world| {
            world
                .guilds
                .get_mut(&guild)
                .expect("the guild exists")
                .joined = true;
            let told = world.guild_create(guild);
            world.emit("GUILD_CREATE", Some(guild), told);
        });
    }

    /// The bot is removed from a guild.
    #[track_caller]
    pub fn leave_guild(&self, guild: u64) {
        self.shared.with(|world| {
            world
                .guilds
                .get_mut(&guild)
                .expect("the guild exists")
                .joined = false;
            world.emit(
                "GUILD_DELETE",
                Some(guild),
                json!({"id": guild.to_string()}),
            );
        });
    }

    /// A guild is away for an outage; the bot is still in it.
    #[track_caller]
    pub fn guild_outage(&self, guild: u64) {
        self.emit(
            "GUILD_DELETE",
            Some(guild),
            json!({"id": guild.to_string(), "unavailable": true}),
        );
    }

    /// Somebody leaves a guild.
    #[track_caller]
    pub fn member_leaves(&self, guild: u64, user: u64) {
        self.shared.with(|world| {
            world
                .guilds
                .get_mut(&guild)
                .expect("the guild exists")
                .members
                .remove(&user);
            let told = json!({"guild_id": guild.to_string(), "user": world.user_json(user)});
            world.emit("GUILD_MEMBER_REMOVE", Some(guild), told);
        });
    }
}

impl World {
    /// Keeps what a person wrote, and tells.
    fn person_says(&mut self, id: u64, channel: u64, user: u64, body: &Value) {
        assert!(self.users.contains_key(&user), "there is no user {user}");
        let locked = self.channels[&channel]["thread_metadata"]["locked"] == true;
        assert!(
            !locked,
            "thread {channel} is locked, nobody can write there"
        );
        let post = Post {
            channel,
            author: user,
            kind: REGULAR,
            only_for: None,
        };
        self.keep_body(id, (body, list(&body["attachments"]).to_vec()), post);
    }

    /// A message a person can see.
    #[track_caller]
    fn seen_by(&self, message: u64, user: u64) -> Value {
        let found = self
            .live(message)
            .unwrap_or_else(|| panic!("message {message} is not there"));
        let mine = found.only_for.is_none_or(|one| one == user);
        assert!(mine, "user {user} does not see message {message}");
        assert_eq!(number(&found.json["id"]), Some(message));
        found.json.clone()
    }
}
