//! Everything the fake knows: guilds, people, channels, messages, interactions, and what was sent to it.

use std::collections::{BTreeMap, VecDeque};
use std::time::Instant;

use serde_json::{Value, json};

use super::call::Call;
use super::failure::Failures;
use super::gateway::Gateway;
use super::pace::Pace;
use super::settings::Settings;
use super::time;

/// A role of a guild.
#[derive(Clone, Debug)]
pub struct Role {
    /// Its id; that of `@everyone` is the guild's.
    pub id: u64,
    /// Its name.
    pub name: String,
    /// What it grants.
    pub permissions: u64,
}

/// A person (or the bot) in a guild.
#[derive(Clone, Debug, Default)]
pub struct Member {
    /// Roles besides `@everyone`.
    pub roles: Vec<u64>,
}

/// A guild.
#[derive(Clone, Debug)]
pub struct Guild {
    /// Its id.
    pub id: u64,
    /// Its name.
    pub name: String,
    /// Who owns it.
    pub owner: u64,
    /// Its language.
    pub locale: String,
    /// Its roles, `@everyone` first.
    pub roles: Vec<Role>,
    /// Who is in it.
    pub members: BTreeMap<u64, Member>,
    /// Whether the bot is in it now.
    pub joined: bool,
}

/// A user account.
#[derive(Clone, Debug)]
pub struct User {
    /// Account name.
    pub name: String,
    /// Whether it is a bot.
    pub bot: bool,
    /// Language its client is set to.
    pub locale: String,
}

/// A message with what the fake keeps beside Discord's own fields.
#[derive(Clone, Debug)]
pub struct Message {
    /// As Discord shows it.
    pub json: Value,
    /// Channel it stands in.
    pub channel: u64,
    /// Who wrote it.
    pub author: u64,
    /// Only this person sees it.
    pub only_for: Option<u64>,
    /// Whether it was deleted.
    pub deleted: bool,
    /// Earlier states, oldest first.
    pub earlier: Vec<Value>,
    /// Users it rang for.
    pub pings: Vec<u64>,
    /// When it was made.
    pub at: Instant,
}

/// One interaction and what became of it.
#[derive(Clone, Debug)]
pub struct Interaction {
    /// Its id.
    pub id: u64,
    /// Its token.
    pub token: String,
    /// 2 command, 3 component, 4 autocomplete, 5 modal.
    pub kind: u8,
    /// Where it was made.
    pub channel: u64,
    /// Guild, if any.
    pub guild: Option<u64>,
    /// Who made it.
    pub user: u64,
    /// When it was made.
    pub at: Instant,
    /// Type of the first answer.
    pub answer: Option<u64>,
    /// Data of the first answer (a modal, choices, a message).
    pub data: Value,
    /// Time from event to first answer.
    pub answered_after: Option<std::time::Duration>,
    /// The answer's message.
    pub original: Option<u64>,
    /// The message a pressed component stands on.
    pub source: Option<u64>,
    /// Whether the original still shows "thinking".
    pub thinking: bool,
    /// Messages sent after the answer.
    pub followups: Vec<u64>,
    /// Name of the command, if one.
    pub name: String,
}

/// The whole state behind the fake.
pub struct World {
    /// What the test set.
    pub settings: Settings,
    /// The bot's account.
    pub bot: u64,
    /// The application's id.
    pub application: u64,
    /// The token without its "Bot " prefix.
    pub token: String,
    /// Guilds by id.
    pub guilds: BTreeMap<u64, Guild>,
    /// Accounts by id.
    pub users: BTreeMap<u64, User>,
    /// Channels and threads by id, as Discord shows them.
    pub channels: BTreeMap<u64, Value>,
    /// Messages by id, deleted ones included.
    pub messages: BTreeMap<u64, Message>,
    /// Pinned message ids with the time of pinning, by channel, newest last.
    pub pins: BTreeMap<u64, Vec<(u64, String)>>,
    /// Commands: `None` global, else by guild.
    pub commands: BTreeMap<Option<u64>, Vec<Value>>,
    /// Interactions by id.
    pub interactions: BTreeMap<u64, Interaction>,
    /// Typing shown, by channel.
    pub typing: BTreeMap<u64, usize>,
    /// Times of renames by thread.
    pub renames: BTreeMap<u64, Vec<Instant>>,
    /// Nonces with their message and time.
    pub nonces: VecDeque<(String, u64, Instant)>,
    /// Every request, in order of arrival.
    pub calls: Vec<Call>,
    /// What was done against the rules.
    pub breaches: Vec<String>,
    /// Failures the test ordered.
    pub failures: Failures,
    /// Rate limits.
    pub pace: Pace,
    /// The other half of Discord.
    pub gateway: Gateway,
    last_id: u64,
}

impl World {
    /// A world with nobody in it but the bot.
    pub fn new() -> Self {
        let mut world = Self {
            settings: Settings::default(),
            bot: 0,
            application: 0,
            token: "invented.token.of-the-fake".to_owned(),
            guilds: BTreeMap::new(),
            users: BTreeMap::new(),
            channels: BTreeMap::new(),
            messages: BTreeMap::new(),
            pins: BTreeMap::new(),
            commands: BTreeMap::new(),
            interactions: BTreeMap::new(),
            typing: BTreeMap::new(),
            renames: BTreeMap::new(),
            nonces: VecDeque::new(),
            calls: Vec::new(),
            breaches: Vec::new(),
            failures: Failures::default(),
            pace: Pace::default(),
            gateway: Gateway::default(),
            last_id: 0,
        };
        world.application = world.next_id();
        world.bot = world.application;
        world.users.insert(
            world.bot,
            User {
                name: "demo-bot".into(),
                bot: true,
                locale: "en-US".into(),
            },
        );
        world
    }

    /// A new id, greater than every one before.
    pub fn next_id(&mut self) -> u64 {
        self.last_id = time::snowflake_now().max(self.last_id + 1);
        self.last_id
    }

    /// Notes that something was done against the rules.
    pub fn breach(&mut self, what: impl Into<String>) {
        self.breaches.push(what.into());
    }

    /// The guild of a channel.
    pub fn guild_of(&self, channel: u64) -> Option<u64> {
        number(&self.channels.get(&channel)?["guild_id"])
    }

    /// Whether the bot holds all these bits in a channel.
    pub fn bot_may(&self, channel: u64, bits: u64) -> bool {
        self.permissions_in(channel, self.bot) & bits == bits
    }

    /// A message that is still there.
    pub fn live(&self, id: u64) -> Option<&Message> {
        self.messages.get(&id).filter(|found| !found.deleted)
    }

    /// An interaction that nobody answered in time shows the person an error.
    pub fn note_unanswered(&mut self) {
        let limit = self.settings.limits.answer;
        let open = |one: &&mut Interaction| one.answer.is_none() && one.answered_after.is_none();
        let mut late = Vec::new();
        for one in self.interactions.values_mut().filter(open) {
            if one.at.elapsed() > limit {
                one.answered_after = Some(one.at.elapsed());
                late.push(format!(
                    "interaction {:?} was not answered within {limit:?}",
                    one.name
                ));
            }
        }
        self.breaches.extend(late);
    }

    /// Changes a message's JSON, keeping the earlier state.
    pub fn change_message(&mut self, id: u64, fields: &Value) {
        let Some(message) = self.messages.get_mut(&id) else {
            return;
        };
        message.earlier.push(message.json.clone());
        merge(&mut message.json, fields);
        message.json["edited_timestamp"] = json!(time::iso_now());
    }
}

/// An id or permission set that Discord writes as a string.
pub fn number(value: &Value) -> Option<u64> {
    value.as_u64().or_else(|| value.as_str()?.parse().ok())
}

/// Puts every field of the second object over the first.
pub fn merge(target: &mut Value, fields: &Value) {
    for (key, value) in fields.as_object().into_iter().flatten() {
        target[key] = value.clone();
    }
}
