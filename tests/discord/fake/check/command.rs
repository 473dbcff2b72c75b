//! Limits of application commands (Discord developer documentation, Application Commands).

use std::collections::BTreeSet;
use std::sync::LazyLock;

use regex::Regex;
use serde_json::Value;

use super::{Findings, list};

/// Application Commands, Application Command Naming, without the two scripts the page adds.
static NAME: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"^[-_'\p{L}\p{N}]{1,32}$").expect("a pattern"));

/// Checks a whole set of commands as it is overwritten.
pub fn check(commands: &Value) -> Findings {
    let mut found = Findings::default();
    found.must(commands.is_array(), || "the commands are not a list".into());
    let mut names = BTreeSet::new();
    for kind in 1..=3 {
        let count = list(commands)
            .iter()
            .filter(|one| kind_of(one) == kind)
            .count();
        // Registering a Command; an older edition of the page says 5 for context menus.
        let most = if kind == 1 { 100 } else { 15 };
        found.must(count <= most, || {
            format!("{count} commands of type {kind}, {most} allowed")
        });
    }
    for command in list(commands) {
        let name = command["name"].as_str().unwrap_or_default();
        found.must(names.insert((kind_of(command), name.to_owned())), || {
            format!("command {name:?} twice")
        });
        check_command(&mut found, command);
    }
    found
}

fn kind_of(command: &Value) -> u64 {
    command["type"].as_u64().unwrap_or(1)
}

fn check_command(found: &mut Findings, command: &Value) {
    let name = command["name"].as_str().unwrap_or_default();
    if kind_of(command) == 1 {
        check_slash(found, command, name, 0);
    } else {
        found.length(&command["name"], "name of a context menu", 1..=32);
        let plain = command["description"].as_str().is_none_or(str::is_empty)
            && list(&command["options"]).is_empty();
        found.must(plain, || {
            format!("context menu {name:?} with description or options")
        });
    }
    check_local(found, command, name);
    let sum = size(command);
    found.must(sum <= 8000, || {
        format!("command {name:?} has {sum} characters together, 8000 allowed")
    });
    let permissions = &command["default_member_permissions"];
    let bits = permissions.is_null()
        || permissions
            .as_str()
            .is_some_and(|text| text.parse::<u64>().is_ok());
    found.must(bits, || {
        format!("command {name:?}: default_member_permissions {permissions}")
    });
}

/// A slash command, one of its subcommands, or an option.
fn check_slash(found: &mut Findings, item: &Value, path: &str, depth: usize) {
    let name = item["name"].as_str().unwrap_or_default();
    found.must(NAME.is_match(name) && name.to_lowercase() == name, || {
        format!("{path}: name {name:?}")
    });
    found.must(item["description"].is_string(), || {
        format!("{path}: no description")
    });
    found.length(
        &item["description"],
        &format!("{path}: description"),
        1..=100,
    );
    found.count(&item["options"], &format!("{path}: options"), 0..=25);
    found.count(&item["choices"], &format!("{path}: choices"), 0..=25);
    let mut names = BTreeSet::new();
    let mut optional = false;
    for option in list(&item["options"]) {
        let inner = format!("{path} {}", option["name"].as_str().unwrap_or_default());
        check_option(found, option, &inner, depth);
        found.must(names.insert(option["name"].to_string()), || {
            format!("{inner}: twice")
        });
        let required = option["required"] == true;
        found.must(!(required && optional), || {
            format!("{inner}: required after an optional one")
        });
        optional |= !required && !matches!(option["type"].as_u64(), Some(1 | 2));
    }
}

fn check_option(found: &mut Findings, option: &Value, path: &str, depth: usize) {
    let kind = option["type"].as_u64().unwrap_or(0);
    found.must((1..=11).contains(&kind), || {
        format!("{path}: option type {kind}")
    });
    let deep = kind == 2 && depth > 0 || kind == 1 && depth > 1;
    found.must(!deep, || format!("{path}: nested too deep"));
    for choice in list(&option["choices"]) {
        found.length(&choice["name"], &format!("{path}: choice name"), 1..=100);
        if choice["value"].is_string() {
            found.length(&choice["value"], &format!("{path}: choice value"), 1..=100);
        }
    }
    let both = option["autocomplete"] == true && !list(&option["choices"]).is_empty();
    found.must(!both, || format!("{path}: choices and autocomplete"));
    check_local(found, option, path);
    check_slash(found, option, path, depth + 1);
}

/// Localised names and descriptions keep the same limits.
fn check_local(found: &mut Findings, item: &Value, path: &str) {
    for (locale, name) in item["name_localizations"].as_object().into_iter().flatten() {
        found.length(name, &format!("{path}: name in {locale}"), 1..=32);
    }
    for (locale, text) in item["description_localizations"]
        .as_object()
        .into_iter()
        .flatten()
    {
        found.length(text, &format!("{path}: description in {locale}"), 1..=100);
    }
}

/// Names, descriptions and values together.
fn size(item: &Value) -> usize {
    let count = |value: &Value| value.as_str().map_or(0, |text| text.chars().count());
    let choices: usize = list(&item["choices"])
        .iter()
        .map(|one| count(&one["name"]) + count(&one["value"]))
        .sum();
    count(&item["name"])
        + count(&item["description"])
        + choices
        + list(&item["options"]).iter().map(size).sum::<usize>()
}
