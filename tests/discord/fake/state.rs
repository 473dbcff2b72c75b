//! What a test reads from the world.

use serde_json::Value;

use super::check::component::walk;
use super::check::list;
use super::permission::is_thread;
use super::world::{Interaction, Message, World, number};

impl World {
    /// Messages of a channel that everybody sees and that people or bots wrote, oldest first.
    pub fn said(&self, channel: u64) -> Vec<&Message> {
        self.said_to(channel, None)
    }

    /// The same with those that only this person sees.
    pub fn said_to(&self, channel: u64, person: Option<u64>) -> Vec<&Message> {
        let spoken = |one: &&Message| matches!(one.json["type"].as_u64(), Some(0 | 19 | 20 | 23));
        let seen = |one: &&Message| one.only_for.is_none() || one.only_for == person;
        let here = self
            .messages
            .values()
            .filter(|one| one.channel == channel && !one.deleted);
        here.filter(spoken).filter(seen).collect()
    }

    /// What the bot said in a channel for everybody, oldest first.
    pub fn bot_said(&self, channel: u64) -> Vec<&Message> {
        self.said(channel)
            .into_iter()
            .filter(|one| one.author == self.bot)
            .collect()
    }

    /// The bot's last message in a channel.
    pub fn bot_last(&self, channel: u64) -> Option<&Message> {
        self.bot_said(channel).pop()
    }

    /// What the bot said so that only this person sees it, oldest first.
    pub fn whispered(&self, person: u64) -> Vec<&Message> {
        let here = self
            .messages
            .values()
            .filter(|one| one.only_for == Some(person) && !one.deleted);
        here.collect()
    }

    /// A channel or thread.
    #[track_caller]
    pub fn channel(&self, id: u64) -> &Value {
        self.channels
            .get(&id)
            .unwrap_or_else(|| panic!("there is no channel {id}"))
    }

    /// Threads under a channel, oldest first.
    pub fn threads(&self, parent: u64) -> Vec<u64> {
        let under = |one: &Value| is_thread(one) && number(&one["parent_id"]) == Some(parent);
        self.channels
            .iter()
            .filter(|(_, one)| under(one))
            .map(|(id, _)| *id)
            .collect()
    }

    /// Ids of pinned messages, oldest pin first.
    pub fn pinned(&self, channel: u64) -> Vec<u64> {
        self.pins
            .get(&channel)
            .into_iter()
            .flatten()
            .map(|(id, _)| *id)
            .collect()
    }

    /// Names of the tags on a forum post.
    pub fn tags(&self, thread: u64) -> Vec<&str> {
        let post = self.channel(thread);
        let forum = number(&post["parent_id"]).map_or(&Value::Null, |id| self.channel(id));
        let name = |tag: &Value| {
            list(&forum["available_tags"])
                .iter()
                .find(|one| one["id"] == *tag)?["name"]
                .as_str()
        };
        list(&post["applied_tags"])
            .iter()
            .filter_map(name)
            .collect()
    }

    /// Registered commands, of a guild or global.
    pub fn registered(&self, scope: Option<u64>) -> &[Value] {
        self.commands.get(&scope).map_or(&[], Vec::as_slice)
    }

    /// An interaction.
    #[track_caller]
    pub fn interaction(&self, id: u64) -> &Interaction {
        self.interactions
            .get(&id)
            .unwrap_or_else(|| panic!("there is no interaction {id}"))
    }

    /// The message that answers an interaction, once it is there and no longer "thinking".
    pub fn answer(&self, interaction: u64) -> Option<&Message> {
        let known = self.interaction(interaction);
        self.live(known.original?).filter(|_| !known.thinking)
    }

    /// How often typing was shown in a channel.
    pub fn typed(&self, channel: u64) -> usize {
        self.typing.get(&channel).copied().unwrap_or(0)
    }
}

impl Message {
    /// Its text.
    pub fn content(&self) -> &str {
        self.json["content"].as_str().unwrap_or_default()
    }

    /// Its text and that of its embeds and text displays, for looking something up.
    pub fn whole_text(&self) -> String {
        let mut parts = vec![self.content().to_owned()];
        for embed in list(&self.json["embeds"]) {
            parts.extend(
                ["title", "description"]
                    .iter()
                    .filter_map(|key| embed[key].as_str())
                    .map(str::to_owned),
            );
            let fields = list(&embed["fields"])
                .iter()
                .flat_map(|field| [&field["name"], &field["value"]]);
            parts.extend(fields.filter_map(Value::as_str).map(str::to_owned));
        }
        let texts = walk(&self.json["components"])
            .into_iter()
            .filter(|one| one["type"] == 10);
        parts.extend(
            texts
                .filter_map(|one| one["content"].as_str())
                .map(str::to_owned),
        );
        parts.join("\n")
    }

    /// Its id.
    pub fn id(&self) -> u64 {
        number(&self.json["id"]).unwrap_or(0)
    }

    /// Label and custom id of every button that can be pressed.
    pub fn buttons(&self) -> Vec<(&str, &str)> {
        let pressable = |one: &&Value| one["type"] == 2 && one["disabled"] != true;
        let all = walk(&self.json["components"]).into_iter().filter(pressable);
        all.filter_map(|one| {
            Some((
                one["label"].as_str().unwrap_or_default(),
                one["custom_id"].as_str()?,
            ))
        })
        .collect()
    }

    /// The custom id of the button with this label.
    #[track_caller]
    pub fn button(&self, label: &str) -> String {
        let found = self.buttons().into_iter().find(|(one, _)| *one == label);
        found
            .unwrap_or_else(|| panic!("no button {label:?} among {:?}", self.buttons()))
            .1
            .to_owned()
    }

    /// The custom id of its first select, with the values that can be chosen.
    pub fn select(&self) -> Option<(String, Vec<String>)> {
        let all = walk(&self.json["components"]);
        let found = all
            .into_iter()
            .find(|one| matches!(one["type"].as_u64(), Some(3 | 5..=8)))?;
        let values = list(&found["options"])
            .iter()
            .filter_map(|one| one["value"].as_str())
            .map(str::to_owned);
        Some((found["custom_id"].as_str()?.to_owned(), values.collect()))
    }
}
