//! Failures a test orders for coming requests.

use std::time::Duration;

use regex::Regex;
use serde_json::Value;

use super::call::Call;
use super::reply::Reply;

/// Whether the connection is cut, and when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// It is not.
    No,
    /// Before the request has any effect.
    Before,
    /// After it had its effect, so that only the answer is lost.
    After,
}

/// One kind of trouble.
#[derive(Clone, Debug)]
pub struct Failure {
    /// The answer instead of the real one; none lets the request through.
    pub reply: Option<Reply>,
    /// Waits so long before the request is looked at.
    pub before: Duration,
    /// Waits so long between effect and answer.
    pub after: Duration,
    /// Cuts the connection.
    pub cut: Cut,
    /// How many requests it hits.
    pub times: usize,
}

impl Failure {
    fn none() -> Self {
        Self {
            reply: None,
            before: Duration::ZERO,
            after: Duration::ZERO,
            cut: Cut::No,
            times: 1,
        }
    }

    fn reply(reply: Reply) -> Self {
        Self {
            reply: Some(reply),
            ..Self::none()
        }
    }

    /// An answer with this status and an empty message.
    pub fn status(status: u16) -> Self {
        Self::reply(Reply::error(status, 0, "ordered by the test"))
    }

    /// An error answer with a code of Discord's.
    pub fn error(status: u16, code: u64) -> Self {
        Self::reply(Reply::error(status, code, "ordered by the test"))
    }

    /// 429 of this route for one caller.
    pub fn too_many(wait: Duration) -> Self {
        Self::reply(Reply::too_many(wait.as_secs_f64(), "user"))
    }

    /// 429 that others caused; it does not count as an invalid request.
    pub fn too_many_shared(wait: Duration) -> Self {
        Self::reply(Reply::too_many(wait.as_secs_f64(), "shared"))
    }

    /// 429 over all routes.
    pub fn too_many_global(wait: Duration) -> Self {
        Self::reply(Reply::too_many(wait.as_secs_f64(), "global"))
    }

    /// The request takes effect late.
    pub fn slow(wait: Duration) -> Self {
        Self {
            before: wait,
            ..Self::none()
        }
    }

    /// The request takes effect at once and is answered late.
    pub fn slow_answer(wait: Duration) -> Self {
        Self {
            after: wait,
            ..Self::none()
        }
    }

    /// The connection ends before the request has an effect.
    pub fn cut() -> Self {
        Self {
            cut: Cut::Before,
            ..Self::none()
        }
    }

    /// The request has its effect, its answer never comes.
    pub fn cut_after() -> Self {
        Self {
            cut: Cut::After,
            ..Self::none()
        }
    }

    /// Hits so many requests instead of one.
    pub fn times(mut self, times: usize) -> Self {
        self.times = times;
        self
    }

    /// Another body.
    pub fn body(mut self, body: Value) -> Self {
        if let Some(reply) = &mut self.reply {
            reply.body = body;
        }
        self
    }

    /// A header more.
    pub fn header(mut self, name: &str, value: &impl ToString) -> Self {
        self.reply = self.reply.map(|reply| reply.header(name, value));
        self
    }
}

/// The failures still to come.
#[derive(Default)]
pub struct Failures(Vec<(String, Regex, Failure)>);

impl Failures {
    /// Orders one.
    pub fn add(&mut self, method: &str, path: Regex, failure: Failure) {
        self.0.push((method.to_owned(), path, failure));
    }

    /// Takes the first that fits a request.
    pub fn take(&mut self, call: &Call) -> Option<Failure> {
        let at = self.0.iter().position(|(method, path, _)| {
            (method == "*" || *method == call.method) && path.is_match(&call.path)
        })?;
        let failure = self.0[at].2.clone();
        self.0[at].2.times -= 1;
        if self.0[at].2.times == 0 {
            self.0.remove(at);
        }
        Some(failure)
    }

    /// How many are still to come.
    pub fn left(&self) -> usize {
        self.0.iter().map(|(_, _, failure)| failure.times).sum()
    }

    /// Forgets all that are still to come.
    pub fn clear(&mut self) {
        self.0.clear();
    }
}
