//! One deployment's settings: a commented TOML file, with secrets only in the environment or in files.

use serde::Deserialize;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// The environment variable that holds the Discord token, if no file does.
pub const TOKEN_VARIABLE: &str = "FLOATBOWL_DISCORD_TOKEN";

/// All settings.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Config {
    /// Folder where conversations are kept.
    pub data: PathBuf,
    /// Folder of knowledge files; those built in, if none is given.
    #[serde(default)]
    pub knowledge: Option<PathBuf>,
    /// Health and counts.
    #[serde(default)]
    pub health: Health,
    /// What is logged.
    #[serde(default)]
    pub log: Log,
    /// The Discord channel; not served, if it is not there.
    #[serde(default)]
    pub discord: Option<Discord>,
}

/// Health and counts over HTTP.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Health {
    /// Where; must be this machine's own loopback. Nowhere, if it is not there.
    #[serde(default)]
    pub listen: Option<SocketAddr>,
}

impl Default for Health {
    fn default() -> Self {
        Self {
            listen: Some(SocketAddr::from(([127, 0, 0, 1], 9464))),
        }
    }
}

/// What is logged and how. Message text never is.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Log {
    /// How much of our own: `error`, `warn`, `info` or `debug`.
    pub level: Level,
    /// One JSON object a line, or lines for people.
    pub form: Form,
}

impl Default for Log {
    fn default() -> Self {
        Self {
            level: Level::Info,
            form: Form::Json,
        }
    }
}

/// How much is logged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// What failed.
    Error,
    /// And what may.
    Warn,
    /// And what happens.
    Info,
    /// And how.
    Debug,
}

/// The form of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// One JSON object a line.
    Json,
    /// Lines for people.
    Text,
}

/// The Discord channel.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Discord {
    /// File that holds the bot's token and nothing else.
    #[serde(default)]
    pub token_file: Option<PathBuf>,
    /// Whether the message content intent is switched on for the application.
    #[serde(default)]
    pub message_content: bool,
    /// Minutes until a rider usually answers; steps are bundled accordingly.
    #[serde(default = "an_hour")]
    pub round_trip_minutes: f64,
    /// Where commands are registered.
    #[serde(default)]
    pub commands: Commands,
    /// Address of a page where volunteers read, shown to moderators.
    #[serde(default)]
    pub review_page: Option<String>,
    /// Which shards this process runs.
    #[serde(default)]
    pub shards: Shards,
}

fn an_hour() -> f64 {
    60.0
}

/// Where commands are registered.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Commands {
    /// In every group.
    #[default]
    Everywhere,
    /// They are registered already.
    Nowhere,
    /// In these groups, by id.
    Groups(Vec<u64>),
}

/// The shards of this process.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shards {
    /// The first.
    pub first: u32,
    /// The last.
    pub last: u32,
    /// How many there are over all processes.
    pub total: u32,
}

impl Default for Shards {
    fn default() -> Self {
        Self {
            first: 0,
            last: 0,
            total: 1,
        }
    }
}

/// Why settings cannot be used: each says what to do.
#[derive(Debug, thiserror::Error)]
pub enum ConfigError {
    /// The file cannot be read.
    #[error("cannot read {path}: {reason}; give a settings file to --config")]
    Unreadable {
        /// Which.
        path: String,
        /// Why.
        reason: std::io::Error,
    },
    /// The file does not say what settings must say.
    #[error("{path}: {what}")]
    Wrong {
        /// Which.
        path: String,
        /// What is wrong, with the line.
        what: String,
    },
    /// There is no token.
    #[error(
        "there is no Discord token; put it alone in a file that only floatbowl may read and name that in discord.token_file, or set {TOKEN_VARIABLE}"
    )]
    NoToken,
    /// The token's file cannot be used.
    #[error("the Discord token in {path} cannot be used: {what}")]
    Token {
        /// The file, or the variable.
        path: String,
        /// What is wrong and what to do.
        what: String,
    },
}

impl Config {
    /// Reads settings from a file.
    ///
    /// # Errors
    /// When it cannot be read, or something in it cannot be; the error names the line.
    pub fn read(path: &Path) -> Result<Self, ConfigError> {
        let shown = path.display().to_string();
        let text = std::fs::read_to_string(path).map_err(|reason| ConfigError::Unreadable {
            path: shown.clone(),
            reason,
        })?;
        Self::parse(&text).map_err(|what| ConfigError::Wrong { path: shown, what })
    }

    /// Reads settings from text.
    ///
    /// # Errors
    /// What is wrong, with the line and what to do.
    pub fn parse(text: &str) -> Result<Self, String> {
        let config: Self = toml::from_str(text).map_err(|error| {
            let mut what = error.to_string();
            if text
                .lines()
                .any(|line| line.trim_start().starts_with("token "))
            {
                what.push_str("The token does not stand in this file; see discord.token_file.");
            }
            what
        })?;
        let problems = config.problems();
        if problems.is_empty() {
            Ok(config)
        } else {
            Err(problems.join("; "))
        }
    }

    /// What cannot be, though each part can be read.
    fn problems(&self) -> Vec<String> {
        let mut problems = Vec::new();
        if let Some(at) = self.health.listen.filter(|at| !at.ip().is_loopback()) {
            problems.push(format!(
                "health.listen = {at} can be reached from outside; use 127.0.0.1 or [::1]"
            ));
        }
        let Some(discord) = &self.discord else {
            return problems;
        };
        let Shards { first, last, total } = discord.shards;
        if first > last || last >= total {
            problems.push(format!(
                "discord.shards: first {first}, last {last} of {total} cannot be; set first <= last < total"
            ));
        }
        if !(0.0..=10_080.0).contains(&discord.round_trip_minutes) {
            problems.push(format!(
                "discord.round_trip_minutes = {} is no waiting time; use 0 to 10080",
                discord.round_trip_minutes
            ));
        }
        if matches!(&discord.commands, Commands::Groups(groups) if groups.contains(&0)) {
            problems.push("discord.commands: 0 is no group".to_owned());
        }
        problems
    }
}

impl Discord {
    /// The bot's token, from its file or the environment.
    ///
    /// # Errors
    /// When there is none, or it cannot be one.
    pub fn token(&self) -> Result<String, ConfigError> {
        let (path, text) = if let Some(file) = &self.token_file {
            (file.display().to_string(), read_secret(file)?)
        } else {
            let text = std::env::var(TOKEN_VARIABLE).map_err(|_| ConfigError::NoToken)?;
            (TOKEN_VARIABLE.to_owned(), text)
        };
        let token = text.trim();
        let what = if token.is_empty() {
            Some("it is empty")
        } else if token.contains(char::is_whitespace) || !token.is_ascii() {
            Some("it has blanks or letters no token has; the file must hold the token alone")
        } else {
            None
        };
        match what {
            Some(what) => Err(ConfigError::Token {
                path,
                what: what.to_owned(),
            }),
            None => Ok(token.to_owned()),
        }
    }
}

fn read_secret(file: &Path) -> Result<String, ConfigError> {
    let path = || file.display().to_string();
    let wrong = |what: String| ConfigError::Token { path: path(), what };
    if is_open_to_others(file) {
        return Err(wrong(format!(
            "others on this machine can read it; run chmod 600 {}",
            file.display()
        )));
    }
    std::fs::read_to_string(file).map_err(|error| wrong(error.to_string()))
}

#[cfg(unix)]
fn is_open_to_others(file: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    std::fs::metadata(file).is_ok_and(|about| about.permissions().mode() & 0o007 != 0)
}

#[cfg(not(unix))]
fn is_open_to_others(_: &Path) -> bool {
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn little_is_enough() {
        let config = Config::parse("data = \"/var/lib/floatbowl\"").expect("settings");
        assert_eq!(config.discord, None);
        assert_eq!(config.log, Log::default());
        assert!(config.health.listen.is_some_and(|at| at.ip().is_loopback()));
    }

    #[rstest]
    #[case("", "missing field `data`")]
    #[case("data = 3", "line 1")]
    #[case("data = \"d\"\n[discord]\ntoken = \"x\"", "discord.token_file")]
    #[case("data = \"d\"\n[dicsord]", "unknown field `dicsord`")]
    #[case("data = \"d\"\n[health]\nlisten = \"0.0.0.0:80\"", "127.0.0.1")]
    #[case(
        "data = \"d\"\n[discord.shards]\nfirst = 2\nlast = 1\ntotal = 4",
        "first <= last < total"
    )]
    #[case(
        "data = \"d\"\n[discord.shards]\nfirst = 0\nlast = 4\ntotal = 4",
        "first <= last < total"
    )]
    #[case("data = \"d\"\n[discord]\nround_trip_minutes = -1", "0 to 10080")]
    #[case(
        "data = \"d\"\n[discord]\ncommands = { groups = [0] }",
        "0 is no group"
    )]
    #[case("data = \"d\"\n[log]\nlevel = \"loud\"", "line 3")]
    fn what_cannot_be_is_said(#[case] text: &str, #[case] expected: &str) {
        let what = Config::parse(text).expect_err("refused");
        assert!(what.contains(expected), "{what}");
    }

    #[cfg(unix)]
    #[test]
    fn a_token_others_can_read_is_refused() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("token");
        std::fs::write(&file, "abc.def\n").expect("written");
        let mode = |mode| std::fs::Permissions::from_mode(mode);
        let discord = Discord {
            token_file: Some(file.clone()),
            message_content: false,
            round_trip_minutes: 0.0,
            commands: Commands::Everywhere,
            review_page: None,
            shards: Shards::default(),
        };
        std::fs::set_permissions(&file, mode(0o644)).expect("set");
        let refused = discord.token().expect_err("refused").to_string();
        assert!(refused.contains("chmod 600"), "{refused}");
        std::fs::set_permissions(&file, mode(0o600)).expect("set");
        assert_eq!(discord.token().expect("a token"), "abc.def");
        std::fs::write(&file, " \n").expect("written");
        assert!(discord.token().is_err());
    }
}
