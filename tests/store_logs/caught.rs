//! A place that catches everything noted, through `tracing` and through `log`.

use log::{LevelFilter, Log, Metadata as Level, Record as Line};
use std::fmt::{Debug, Write};
use std::sync::{Mutex, PoisonError};
use tracing::field::{Field, Visit};
use tracing::span::{Attributes, Id, Record};
use tracing::{Event, Metadata, Subscriber};

/// What was caught so far.
pub struct Caught(Mutex<String>);

static CAUGHT: Caught = Caught(Mutex::new(String::new()));

/// Catches everything from now on, in every thread.
pub fn everything() -> &'static Caught {
    log::set_logger(&CAUGHT).unwrap();
    log::set_max_level(LevelFilter::Trace);
    tracing::subscriber::set_global_default(&CAUGHT as &'static Caught).unwrap();
    &CAUGHT
}

impl Caught {
    pub fn all(&self) -> String {
        self.text().clone()
    }

    fn text(&self) -> std::sync::MutexGuard<'_, String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Log for Caught {
    fn enabled(&self, _: &Level) -> bool {
        true
    }

    fn log(&self, line: &Line) {
        writeln!(self.text(), "{} {}", line.target(), line.args()).unwrap();
    }

    fn flush(&self) {}
}

/// Writes down every field of a note or a span.
struct Fields<'a>(&'a mut String);

impl Visit for Fields<'_> {
    fn record_debug(&mut self, field: &Field, value: &dyn Debug) {
        write!(self.0, " {}={value:?}", field.name()).unwrap();
    }
}

impl Subscriber for &'static Caught {
    fn enabled(&self, _: &Metadata<'_>) -> bool {
        true
    }

    fn new_span(&self, span: &Attributes<'_>) -> Id {
        let mut text = self.text();
        text.push_str(span.metadata().name());
        span.record(&mut Fields(&mut text));
        text.push('\n');
        Id::from_u64(1)
    }

    fn record(&self, _: &Id, values: &Record<'_>) {
        let mut text = self.text();
        values.record(&mut Fields(&mut text));
        text.push('\n');
    }

    fn record_follows_from(&self, _: &Id, _: &Id) {}

    fn event(&self, event: &Event<'_>) {
        let mut text = self.text();
        text.push_str(event.metadata().target());
        event.record(&mut Fields(&mut text));
        text.push('\n');
    }

    fn enter(&self, _: &Id) {}

    fn exit(&self, _: &Id) {}
}
