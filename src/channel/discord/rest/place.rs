//! Calls about places: channels, threads, and what is pinned in them.

use super::{Refusal, Rest, id, list};
use crate::channel::discord::pace::Urgency;
use serde_json::{Value, json};
use serenity::http::{LightMethod, Route};
use serenity::model::id::{ChannelId, GuildId, MessageId};

impl Rest {
    /// The pinned messages of a channel.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn pins(&self, channel: ChannelId) -> Result<Vec<Value>, Refusal> {
        let route = Route::ChannelPins {
            channel_id: channel,
        };
        self.call(route, LightMethod::Get, None, Urgency::Later)
            .await
            .map(list)
    }

    /// Pins a message.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn pin(&self, channel: ChannelId, message: MessageId) -> Result<(), Refusal> {
        let route = Route::ChannelPin {
            channel_id: channel,
            message_id: message,
        };
        self.call(route, LightMethod::Put, None, Urgency::Later)
            .await
            .map(drop)
    }

    /// A channel or thread.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn channel(&self, channel: ChannelId) -> Result<Value, Refusal> {
        let route = Route::Channel {
            channel_id: channel,
        };
        self.call(route, LightMethod::Get, None, Urgency::Now).await
    }

    /// Changes a channel or thread.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn change(&self, channel: ChannelId, body: &Value) -> Result<(), Refusal> {
        let route = Route::Channel {
            channel_id: channel,
        };
        self.call(route, LightMethod::Patch, Some(body), Urgency::Later)
            .await
            .map(drop)
    }

    /// Deletes a channel or thread.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn remove(&self, channel: ChannelId) -> Result<(), Refusal> {
        let route = Route::Channel {
            channel_id: channel,
        };
        self.call(route, LightMethod::Delete, None, Urgency::Later)
            .await
            .map(drop)
    }

    /// Opens a thread on a message; its id.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn thread_on(
        &self,
        channel: ChannelId,
        message: MessageId,
        name: &str,
    ) -> Result<ChannelId, Refusal> {
        let route = Route::ChannelMessageThreads {
            channel_id: channel,
            message_id: message,
        };
        let body = json!({"name": name});
        let made = self
            .call(route, LightMethod::Post, Some(&body), Urgency::Now)
            .await?;
        id(&made)
    }

    /// Opens a public thread in a channel; its id.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn thread_in(&self, channel: ChannelId, name: &str) -> Result<ChannelId, Refusal> {
        /// A public thread.
        ///
        /// Source: Discord developer documentation, Channel, Channel Types.
        const PUBLIC: u8 = 11;
        let route = Route::ChannelThreads {
            channel_id: channel,
        };
        let body = json!({"name": name, "type": PUBLIC});
        let made = self
            .call(route, LightMethod::Post, Some(&body), Urgency::Now)
            .await?;
        id(&made)
    }

    /// The threads of a group that are not archived.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub async fn threads(&self, guild: GuildId) -> Result<Vec<Value>, Refusal> {
        let route = Route::GuildThreadsActive { guild_id: guild };
        let answer = self
            .call(route, LightMethod::Get, None, Urgency::Later)
            .await?;
        Ok(list(answer["threads"].clone()))
    }
}
