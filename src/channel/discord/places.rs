//! What a group's moderators have set up: watched channels, roles, where helpers look, sheets.

use crate::store::setting::Setting;
use serenity::model::id::{ChannelId, RoleId};
use std::collections::BTreeMap;

/// A forum whose posts become conversations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Watched {
    /// Which.
    pub forum: ChannelId,
    /// The id of the act that set it up: older posts are left alone.
    pub since: u64,
}

/// Where the bot works in a group, and who has a say.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Places {
    /// Forums whose new posts become conversations.
    pub watched: Vec<Watched>,
    /// The role of moderators, besides those whom Discord lets manage messages or threads.
    pub moderators: Option<RoleId>,
    /// Where helpers are told that a rider wants a person, and moderators that something is missing.
    pub helpers: Option<ChannelId>,
    /// Sheets of bikes that the group has approved, by id.
    pub sheets: Vec<String>,
}

const WATCHED: &str = "watched";
const MODERATORS: &str = "moderators";
const HELPERS: &str = "helpers";
const SHEETS: &str = "sheets";

impl Places {
    /// Reads what was kept; what cannot be read counts as not set.
    #[must_use]
    pub fn of(setting: &Setting) -> Self {
        let kept = |key: &str| setting.channel.get(key).map_or("", String::as_str);
        Self {
            watched: words(kept(WATCHED)).filter_map(watched).collect(),
            moderators: number(kept(MODERATORS)).map(RoleId::new),
            helpers: number(kept(HELPERS)).map(ChannelId::new),
            sheets: words(kept(SHEETS)).map(str::to_owned).collect(),
        }
    }

    /// The forum that posts of a channel belong to, if it is watched.
    #[must_use]
    pub fn watching(&self, channel: u64) -> Option<Watched> {
        let mut watched = self.watched.iter().copied();
        watched.find(|watched| watched.forum.get() == channel)
    }

    /// The form in which it is kept.
    #[must_use]
    pub fn kept(&self) -> BTreeMap<String, String> {
        let watched = self.watched.iter();
        let watched = watched.map(|Watched { forum, since }| format!("{forum}:{since}"));
        let watched: Vec<String> = watched.collect();
        let all = [
            (WATCHED, watched.join(" ")),
            (MODERATORS, text(self.moderators)),
            (HELPERS, text(self.helpers)),
            (SHEETS, self.sheets.join(" ")),
        ];
        let set = all.into_iter().filter(|(_, value)| !value.is_empty());
        set.map(|(key, value)| (key.to_owned(), value)).collect()
    }
}

fn number(text: &str) -> Option<u64> {
    text.parse().ok().filter(|number| *number > 0)
}

fn watched(text: &str) -> Option<Watched> {
    let (forum, since) = text.split_once(':')?;
    Some(Watched {
        forum: ChannelId::new(number(forum)?),
        since: number(since)?,
    })
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split_whitespace()
}

fn text(id: Option<impl ToString>) -> String {
    id.map(|id| id.to_string()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_read_again() {
        let places = Places {
            watched: vec![Watched {
                forum: ChannelId::new(7),
                since: 8,
            }],
            moderators: Some(RoleId::new(9)),
            helpers: None,
            sheets: vec!["demo-single".to_owned()],
        };
        let setting = Setting {
            channel: places.kept(),
            ..Setting::default()
        };
        assert_eq!(Places::of(&setting), places);
        assert_eq!(Places::of(&Setting::default()), Places::default());
    }

    #[test]
    fn what_makes_no_sense_is_not_set() {
        let mut setting = Setting::default();
        setting
            .channel
            .insert("watched".to_owned(), "x 0 -3".to_owned());
        setting
            .channel
            .insert("moderators".to_owned(), "0".to_owned());
        assert_eq!(Places::of(&setting), Places::default());
    }
}
