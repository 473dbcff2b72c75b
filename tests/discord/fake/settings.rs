//! What a test may set before or while it drives the fake: windows, ceilings, grants.

use std::time::Duration;

/// Windows and ceilings; a test shortens them instead of waiting.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Time from an interaction to its first answer.
    pub answer: Duration,
    /// Life of an interaction token after the interaction.
    pub token: Duration,
    /// How long `enforce_nonce` remembers.
    pub nonce: Duration,
    /// Renames a thread bears within `rename_window`.
    pub renames: usize,
    /// See `renames`.
    pub rename_window: Duration,
    /// Requests a second over all routes, interaction endpoints excepted.
    pub requests_per_second: usize,
    /// 401, 403 and 429 answers that are still borne.
    pub invalid_requests: usize,
    /// Gateway frames a minute and connection.
    pub gateway_sends: usize,
    /// Time between two IDENTIFY of one concurrency bucket.
    pub identify_window: Duration,
    /// Requests already under way when a 429 went out are not held against the client for this long.
    pub grace: Duration,
}

impl Default for Limits {
    /// Discord developer documentation, Rate Limits, Gateway, Interactions; nonce and renames from memory.
    fn default() -> Self {
        Self {
            answer: Duration::from_secs(3),
            token: Duration::from_secs(15 * 60),
            nonce: Duration::from_secs(3 * 60),
            renames: 2,
            rename_window: Duration::from_secs(10 * 60),
            requests_per_second: 50,
            invalid_requests: 10_000,
            gateway_sends: 120,
            identify_window: Duration::from_secs(5),
            grace: Duration::from_millis(100),
        }
    }
}

impl Limits {
    /// Divides every window by a factor, so that a test can pass minutes in moments.
    pub fn faster(&mut self, factor: u32) {
        for window in [&mut self.answer, &mut self.token, &mut self.nonce] {
            *window /= factor;
        }
        for window in [&mut self.rename_window, &mut self.identify_window] {
            *window /= factor;
        }
    }
}

/// How the application is set up at Discord's side.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Windows and ceilings.
    pub limits: Limits,
    /// Privileged intents switched on in the developer portal, as bits.
    pub privileged: u64,
    /// `shards` of GET /gateway/bot.
    pub shards: u64,
    /// `session_start_limit.max_concurrency`.
    pub max_concurrency: u64,
    /// `session_start_limit.remaining`.
    pub starts_left: u64,
    /// Heartbeat interval told in HELLO.
    pub heartbeat: Duration,
    /// Whether a guild's administrators opened every command to everybody.
    pub commands_open: bool,
    /// How long a test waits for something before it fails.
    pub patience: Duration,
    /// Answer to GET /gateway/bot and GET /gateway fails with this status, when set.
    pub gateway_status: Option<u16>,
}

/// The bit of the privileged intent that shows message text.
pub const MESSAGE_CONTENT: u64 = 1 << 15;
/// The bits of all privileged intents: members, presences, message content.
pub const PRIVILEGED: u64 = 1 << 1 | 1 << 8 | MESSAGE_CONTENT;

impl Default for Settings {
    fn default() -> Self {
        Self {
            limits: Limits::default(),
            privileged: MESSAGE_CONTENT,
            shards: 1,
            max_concurrency: 1,
            starts_left: 1000,
            heartbeat: Duration::from_millis(41_250),
            commands_open: false,
            patience: Duration::from_secs(10),
            gateway_status: None,
        }
    }
}
