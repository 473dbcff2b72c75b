//! A bare gateway client: it connects, sends what it is told and reads what comes.

use std::time::Duration;

use futures_util::{SinkExt, StreamExt};
use serde_json::{Value, json};
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};

use super::Scene;

/// Intents: guilds, guild messages, message content.
pub const INTENTS: u64 = 1 | 1 << 9 | 1 << 15;

pub struct Socket(WebSocketStream<MaybeTlsStream<TcpStream>>);

impl Socket {
    /// Connects and reads HELLO.
    pub async fn connect(address: &str) -> Self {
        let (socket, _) = connect_async(format!("{address}/?v=10&encoding=json"))
            .await
            .expect("the gateway is there");
        let mut socket = Self(socket);
        assert_eq!(socket.next().await["op"], 10);
        socket
    }

    /// Connects, identifies and reads READY and `GUILD_CREATE`.
    pub async fn ready(scene: &Scene, intents: u64) -> (Self, Value) {
        let mut socket = Self::connect(&scene.fake.gateway_address()).await;
        socket.identify(scene, intents, [0, 1]).await;
        let ready = socket.event("READY").await;
        socket.event("GUILD_CREATE").await;
        (socket, ready)
    }

    pub async fn identify(&mut self, scene: &Scene, intents: u64, shard: [u64; 2]) {
        let wish = json!({"token": scene.fake.token(), "intents": intents, "properties": {}, "shard": shard});
        self.send(json!({"op": 2, "d": wish})).await;
    }

    pub async fn send(&mut self, frame: Value) {
        self.0
            .send(Message::text(frame.to_string()))
            .await
            .expect("the gateway listens");
    }

    /// The next frame; a close frame is `{"close": code}`.
    pub async fn next(&mut self) -> Value {
        let frame = tokio::time::timeout(Duration::from_secs(5), self.0.next());
        match frame.await.expect("a frame in time") {
            Some(Ok(Message::Text(text))) => serde_json::from_str(&text).expect("JSON"),
            Some(Ok(Message::Close(frame))) => {
                json!({"close": frame.map(|one| u16::from(one.code))})
            }
            other => json!({"end": format!("{other:?}")}),
        }
    }

    /// Data of the next event, which must have this name.
    pub async fn event(&mut self, name: &str) -> Value {
        let frame = self.next().await;
        assert_eq!(frame["t"], name, "{frame}");
        frame["d"].clone()
    }
}
