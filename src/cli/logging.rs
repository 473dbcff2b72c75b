//! What a serving process logs: our own events as JSON, and never what a person wrote.

use crate::config::{Form, Level, Log};
use tracing_subscriber::EnvFilter;

/// Starts logging to standard error. The chat library can print whole messages at its lower levels, and
/// requests with their addresses, in which tokens stand: it is held to errors of its own, and what
/// carries its bytes to silence.
pub(super) fn start(log: &Log) {
    let level = match log.level {
        Level::Error => "error",
        Level::Warn => "warn",
        Level::Info => "info",
        Level::Debug => "debug",
    };
    let filter = EnvFilter::new(format!(
        "error,floatbowl={level},serenity=off,reqwest=off,hyper=off,h2=off,tungstenite=off,tokio_tungstenite=off,rustls=off"
    ));
    let builder = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr);
    // A second start in one process keeps the first.
    let _ = match log.form {
        Form::Json => builder.json().try_init(),
        Form::Text => builder.try_init(),
    };
}
