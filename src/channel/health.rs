//! Health and counts over HTTP, for the machine itself only.

use super::gauges::Gauges;
use axum::Router;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::get;
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio_util::sync::CancellationToken;

/// The media type of the open metrics text form.
const METRICS: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// Answers `/health` and `/metrics` until told to stop.
///
/// # Errors
/// When the address is not of this machine's own loopback, or is taken.
pub async fn serve(at: SocketAddr, gauges: Arc<Gauges>, stop: CancellationToken) -> io::Result<()> {
    if !at.ip().is_loopback() {
        let what = format!("{at} can be reached from outside; use 127.0.0.1 or [::1]");
        return Err(io::Error::new(io::ErrorKind::InvalidInput, what));
    }
    let listener = TcpListener::bind(at).await?;
    let router = Router::new()
        .route("/health", get(health))
        .route("/metrics", get(metrics))
        .with_state(gauges);
    axum::serve(listener, router)
        .with_graceful_shutdown(async move { stop.cancelled().await })
        .await
}

async fn health(State(gauges): State<Arc<Gauges>>) -> impl IntoResponse {
    match gauges.shards_down() {
        0 => (StatusCode::OK, "well\n".to_owned()),
        down => (
            StatusCode::SERVICE_UNAVAILABLE,
            format!("{down} gateway shard(s) not connected\n"),
        ),
    }
}

async fn metrics(State(gauges): State<Arc<Gauges>>) -> impl IntoResponse {
    ([(header::CONTENT_TYPE, METRICS)], gauges.text())
}
