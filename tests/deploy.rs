//! What is said about deploying is what the program does: settings, permissions, commands, counts.

use floatbowl::channel::discord::{command, rights};
use floatbowl::channel::gauges::Gauges;
use floatbowl::config::{Config, Discord};

const SETTINGS: &str = include_str!("../deploy/floatbowl.toml");
const GUIDE: &str = include_str!("../deploy/discord.md");
const OPERATE: &str = include_str!("../deploy/operate.md");

#[test]
fn the_settings_that_come_along_can_be_used() {
    let config = Config::parse(SETTINGS).expect("settings");
    let discord: Discord = config.discord.expect("a channel");
    assert!(!discord.message_content, "nothing privileged unasked");
    assert!(config.health.listen.expect("an address").ip().is_loopback());
    let token = |line: &str| line.trim_start().starts_with("token ");
    assert!(!SETTINGS.lines().any(token), "no secret in the file");
}

/// Every setting stands in the file, if only as a comment, so that nobody has to read the code.
#[test]
fn every_setting_is_explained() {
    for setting in [
        "data",
        "knowledge",
        "listen",
        "level",
        "form",
        "token_file",
        "message_content",
        "round_trip_minutes",
        "commands",
        "review_page",
        "first",
        "last",
        "total",
    ] {
        let stands = SETTINGS.lines().any(|line| {
            let line = line.trim_start_matches(['#', ' ']);
            line.starts_with(&format!("{setting} = "))
        });
        assert!(stands, "{setting}");
    }
}

#[test]
fn the_guide_names_the_permissions_that_are_asked_for() {
    let number = rights::invited_with().bits().to_string();
    assert!(GUIDE.contains(&number), "{number}");
}

#[test]
fn the_guide_names_every_command() {
    let all = command::all();
    for command in all.as_array().expect("a list") {
        let name = command["name"].as_str().expect("a name");
        assert!(GUIDE.contains(name), "{name}");
    }
}

#[test]
fn every_count_is_explained() {
    let gauges = Gauges::default();
    gauges.expect(0);
    let text = gauges.text();
    let names = text.lines().filter_map(|line| line.strip_prefix("# HELP "));
    let mut count = 0;
    for name in names.filter_map(|line| line.split(' ').next()) {
        assert!(OPERATE.contains(name), "{name}");
        count += 1;
    }
    assert!(count >= 9, "{count} counts");
}
