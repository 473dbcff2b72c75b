//! Discord's REST interface through the chat library: every call paced, every refusal understood.

mod place;

use super::pace::{Pace, Urgency};
use serde_json::{Value, json};
use serenity::builder::CreateAttachment;
use serenity::http::{
    Http, HttpBuilder, HttpError, LightMethod, Multipart, MultipartUpload, Ratelimiter, Request,
    Route,
};
use serenity::model::id::{ApplicationId, ChannelId, GuildId, InteractionId, MessageId};
use std::sync::Arc;
use std::time::Duration;

/// How long one request may take before it counts as failed.
const PATIENCE: Duration = Duration::from_secs(30);
/// Messages that one request can list.
///
/// Source: Discord developer documentation, Message, Get Channel Messages.
pub const PAGE: usize = 100;

/// Why a call came to nothing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// A permission is missing (or the message is not ours).
    #[error("Discord forbids it (code {0})")]
    Forbidden(isize),
    /// What it is about is no longer there.
    #[error("it is not there (code {0})")]
    Gone(isize),
    /// The thread is archived.
    #[error("the thread is archived")]
    Archived,
    /// The call itself is wrong; sending it again cannot help.
    #[error("Discord does not accept it: {0}")]
    Wrong(String),
    /// Discord, or the way to it, is not well; the same call may pass later.
    #[error("Discord cannot be reached or is not well: {0}")]
    Later(String),
}

/// The message of an archived thread.
///
/// Source: Discord developer documentation, Opcodes and Status Codes, JSON Error Codes.
const ARCHIVED: isize = 50083;

/// A picture that goes with a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Its file name.
    pub name: String,
    /// What it shows, for those who do not see it.
    pub alt: String,
    /// The PNG.
    pub bytes: Vec<u8>,
}

/// All calls we make.
pub struct Rest {
    http: Http,
    pace: Arc<Pace>,
}

impl Rest {
    /// REST with a token, over a client of the caller's or one of our own.
    ///
    /// # Errors
    /// When no client can be built, as where the system has no root certificates.
    pub fn new(token: &str, client: Option<reqwest::Client>) -> Result<Self, reqwest::Error> {
        let client = match client {
            Some(client) => client,
            None => reqwest::Client::builder().timeout(PATIENCE).build()?,
        };
        let pace = Arc::new(Pace::default());
        let bearer = format!("Bot {}", token.trim_start_matches("Bot "));
        let mut limiter = Ratelimiter::new(client.clone(), bearer);
        let held = Arc::clone(&pace);
        limiter.set_ratelimit_callback(Box::new(move |info| {
            tracing::warn!(
                seconds = info.timeout.as_secs_f64(),
                global = info.global,
                "Discord asks us to wait"
            );
            if info.global {
                held.hold(info.timeout);
            }
        }));
        let http = HttpBuilder::new(token)
            .client(client)
            .ratelimiter(limiter)
            .build();
        Ok(Self { http, pace })
    }

    /// Posts a message; its id.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn post(
        &self,
        channel: ChannelId,
        body: Value,
        picture: Option<Picture>,
        urgency: Urgency,
    ) -> Result<MessageId, Refusal> {
        let route = Route::ChannelMessages {
            channel_id: channel,
        };
        let request = Request::new(route, LightMethod::Post);
        let request = match picture {
            None => request.body(Some(bytes(&body))),
            Some(picture) => request.multipart(Some(with_picture(body, picture))),
        };
        id(&self.fire(request, urgency).await?)
    }

    /// Edits a message of ours.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn edit(
        &self,
        channel: ChannelId,
        message: MessageId,
        body: &Value,
        urgency: Urgency,
    ) -> Result<(), Refusal> {
        let route = Route::ChannelMessage {
            channel_id: channel,
            message_id: message,
        };
        self.call(route, LightMethod::Patch, Some(body), urgency)
            .await
            .map(drop)
    }

    /// Deletes a message of ours.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn delete(&self, channel: ChannelId, message: MessageId) -> Result<(), Refusal> {
        let route = Route::ChannelMessage {
            channel_id: channel,
            message_id: message,
        };
        self.call(route, LightMethod::Delete, None, Urgency::Later)
            .await
            .map(drop)
    }

    /// One message.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn message(&self, channel: ChannelId, message: MessageId) -> Result<Value, Refusal> {
        let route = Route::ChannelMessage {
            channel_id: channel,
            message_id: message,
        };
        self.call(route, LightMethod::Get, None, Urgency::Now).await
    }

    /// Messages after one, the oldest first, at most a page.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn after(
        &self,
        channel: ChannelId,
        message: MessageId,
    ) -> Result<Vec<Value>, Refusal> {
        let route = Route::ChannelMessages {
            channel_id: channel,
        };
        let params = vec![
            ("after", message.get().to_string()),
            ("limit", PAGE.to_string()),
        ];
        let request = Request::new(route, LightMethod::Get).params(Some(params));
        let mut page = list(self.fire(request, Urgency::Later).await?);
        page.sort_by_key(|message| number(&message["id"]));
        Ok(page)
    }

    /// Shows that we are at work.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn typing(&self, channel: ChannelId) -> Result<(), Refusal> {
        let route = Route::ChannelTyping {
            channel_id: channel,
        };
        self.call(route, LightMethod::Post, None, Urgency::Now)
            .await
            .map(drop)
    }

    /// Registers all commands, everywhere or in one group.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn register(
        &self,
        application: ApplicationId,
        guild: Option<GuildId>,
        commands: &Value,
    ) -> Result<(), Refusal> {
        let route = match guild {
            None => Route::Commands {
                application_id: application,
            },
            Some(guild_id) => Route::GuildCommands {
                application_id: application,
                guild_id,
            },
        };
        self.call(route, LightMethod::Put, Some(commands), Urgency::Later)
            .await
            .map(drop)
    }

    /// The gateway's address, with how many shards and how many at a time.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn gateway(&self) -> Result<Value, Refusal> {
        self.call(Route::GatewayBot, LightMethod::Get, None, Urgency::Now)
            .await
    }

    /// Answers an interaction for the first time.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn respond(
        &self,
        interaction: InteractionId,
        token: &str,
        body: &Value,
    ) -> Result<(), Refusal> {
        let route = Route::InteractionResponse {
            interaction_id: interaction,
            token,
        };
        // Answers to interactions do not count towards the ceiling, and must go within three seconds.
        let request = Request::new(route, LightMethod::Post).body(Some(bytes(body)));
        self.send(request).await.map(drop)
    }

    /// Edits the first answer to an interaction.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn amend(
        &self,
        application: ApplicationId,
        token: &str,
        body: &Value,
    ) -> Result<(), Refusal> {
        let route = Route::WebhookOriginalInteractionResponse {
            application_id: application,
            token,
        };
        self.call(route, LightMethod::Patch, Some(body), Urgency::Now)
            .await
            .map(drop)
    }

    async fn call(
        &self,
        route: Route<'_>,
        method: LightMethod,
        body: Option<&Value>,
        urgency: Urgency,
    ) -> Result<Value, Refusal> {
        let request = Request::new(route, method).body(body.map(bytes));
        self.fire(request, urgency).await
    }

    async fn fire(&self, request: Request<'_>, urgency: Urgency) -> Result<Value, Refusal> {
        self.pace.slot(urgency).await;
        self.send(request).await
    }

    async fn send(&self, request: Request<'_>) -> Result<Value, Refusal> {
        let response = self
            .http
            .request(request)
            .await
            .map_err(|error| refusal(&error))?;
        let bytes = response
            .bytes()
            .await
            .map_err(|error| Refusal::Later(error.without_url().to_string()))?;
        if bytes.is_empty() {
            return Ok(Value::Null);
        }
        serde_json::from_slice(&bytes).map_err(|error| Refusal::Later(error.to_string()))
    }
}

/// What an error of the library comes to. The address is left out, since tokens stand in it.
fn refusal(error: &serenity::Error) -> Refusal {
    match error {
        serenity::Error::Http(HttpError::UnsuccessfulRequest(answer)) => {
            let code = answer.error.code;
            match answer.status_code.as_u16() {
                _ if code == ARCHIVED => Refusal::Archived,
                401 | 403 => Refusal::Forbidden(code),
                404 => Refusal::Gone(code),
                429 | 500.. => Refusal::Later(format!("status {}", answer.status_code)),
                _ => Refusal::Wrong(format!("{} (code {code})", answer.error.message)),
            }
        }
        serenity::Error::Http(HttpError::Request(error)) => {
            let kind = match (error.is_timeout(), error.is_connect()) {
                (true, _) => "no answer in time",
                (false, true) => "no connection",
                (false, false) => "the connection broke",
            };
            Refusal::Later(kind.to_owned())
        }
        _ => Refusal::Later("the request could not be made".to_owned()),
    }
}

fn bytes(body: &Value) -> Vec<u8> {
    body.to_string().into_bytes()
}

fn with_picture(mut body: Value, picture: Picture) -> Multipart {
    body["attachments"] = json!([{
        "id": 0,
        "filename": picture.name,
        "description": picture.alt,
    }]);
    Multipart {
        upload: MultipartUpload::Attachments(vec![CreateAttachment::bytes(
            picture.bytes,
            picture.name,
        )]),
        fields: Vec::new(),
        payload_json: Some(body.to_string()),
    }
}

fn list(value: Value) -> Vec<Value> {
    match value {
        Value::Array(items) => items,
        _ => Vec::new(),
    }
}

/// A snowflake, which Discord writes as text; 0 if it is none.
#[must_use]
pub fn number(value: &Value) -> u64 {
    value
        .as_str()
        .and_then(|text| text.parse().ok())
        .unwrap_or(0)
}

fn id<T: From<u64>>(made: &Value) -> Result<T, Refusal> {
    match number(&made["id"]) {
        0 => Err(Refusal::Later("an answer without an id".to_owned())),
        id => Ok(T::from(id)),
    }
}
