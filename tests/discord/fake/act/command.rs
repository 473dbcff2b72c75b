//! Slash commands, autocomplete and context menus, as far as the bot registered them.

use serde_json::{Value, json};

use super::interaction::{Act, ids};
use crate::fake::Fake;
use crate::fake::check::list;
use crate::fake::permission::USE_APPLICATION_COMMANDS;
use crate::fake::world::{World, number};

impl Fake {
    /// Somebody sends a slash command; subcommands are words of the name ("setup channels").
    #[track_caller]
    pub fn slash(&self, channel: u64, user: u64, name: &str, options: &[(&str, Value)]) -> u64 {
        self.shared.with(|world| {
            let (command, path) = world.usable(channel, user, name);
            let options = filled(&command, &path, options);
            let act = Act {
                channel,
                user,
                kind: 2,
                source: None,
                name,
            };
            let data = world.command_data(&command, &options, &act);
            world.interact(&act, &data)
        })
    }

    /// Somebody types in an option that completes itself.
    #[track_caller]
    pub fn autocomplete(
        &self,
        channel: u64,
        user: u64,
        name: &str,
        (option, typed): (&str, &str),
    ) -> u64 {
        self.shared.with(|world| {
            let (command, path) = world.usable(channel, user, name);
            let leaf = leaf(&command, &path);
            let known = list(&leaf["options"])
                .iter()
                .find(|one| one["name"] == option);
            let known = known.unwrap_or_else(|| panic!("/{name} has no option {option:?}"));
            assert_eq!(
                known["autocomplete"], true,
                "option {option:?} of /{name} does not complete itself"
            );
            let typed =
                json!({"name": option, "type": known["type"], "value": typed, "focused": true});
            let options = nest(&command, &path, &[typed]);
            let act = Act {
                channel,
                user,
                kind: 4,
                source: None,
                name,
            };
            let data = world.command_data(&command, &options, &act);
            world.interact(&act, &data)
        })
    }

    /// Somebody picks a command from a message's menu; the message comes with its text, whatever the intents.
    #[track_caller]
    pub fn message_menu(&self, channel: u64, user: u64, name: &str, target: u64) -> u64 {
        self.shared.with(|world| {
            let command = world.registered_in(channel, name, 3);
            world.assert_usable(&command, channel, user);
            let message = world.seen_by(target, user);
            let data = json!({
                "id": command["id"], "name": name, "type": 3, "target_id": target.to_string(),
                "resolved": {"messages": {target.to_string(): message}},
            });
            world.interact(
                &Act {
                    channel,
                    user,
                    kind: 2,
                    source: None,
                    name,
                },
                &data,
            )
        })
    }

    /// Somebody picks a command from a person's menu.
    #[track_caller]
    pub fn user_menu(&self, channel: u64, user: u64, name: &str, target: u64) -> u64 {
        self.shared.with(|world| {
            let command = world.registered_in(channel, name, 2);
            world.assert_usable(&command, channel, user);
            let resolved = world.resolved(&[target], channel, user);
            let data = json!({"id": command["id"], "name": name, "type": 2, "target_id": target.to_string(), "resolved": resolved});
            world.interact(&Act { channel, user, kind: 2, source: None, name }, &data)
        })
    }
}

impl World {
    /// The command a person can see and use here, and the way to its subcommand.
    #[track_caller]
    fn usable(&self, channel: u64, user: u64, name: &str) -> (Value, Vec<String>) {
        let mut words = name.split(' ').map(str::to_owned);
        let command = self.registered_in(channel, &words.next().unwrap_or_default(), 1);
        self.assert_usable(&command, channel, user);
        (command, words.collect())
    }

    #[track_caller]
    fn registered_in(&self, channel: u64, name: &str, kind: u64) -> Value {
        let scopes = [self.guild_of(channel), None];
        let all = scopes.iter().flat_map(|scope| self.registered(*scope));
        let found = all
            .clone()
            .find(|one| one["name"] == name && one["type"] == kind);
        let names: Vec<_> = all.map(|one| one["name"].to_string()).collect();
        found
            .unwrap_or_else(|| {
                panic!("no command {name:?} of type {kind} is registered, only {names:?}")
            })
            .clone()
    }

    /// A person sees a command if the bits it asks for are theirs, or administrators opened it.
    #[track_caller]
    fn assert_usable(&self, command: &Value, channel: u64, user: u64) {
        let asked =
            number(&command["default_member_permissions"]).unwrap_or(0) | USE_APPLICATION_COMMANDS;
        let held = self.permissions_in(channel, user);
        let open = self.settings.commands_open || self.guild_of(channel).is_none();
        assert!(
            open || held & asked == asked,
            "user {user} does not see command {}",
            command["name"]
        );
    }

    fn command_data(&self, command: &Value, options: &Value, act: &Act<'_>) -> Value {
        let mut values = Vec::new();
        collect(options, &mut values);
        json!({
            "id": command["id"], "name": command["name"], "type": 1, "options": options,
            "resolved": self.resolved(&ids(&values), act.channel, act.user), "guild_id": command.get("guild_id"),
        })
    }
}

/// Options as Discord sends them, checked against what was registered.
#[track_caller]
fn filled(command: &Value, path: &[String], options: &[(&str, Value)]) -> Value {
    let leaf = leaf(command, path);
    let known = list(&leaf["options"]);
    for wanted in known.iter().filter(|one| one["required"] == true) {
        let given = options.iter().any(|(name, _)| wanted["name"] == *name);
        assert!(
            given,
            "option {} of {} is required",
            wanted["name"], command["name"]
        );
    }
    let fill = |(name, value): &(&str, Value)| {
        let found = known.iter().find(|one| one["name"] == *name);
        let found = found.unwrap_or_else(|| panic!("{} has no option {name:?}", command["name"]));
        let choices = list(&found["choices"]);
        let chosen = choices.is_empty() || choices.iter().any(|one| one["value"] == *value);
        assert!(chosen, "{value} is no choice of option {name:?}");
        json!({"name": name, "type": found["type"], "value": value})
    };
    let options: Vec<_> = options.iter().map(fill).collect();
    nest(command, path, &options)
}

/// The subcommand at the end of a way.
#[track_caller]
fn leaf(command: &Value, path: &[String]) -> Value {
    path.iter().fold(command.clone(), |at, word| {
        let found = list(&at["options"]).iter().find(|one| one["name"] == *word);
        found
            .unwrap_or_else(|| panic!("{} has no subcommand {word:?}", command["name"]))
            .clone()
    })
}

/// Wraps options in their subcommand and group.
fn nest(command: &Value, path: &[String], options: &[Value]) -> Value {
    let mut inner = json!(options);
    for depth in (1..=path.len()).rev() {
        let kind = &leaf(command, &path[..depth])["type"];
        inner = json!([{"name": path[depth - 1], "type": kind, "options": inner}]);
    }
    inner
}

/// The values of user, channel, role and mentionable options.
fn collect(options: &Value, values: &mut Vec<Value>) {
    for option in list(options) {
        if matches!(option["type"].as_u64(), Some(6..=9)) {
            values.push(option["value"].clone());
        }
        collect(&option["options"], values);
    }
}
