//! The REST side: takes a request, lets the world answer it, and fails where the test ordered it.

use std::fmt;
use std::sync::Arc;

use http_body_util::{BodyExt, Full};
use hyper::body::{Bytes, Incoming};
use hyper::service::service_fn;
use hyper::{Request, Response};
use hyper_util::rt::TokioIo;
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::TlsAcceptor;

use super::Shared;
use super::call::Call;
use super::failure::{Cut, Failure};
use super::reply::Reply;
use super::rest;

/// Status noted for a request whose connection was cut.
pub const CUT: u16 = 1;

/// The connection is to be cut.
#[derive(Debug)]
struct Ended;

impl fmt::Display for Ended {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("cut by order of the test")
    }
}

impl std::error::Error for Ended {}

/// Serves until the runtime ends.
pub async fn serve(shared: Arc<Shared>, listener: TcpListener, tls: TlsAcceptor) {
    while let Ok((stream, _)) = listener.accept().await {
        tokio::spawn(connection(Arc::clone(&shared), stream, tls.clone()));
    }
}

async fn connection(shared: Arc<Shared>, stream: TcpStream, tls: TlsAcceptor) {
    // Without it small answers wait for an acknowledgement that the client delays.
    let _ = stream.set_nodelay(true);
    let Ok(stream) = tls.accept(stream).await else {
        return;
    };
    let service = service_fn(move |request| one(Arc::clone(&shared), request));
    // An error here is a client that hung up, or a cut ordered by the test.
    let _ = hyper::server::conn::http1::Builder::new()
        .serve_connection(TokioIo::new(stream), service)
        .await;
}

async fn one(
    shared: Arc<Shared>,
    request: Request<Incoming>,
) -> Result<Response<Full<Bytes>>, Ended> {
    let (parts, body) = request.into_parts();
    let body = body.collect().await.map_err(|_| Ended)?.to_bytes();
    let target = parts.uri.path_and_query().map_or("/", |both| both.as_str());
    let headers = parts.headers.iter().map(|(name, value)| {
        (
            name.as_str().to_owned(),
            String::from_utf8_lossy(value.as_bytes()).into_owned(),
        )
    });
    let call = Call::read(parts.method.as_str(), target, headers.collect(), &body);
    let at = shared.with(|world| {
        world.calls.push(call.clone());
        world.calls.len() - 1
    });
    let reply = answer(&shared, &call).await;
    shared.with(|world| world.calls[at].status = reply.as_ref().map_or(CUT, |reply| reply.status));
    let headers = shared.read(|world| world.pace.headers(&call));
    reply
        .map(|reply| response(reply, headers))
        .map_err(|_| Ended)
}

async fn answer(shared: &Shared, call: &Call) -> Result<Reply, Ended> {
    if let Some(reply) = shared.with(|world| world.admit(call)) {
        shared.with(|world| world.note_answer(call, &reply));
        return Ok(reply);
    }
    let failure = shared.with(|world| world.failures.take(call));
    let reply = match failure {
        None => shared.with(|world| rest::answer(world, call)),
        Some(failure) => troubled(shared, call, failure).await?,
    };
    shared.with(|world| world.note_answer(call, &reply));
    Ok(reply)
}

async fn troubled(shared: &Shared, call: &Call, failure: Failure) -> Result<Reply, Ended> {
    tokio::time::sleep(failure.before).await;
    if failure.cut == Cut::Before {
        return Err(Ended);
    }
    let reply = match failure.reply {
        Some(reply) => reply,
        None => shared.with(|world| rest::answer(world, call)),
    };
    tokio::time::sleep(failure.after).await;
    if failure.cut == Cut::After {
        Err(Ended)
    } else {
        Ok(reply)
    }
}

/// Puts the usual headers on; those of the reply win.
fn response(reply: Reply, usual: Vec<(String, String)>) -> Response<Full<Bytes>> {
    let mut builder = Response::builder().status(reply.status);
    let told = |name: &str| reply.headers.iter().any(|(key, _)| key == name);
    let usual = usual.into_iter().filter(|(name, _)| !told(name));
    for (name, value) in usual.collect::<Vec<_>>().into_iter().chain(reply.headers) {
        builder = builder.header(name, value);
    }
    let body = if reply.body.is_null() {
        String::new()
    } else {
        reply.body.to_string()
    };
    let response = builder
        .header("content-type", "application/json")
        .body(Full::new(Bytes::from(body)));
    response.expect("headers ordered by a test are headers")
}
