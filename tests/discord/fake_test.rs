//! What the fake's own tests share: a small guild, and a client without a bot.

mod checks;
mod gateway;
mod limits;
mod people;
mod rare;
mod rest;
mod serenity;
mod socket;

use reqwest::Method;
use serde_json::{Value, json};

use crate::fake::Fake;

/// A guild's id that lies in shard 0 of 1 and of 2.
pub const GUILD: u64 = 2 << 22;

/// A fake with one guild, a text channel and a rider.
pub struct Scene {
    pub fake: Fake,
    pub channel: u64,
    pub rider: u64,
    client: reqwest::Client,
}

impl Scene {
    pub async fn new() -> Self {
        let fake = Fake::start().await;
        fake.guild(GUILD);
        let channel = fake.text_channel(GUILD, "help");
        let rider = fake.member(GUILD, "demo-rider", &[]);
        let client = fake.http_client();
        Self {
            fake,
            channel,
            rider,
            client,
        }
    }

    pub fn request(&self, method: Method, path: &str) -> reqwest::RequestBuilder {
        let request = self
            .client
            .request(method, format!("https://discord.com/api/v10{path}"));
        request
            .header("user-agent", "DiscordBot (https://example.invalid, 1)")
            .header("authorization", format!("Bot {}", self.fake.token()))
    }

    /// Sends JSON; gives status and answer.
    pub async fn send(&self, method: Method, path: &str, body: Value) -> (u16, Value) {
        let request = self
            .request(method, path)
            .header("content-type", "application/json");
        let request = if body.is_null() {
            request
        } else {
            request.body(body.to_string())
        };
        let response = request.send().await.expect("the fake answers");
        let status = response.status().as_u16();
        let text = response.text().await.expect("a body");
        (status, serde_json::from_str(&text).unwrap_or(Value::Null))
    }

    pub async fn post(&self, path: &str, body: Value) -> (u16, Value) {
        self.send(Method::POST, path, body).await
    }

    pub async fn get(&self, path: &str) -> (u16, Value) {
        self.send(Method::GET, path, Value::Null).await
    }

    /// Sends a message that breaks nothing.
    pub async fn speak(&self, text: &str) -> (u16, Value) {
        let path = format!("/channels/{}/messages", self.channel);
        self.post(&path, message(text)).await
    }

    /// Answers an interaction.
    pub async fn answer(&self, interaction: u64, body: Value) -> (u16, Value) {
        let token = self
            .fake
            .read(|world| world.interaction(interaction).token.clone());
        self.post(
            &format!("/interactions/{interaction}/{token}/callback"),
            body,
        )
        .await
    }

    /// Registers commands for the guild.
    pub async fn register(&self, commands: Value) -> (u16, Value) {
        let app = self.fake.application();
        let path = format!("/applications/{app}/guilds/{GUILD}/commands");
        self.send(Method::PUT, &path, commands).await
    }
}

/// A message that breaks nothing.
pub fn message(text: &str) -> Value {
    json!({"content": text, "allowed_mentions": {"parse": []}})
}

/// A message with one button.
pub fn with_button(text: &str, custom_id: &str) -> Value {
    let button = json!({"type": 2, "style": 1, "label": "Go on", "custom_id": custom_id});
    let mut body = message(text);
    body["components"] = json!([{"type": 1, "components": [button]}]);
    body
}
