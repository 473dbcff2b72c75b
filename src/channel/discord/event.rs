//! What Discord tells us, cut down to what we use; whatever is odd elsewhere in it does not matter.

use serde::Deserialize;
use serde_json::Value;
use serenity::model::Permissions;
use serenity::model::id::{
    ApplicationId, ChannelId, GuildId, InteractionId, MessageId, RoleId, UserId,
};

/// A person or a bot.
#[derive(Debug, Clone, Deserialize)]
pub struct User {
    /// Who.
    pub id: UserId,
    /// Whether it is a program.
    #[serde(default)]
    pub bot: bool,
}

/// A message in a channel or thread.
#[derive(Clone, Deserialize)]
pub struct Message {
    /// Which.
    pub id: MessageId,
    /// Where.
    pub channel_id: ChannelId,
    /// In which group; none in private.
    #[serde(default)]
    pub guild_id: Option<GuildId>,
    /// By whom.
    pub author: User,
    /// What; empty where we may not read it.
    #[serde(default)]
    pub content: String,
    /// Who is mentioned.
    #[serde(default)]
    pub mentions: Vec<User>,
    /// Set where a webhook wrote it.
    #[serde(default)]
    pub webhook_id: Option<Value>,
    /// What is attached.
    #[serde(default)]
    pub attachments: Vec<Value>,
    /// Its type.
    #[serde(rename = "type", default)]
    pub kind: u8,
}

/// Prints no text: what people write stays out of logs.
impl std::fmt::Debug for Message {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            id,
            channel_id,
            content,
            ..
        } = self;
        write!(f, "message {id} in {channel_id} ({} bytes)", content.len())
    }
}

impl Message {
    /// Whether a person wrote it: no program, no webhook, no notice of Discord's own.
    ///
    /// Source of the types: Discord developer documentation, Message, Message Types: 0 is a message,
    /// 19 a reply.
    #[must_use]
    pub fn by_person(&self) -> bool {
        !self.author.bot && self.webhook_id.is_none() && matches!(self.kind, 0 | 19)
    }
}

/// A member of a group who acts.
#[derive(Debug, Clone, Deserialize)]
pub struct Member {
    /// Who.
    pub user: User,
    /// Which roles they have.
    #[serde(default)]
    pub roles: Vec<RoleId>,
    /// What they may do in the channel.
    #[serde(default)]
    pub permissions: Permissions,
}

/// The channel of an interaction.
#[derive(Debug, Clone, Deserialize)]
pub struct Place {
    /// Its type.
    #[serde(rename = "type")]
    pub kind: u8,
}

impl Place {
    /// Whether it is a thread.
    ///
    /// Source: Discord developer documentation, Channel, Channel Types.
    #[must_use]
    pub fn is_thread(&self) -> bool {
        is_thread(self.kind)
    }
}

/// Whether a channel of this type is a thread.
#[must_use]
pub fn is_thread(kind: u8) -> bool {
    matches!(kind, 10..=12)
}

/// What sort of interaction it is.
///
/// Source: Discord developer documentation, Receiving and Responding, Interaction Type.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A command.
    Command,
    /// A button or a menu.
    Component,
    /// A form.
    Form,
    /// Something else.
    Other,
}

/// A command, a press, a choice or a form.
#[derive(Clone, Deserialize)]
pub struct Interaction {
    /// Which.
    pub id: InteractionId,
    /// Of which application.
    pub application_id: ApplicationId,
    /// What sort, as Discord numbers it.
    #[serde(rename = "type")]
    kind: u8,
    /// With which to answer it.
    pub token: String,
    /// In which group; none in private.
    #[serde(default)]
    pub guild_id: Option<GuildId>,
    /// Where.
    #[serde(default)]
    pub channel_id: Option<ChannelId>,
    /// What sort of place.
    #[serde(default)]
    pub channel: Option<Place>,
    /// By whom.
    #[serde(default)]
    pub member: Option<Member>,
    /// What we may do there.
    #[serde(default)]
    pub app_permissions: Permissions,
    /// What was asked, pressed or filled in.
    #[serde(default)]
    pub data: Value,
    /// The message with the button or menu.
    #[serde(default)]
    pub message: Value,
}

/// Prints neither the token nor what was filled in.
impl std::fmt::Debug for Interaction {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "interaction {} of type {}", self.id, self.kind)
    }
}

impl Interaction {
    /// What sort it is.
    #[must_use]
    pub fn kind(&self) -> Kind {
        match self.kind {
            2 => Kind::Command,
            3 => Kind::Component,
            5 => Kind::Form,
            _ => Kind::Other,
        }
    }

    /// The name of the command.
    #[must_use]
    pub fn name(&self) -> &str {
        self.data["name"].as_str().unwrap_or_default()
    }

    /// The id of the button, menu or form.
    #[must_use]
    pub fn custom_id(&self) -> &str {
        self.data["custom_id"].as_str().unwrap_or_default()
    }

    /// An option of the command.
    #[must_use]
    pub fn option(&self, name: &str) -> Option<&Value> {
        let options = self.data["options"].as_array()?;
        let found = options.iter().find(|option| option["name"] == name);
        found.map(|option| &option["value"])
    }

    /// An option that is text, without blanks around it; none if there is nothing in it.
    #[must_use]
    pub fn text(&self, name: &str) -> Option<&str> {
        let text = self.option(name)?.as_str()?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// The first value chosen in a menu.
    #[must_use]
    pub fn chosen(&self) -> Option<&str> {
        self.data["values"].get(0)?.as_str()
    }

    /// What was typed into a field of a form. Fields stand in rows or in labels.
    #[must_use]
    pub fn field(&self, name: &str) -> Option<&str> {
        let rows = self.data["components"].as_array()?.iter();
        let found = rows
            .flat_map(|row| {
                let several = row["components"].as_array().into_iter().flatten();
                several.chain([&row["component"]])
            })
            .find(|field| field["custom_id"] == name)?;
        let text = found["value"].as_str()?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// The message that a menu command points at.
    #[must_use]
    pub fn target(&self) -> Option<Message> {
        let id = self.data["target_id"].as_str()?;
        let message = self.data["resolved"]["messages"].get(id)?;
        serde_json::from_value(message.clone()).ok()
    }

    /// The message that the button stands under.
    #[must_use]
    pub fn under(&self) -> Option<MessageId> {
        match super::rest::number(&self.message["id"]) {
            0 => None,
            id => Some(MessageId::new(id)),
        }
    }

    /// The words on the button, or of the option, that was picked.
    #[must_use]
    pub fn words(&self) -> Option<&str> {
        let wanted = self.chosen().unwrap_or_else(|| self.custom_id());
        let rows = self.message["components"].as_array()?.iter();
        let parts = rows.flat_map(|row| row["components"].as_array().into_iter().flatten());
        parts
            .flat_map(|part| {
                let options = part["options"].as_array().into_iter().flatten();
                options.chain([part])
            })
            .find(|part| part["custom_id"] == wanted || part["value"] == wanted)
            .and_then(|part| part["label"].as_str())
    }
}
