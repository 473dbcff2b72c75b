//! One WebSocket to the gateway, directly or through the proxy that the environment names.

use super::frame::{Frame, VERSION};
use futures_util::{SinkExt, StreamExt};
use serde_json::Value;
use std::io;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_tungstenite::tungstenite::protocol::CloseFrame;
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::tungstenite::{Error, Message};
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, client_async_tls, connect_async};

/// Longest time to wait for a connection.
const PATIENCE: Duration = Duration::from_secs(20);
/// Longest answer of a proxy that is read.
const LONGEST_ANSWER: usize = 8192;
/// The code that keeps the session resumable when we close.
///
/// Source: Discord developer documentation, Gateway, Initiating a Disconnect: 1000 and 1001 end it.
const KEEP_SESSION: u16 = 4000;

/// What came over the link.
#[derive(Debug)]
pub enum Came {
    /// A payload.
    Frame(Frame),
    /// The other side closed, with this code or none.
    Closed(Option<u16>),
}

/// An open connection.
pub struct Link {
    socket: WebSocketStream<MaybeTlsStream<TcpStream>>,
}

impl Link {
    /// Connects.
    ///
    /// # Errors
    /// When the address cannot be reached in time.
    pub async fn open(url: &str) -> Result<Self, Error> {
        let url = format!("{}/?v={VERSION}&encoding=json", url.trim_end_matches('/'));
        let opening = async {
            match proxy(&url) {
                Some(proxy) => through(&proxy, &url).await,
                None => connect_async(&url).await.map(|(socket, _)| socket),
            }
        };
        match timeout(PATIENCE, opening).await {
            Ok(socket) => Ok(Self { socket: socket? }),
            Err(_) => Err(Error::Io(io::ErrorKind::TimedOut.into())),
        }
    }

    /// The next thing that comes. Pings are answered by the socket itself.
    ///
    /// # Errors
    /// When the connection breaks.
    pub async fn next(&mut self) -> Result<Came, Error> {
        loop {
            match self.socket.next().await {
                None => return Ok(Came::Closed(None)),
                Some(Ok(Message::Text(text))) => return Ok(Came::Frame(Frame::read(&text))),
                Some(Ok(Message::Close(frame))) => {
                    return Ok(Came::Closed(frame.map(|frame| frame.code.into())));
                }
                Some(Ok(_)) => {}
                Some(Err(error)) => return Err(error),
            }
        }
    }

    /// Sends a payload.
    ///
    /// # Errors
    /// When the connection breaks.
    pub async fn send(&mut self, payload: &Value) -> Result<(), Error> {
        self.socket
            .send(Message::Text(payload.to_string().into()))
            .await
    }

    /// Closes so that the session can be resumed.
    pub async fn close(mut self) {
        let frame = CloseFrame {
            code: CloseCode::from(KEEP_SESSION),
            reason: "".into(),
        };
        // The other side may be gone already: then there is nothing left to close.
        let _ = timeout(Duration::from_secs(1), self.socket.close(Some(frame))).await;
    }
}

/// The proxy for encrypted connections, as `host:port`.
fn proxy(url: &str) -> Option<String> {
    if !url.starts_with("wss://") {
        return None;
    }
    let named = ["HTTPS_PROXY", "https_proxy", "ALL_PROXY"];
    let proxy = named.iter().find_map(|name| std::env::var(name).ok())?;
    let bare = proxy.trim_start_matches("http://").trim_end_matches('/');
    (!bare.is_empty()).then(|| bare.to_owned())
}

async fn through(
    proxy: &str,
    url: &str,
) -> Result<WebSocketStream<MaybeTlsStream<TcpStream>>, Error> {
    let host = url.trim_start_matches("wss://");
    let host = host.split(['/', '?']).next().unwrap_or(host);
    let target = if host.contains(':') {
        host.to_owned()
    } else {
        format!("{host}:443")
    };
    let mut stream = TcpStream::connect(proxy).await?;
    let asked = format!("CONNECT {target} HTTP/1.1\r\nHost: {target}\r\n\r\n");
    stream.write_all(asked.as_bytes()).await?;
    let mut answer = Vec::new();
    while !answer.ends_with(b"\r\n\r\n") {
        if answer.len() > LONGEST_ANSWER {
            return Err(refused("the proxy's answer has no end"));
        }
        answer.push(stream.read_u8().await?);
    }
    let status = String::from_utf8_lossy(&answer);
    if status.split(' ').nth(1) != Some("200") {
        return Err(refused("the proxy will not connect"));
    }
    client_async_tls(url, stream)
        .await
        .map(|(socket, _)| socket)
}

fn refused(what: &str) -> Error {
    Error::Io(io::Error::other(what.to_owned()))
}
