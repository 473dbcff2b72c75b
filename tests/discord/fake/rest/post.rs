//! Keeping a message that was sent: attachments, mentions, nonce, and the events it causes.

use std::time::Instant;

use serde_json::{Value, json};

use crate::fake::call::Call;
use crate::fake::check::list;
use crate::fake::check::message::{mentioned, rung};
use crate::fake::permission::is_thread;
use crate::fake::time;
use crate::fake::world::{Message, World, merge, number};

/// Where a message goes, whose it is, and who sees it.
#[derive(Clone, Copy, Debug)]
pub struct Post {
    /// Its channel.
    pub channel: u64,
    /// Its author.
    pub author: u64,
    /// Discord's message type.
    pub kind: u64,
    /// Only this person sees it.
    pub only_for: Option<u64>,
}

/// Fields a message takes over as they were sent; the last three the fake itself adds to answers.
const TAKEN: [&str; 8] = [
    "content",
    "embeds",
    "components",
    "flags",
    "tts",
    "interaction_metadata",
    "application_id",
    "webhook_id",
];

impl World {
    /// Keeps a message the bot sent, and tells.
    pub fn keep(&mut self, call: &Call, post: Post) -> u64 {
        let id = self.next_id();
        self.keep_as(id, call, post);
        id
    }

    /// The same with an id that is given, as for the first message of a forum post.
    pub fn keep_as(&mut self, id: u64, call: &Call, post: Post) {
        self.keep_body(id, (&call.body, self.attachments(call, &[])), post);
    }

    /// Keeps a message made of a body, whoever wrote it, and tells.
    pub fn keep_body(&mut self, id: u64, (body, attachments): (&Value, Vec<Value>), post: Post) {
        let mut json = self.message_json(id, post.channel, post.author, post.kind);
        take(&mut json, body);
        json["attachments"] = json!(attachments);
        json["mentions"] = self.mentions(body);
        json["nonce"] = body["nonce"].clone();
        if json["nonce"].is_null() {
            json.as_object_mut().map(|fields| fields.remove("nonce"));
        }
        if body["message_reference"].is_object() {
            self.refer(&mut json, &body["message_reference"]);
        }
        if post.only_for.is_some() {
            json["flags"] = json!(json["flags"].as_u64().unwrap_or(0) | 64);
        }
        let Post {
            channel,
            author,
            only_for,
            ..
        } = post;
        let message = Message {
            json,
            channel,
            author,
            only_for,
            deleted: false,
            earlier: Vec::new(),
            pings: self.pings(body),
            at: Instant::now(),
        };
        self.messages.insert(id, message);
        if only_for.is_none() {
            self.reopen(channel);
        }
        self.announce(id);
    }

    /// Counts a new message in its channel, and tells.
    pub fn announce(&mut self, id: u64) {
        let message = self.messages[&id].clone();
        if message.only_for.is_some() {
            return;
        }
        let guild = self.guild_of(message.channel);
        if let Some(channel) = self.channels.get_mut(&message.channel) {
            channel["last_message_id"] = json!(id.to_string());
            for field in ["message_count", "total_message_sent"]
                .into_iter()
                .filter(|_| is_thread(channel))
                .collect::<Vec<_>>()
            {
                channel[field] = json!(channel[field].as_u64().unwrap_or(0) + 1);
            }
        }
        let told = self.gateway_message(&message.json);
        self.emit("MESSAGE_CREATE", guild, told);
    }

    /// A message opens a thread again that was archived (Discord developer documentation, Threads).
    fn reopen(&mut self, channel: u64) {
        let asleep = self
            .channels
            .get(&channel)
            .is_some_and(|one| one["thread_metadata"]["archived"] == true);
        if asleep {
            self.change_thread(channel, &json!({"archived": false}));
        }
    }

    /// Changes a message the bot edits, and tells.
    pub fn rewrite(&mut self, call: &Call, id: u64) {
        let kept = list(&self.messages[&id].json["attachments"]).to_vec();
        let mut fields = json!({});
        take(&mut fields, &call.body);
        if call.body["content"].is_string() {
            fields["mentions"] = self.mentions(&call.body);
        }
        if !call.files.is_empty() || call.body["attachments"].is_array() {
            fields["attachments"] = json!(self.attachments(call, &kept));
        }
        self.change_message(id, &fields);
        self.tell_change(id);
    }

    /// Tells that a message has changed.
    pub fn tell_change(&mut self, id: u64) {
        let message = self.messages[&id].clone();
        if message.only_for.is_none() {
            let told = self.gateway_message(&message.json);
            self.emit("MESSAGE_UPDATE", self.guild_of(message.channel), told);
        }
    }

    /// Users whom a message mentions, as far as it may.
    fn mentions(&self, body: &Value) -> Value {
        let content = body["content"].as_str().unwrap_or_default();
        let named = if body["allowed_mentions"].is_object() {
            rung(body)
        } else {
            mentioned(content).into_iter().collect()
        };
        named
            .into_iter()
            .filter(|user| self.users.contains_key(user))
            .map(|user| self.user_json(user))
            .collect()
    }

    /// The attachments after a request: those kept, then the new files.
    fn attachments(&self, call: &Call, before: &[Value]) -> Vec<Value> {
        let entries = list(&call.body["attachments"]);
        let told = |id: &Value| {
            entries
                .iter()
                .find(|entry| number(&entry["id"]) == number(id))
        };
        let all = !call.body["attachments"].is_array();
        let kept = before
            .iter()
            .filter(|one| all || told(&one["id"]).is_some())
            .cloned();
        let new = call.files.iter().map(|file| {
            let description = told(&json!(file.index)).map_or(Value::Null, |entry| entry["description"].clone());
            let at = format!("https://cdn.discordapp.com/attachments/1/{}/{}", self.messages.len(), file.name);
            json!({
                "id": (time::snowflake_now() + file.index + 1).to_string(), "filename": file.name, "size": file.bytes.len(),
                "url": at, "proxy_url": at, "content_type": file.media, "description": description,
                "width": file.is_image().then_some(64), "height": file.is_image().then_some(64),
            })
        });
        kept.chain(new).collect()
    }

    /// Fills a reply's reference.
    fn refer(&self, json: &mut Value, reference: &Value) {
        let Some(target) = number(&reference["message_id"]).and_then(|id| self.live(id)) else {
            return;
        };
        json["type"] = json!(19);
        json["message_reference"] = json!({"type": 0, "message_id": reference["message_id"], "channel_id": target.channel.to_string()});
        json["referenced_message"] = target.json.clone();
    }

    /// Whom a message rings for: people it names, and the author it replies to unless it says no.
    fn pings(&self, body: &Value) -> Vec<u64> {
        let mut pings = rung(body);
        let asked = &body["allowed_mentions"];
        let target = number(&body["message_reference"]["message_id"]).and_then(|id| self.live(id));
        if let Some(target) = target.filter(|_| asked.is_null() || asked["replied_user"] == true) {
            pings.push(target.author);
        }
        pings
    }

    /// The message of an earlier request with the same nonce, if it asked for that.
    pub fn repeated(&mut self, body: &Value) -> Option<u64> {
        let window = self.settings.limits.nonce;
        self.nonces.retain(|(_, _, at)| at.elapsed() < window);
        let nonce = body["nonce"].to_string();
        let known = self
            .nonces
            .iter()
            .find(|(one, ..)| *one == nonce)
            .map(|(_, id, _)| *id);
        known.filter(|_| body["enforce_nonce"] == true && !body["nonce"].is_null())
    }

    /// Keeps a nonce for a while.
    pub fn remember_nonce(&mut self, body: &Value, id: u64) {
        if !body["nonce"].is_null() {
            self.nonces
                .push_back((body["nonce"].to_string(), id, Instant::now()));
        }
    }

    /// A message that Discord itself writes, like "pinned a message".
    pub fn system_message(&mut self, kind: u64, channel: u64, author: u64, fields: &Value) -> u64 {
        let id = self.next_id();
        let mut json = self.message_json(id, channel, author, kind);
        merge(&mut json, fields);
        let message = Message {
            json,
            channel,
            author,
            only_for: None,
            deleted: false,
            earlier: Vec::new(),
            pings: Vec::new(),
            at: Instant::now(),
        };
        self.messages.insert(id, message);
        self.announce(id);
        id
    }
}

/// Takes over what was sent; a null empties.
fn take(json: &mut Value, body: &Value) {
    for field in TAKEN {
        match body.get(field) {
            Some(Value::Null) if field == "content" => json[field] = json!(""),
            Some(Value::Null) if matches!(field, "embeds" | "components") => {
                json[field] = json!([]);
            }
            None | Some(Value::Null) => {}
            Some(value) => json[field] = value.clone(),
        }
    }
}
