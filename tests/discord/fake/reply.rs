//! Answers of the REST side, with Discord's own error codes.

use serde_json::{Value, json};

/// What goes back for a request.
#[derive(Clone, Debug)]
pub struct Reply {
    /// Status code.
    pub status: u16,
    /// JSON body; null for none.
    pub body: Value,
    /// Headers beyond the usual ones.
    pub headers: Vec<(String, String)>,
}

/// A handler's outcome: the second is an answer too, one that says no.
pub type Answer = Result<Reply, Reply>;

impl Reply {
    /// 200 with a body.
    pub fn with(body: Value) -> Self {
        Self {
            status: 200,
            body,
            headers: Vec::new(),
        }
    }

    /// 201 with a body.
    pub fn created(body: Value) -> Self {
        Self {
            status: 201,
            ..Self::with(body)
        }
    }

    /// 204.
    pub fn nothing() -> Self {
        Self {
            status: 204,
            ..Self::with(Value::Null)
        }
    }

    /// An error as Discord words it (Discord developer documentation, Opcodes and Status Codes).
    pub fn error(status: u16, code: u64, message: &str) -> Self {
        Self {
            status,
            ..Self::with(json!({"message": message, "code": code}))
        }
    }

    /// A header more.
    pub fn header(mut self, name: &str, value: &impl ToString) -> Self {
        self.headers.push((name.to_owned(), value.to_string()));
        self
    }

    /// 429 that tells when to come again.
    pub fn too_many(seconds: f64, scope: &str) -> Self {
        let body = json!({"message": "You are being rate limited.", "retry_after": seconds, "global": scope == "global"});
        let reply = Self {
            status: 429,
            ..Self::with(body)
        }
        .header("retry-after", &seconds)
        .header("x-ratelimit-scope", &scope)
        .header("x-ratelimit-reset-after", &seconds);
        if scope == "global" {
            reply.header("x-ratelimit-global", &true)
        } else {
            reply
        }
    }
}

/// 404 for what is not there.
pub fn unknown(what: &str) -> Reply {
    let code = match what {
        "Channel" => 10_003,
        "Guild" => 10_004,
        "Member" => 10_007,
        "Message" => 10_008,
        "User" => 10_013,
        "Webhook" => 10_015,
        "Interaction" => 10_062,
        "Application Command" => 10_063,
        _ => 0,
    };
    Reply::error(404, code, &format!("Unknown {what}"))
}

/// 403: the bot may not see it.
pub fn missing_access() -> Reply {
    Reply::error(403, 50_001, "Missing Access")
}

/// 403: the bot may not do it.
pub fn missing_permissions() -> Reply {
    Reply::error(403, 50_013, "Missing Permissions")
}

/// 400: Discord refuses the form.
pub fn invalid_form(findings: &[String]) -> Reply {
    let mut reply = Reply::error(400, 50_035, "Invalid Form Body");
    reply.body["errors"] = json!({"_errors": findings.iter().map(|text| json!({"code": "INVALID", "message": text})).collect::<Vec<_>>()});
    reply
}

/// 400: the thread is archived.
pub fn archived() -> Reply {
    Reply::error(400, 50_083, "Thread is archived")
}
