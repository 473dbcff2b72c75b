//! The gateway's sockets: they carry frames and orders, and decide nothing.

use std::sync::Arc;
use std::time::Duration;

use futures_util::{SinkExt, StreamExt};
use serde_json::json;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc::{UnboundedReceiver, unbounded_channel};
use tokio::time::{Instant, sleep_until};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::handshake::server::{Request, Response};
use tokio_tungstenite::tungstenite::protocol::CloseFrame;

use super::{Link, Order, What, patience};
use crate::fake::Shared;

/// How long the fake waits for the other half of a closing handshake.
const FAREWELL: Duration = Duration::from_secs(2);

/// Takes connections until the runtime ends.
pub async fn serve(shared: Arc<Shared>, listener: TcpListener, resume_door: bool) {
    while let Ok((stream, _)) = listener.accept().await {
        let _ = stream.set_nodelay(true);
        let refused = shared.with(|world| {
            let refusing = world.gateway.refusing;
            world.gateway.note(
                if refusing {
                    What::Refused
                } else {
                    What::Connected
                },
                None,
            );
            refusing
        });
        if refused {
            let _ = stream.set_zero_linger();
            continue;
        }
        tokio::spawn(connection(Arc::clone(&shared), stream, resume_door));
    }
}

async fn connection(shared: Arc<Shared>, stream: TcpStream, resume_door: bool) {
    let mut query = String::new();
    // The signature is the library's: its error is a whole response.
    #[expect(
        clippy::result_large_err,
        reason = "the callback's type is given by tungstenite"
    )]
    let look = |request: &Request, response: Response| {
        request
            .uri()
            .query()
            .unwrap_or_default()
            .clone_into(&mut query);
        Ok(response)
    };
    let Ok(socket) = tokio_tungstenite::accept_hdr_async(stream, look).await else {
        return;
    };
    let (orders, inbox) = unbounded_channel();
    let number = shared.with(|world| {
        world.check_gateway_query(&query);
        let number = world.next_id();
        let link = Link {
            orders,
            session: None,
            resume_door,
            frames: Vec::new(),
            open: true,
        };
        world.gateway.links.insert(number, link);
        number
    });
    converse(&shared, number, socket, inbox).await;
    shared.with(|world| world.connection_ended(number));
}

/// Why a conversation went on or ended.
enum Next {
    Go,
    Beat,
    End,
}

async fn converse(
    shared: &Shared,
    number: u64,
    mut socket: WebSocketStream<TcpStream>,
    mut inbox: UnboundedReceiver<Order>,
) {
    let interval = shared.read(|world| world.settings.heartbeat);
    let millis = u64::try_from(interval.as_millis()).unwrap_or(u64::MAX);
    let hello =
        json!({"op": 10, "s": null, "t": null, "d": {"heartbeat_interval": millis, "_trace": []}})
            .to_string();
    if socket.send(Message::text(hello)).await.is_err() {
        return;
    }
    let mut deadline = Instant::now() + patience(interval);
    loop {
        let next = tokio::select! {
            order = inbox.recv() => obey(shared, number, &mut socket, order).await,
            frame = socket.next() => take(shared, number, frame),
            () = sleep_until(deadline) => {
                shared.with(|world| world.heartbeat_missed(number));
                obey(shared, number, &mut socket, Some(Order::Close(Some(4009)))).await
            }
        };
        match next {
            Next::Go => {}
            Next::Beat => deadline = Instant::now() + patience(interval),
            Next::End => return,
        }
    }
}

async fn obey(
    shared: &Shared,
    number: u64,
    socket: &mut WebSocketStream<TcpStream>,
    order: Option<Order>,
) -> Next {
    match order {
        Some(Order::Text(text)) => {
            if socket.send(Message::text(text)).await.is_ok() {
                Next::Go
            } else {
                Next::End
            }
        }
        Some(Order::Close(code)) => {
            shared.with(|world| {
                let of = world.gateway.shard_of(number);
                world.gateway.note(What::ClosedByFake(code), of);
            });
            let frame = code.map(|code| CloseFrame {
                code: code.into(),
                reason: "".into(),
            });
            // The client may be gone already; then there is nobody to wait for.
            let _ = socket.close(frame).await;
            let _ = tokio::time::timeout(FAREWELL, async {
                while let Some(Ok(_)) = socket.next().await {}
            })
            .await;
            Next::End
        }
        Some(Order::Reset) => {
            let _ = socket.get_ref().set_zero_linger();
            Next::End
        }
        None => Next::End,
    }
}

fn take(
    shared: &Shared,
    number: u64,
    frame: Option<Result<Message, tokio_tungstenite::tungstenite::Error>>,
) -> Next {
    match frame {
        Some(Ok(Message::Text(text))) => {
            if shared.with(|world| world.gateway_frame(number, text.as_str())) {
                Next::Beat
            } else {
                Next::Go
            }
        }
        Some(Ok(Message::Binary(_))) => {
            shared.with(|world| {
                world.breach("gateway: a binary frame, but JSON encoding was asked for");
            });
            Next::Go
        }
        Some(Ok(Message::Close(frame))) => {
            shared
                .with(|world| world.closed_by_client(number, frame.map(|frame| frame.code.into())));
            Next::Go
        }
        Some(Ok(_)) => Next::Go,
        Some(Err(_)) | None => Next::End,
    }
}
