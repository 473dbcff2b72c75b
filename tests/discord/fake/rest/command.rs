//! Registration of application commands (Discord developer documentation, Application Commands).

use serde_json::{Value, json};

use super::id;
use crate::fake::call::Call;
use crate::fake::check::{command, list};
use crate::fake::reply::{Answer, Reply, missing_access};
use crate::fake::world::World;

/// Finds the handler of a path under an application.
pub fn route(world: &mut World, call: &Call, rest: &[&str]) -> Option<Answer> {
    let scope = match rest {
        ["commands"] => None,
        ["guilds", guild, "commands"] => Some(id(guild)?),
        _ => return None,
    };
    if scope.is_some_and(|guild| world.guilds.get(&guild).is_none_or(|home| !home.joined)) {
        return Some(Err(missing_access()));
    }
    match call.method.as_str() {
        "PUT" => Some(overwrite(world, call, scope)),
        "GET" => Some(Ok(Reply::with(json!(
            world.commands.get(&scope).cloned().unwrap_or_default()
        )))),
        _ => None,
    }
}

/// Bulk Overwrite: what is not named is gone; a name that stays keeps its id.
fn overwrite(world: &mut World, call: &Call, scope: Option<u64>) -> Answer {
    world.judge(call, &command::check(&call.body))?;
    let before = world.commands.remove(&scope).unwrap_or_default();
    let mut after = Vec::new();
    for wish in list(&call.body) {
        let kind = wish["type"].as_u64().unwrap_or(1);
        let same = |one: &&Value| one["name"] == wish["name"] && one["type"] == kind;
        let id = before.iter().find(same).map_or_else(
            || json!(world.next_id().to_string()),
            |one| one["id"].clone(),
        );
        let mut command = json!({
            "id": id, "application_id": world.application.to_string(), "version": world.next_id().to_string(),
            "type": kind, "name": wish["name"], "description": "", "default_member_permissions": null,
            "dm_permission": true, "nsfw": false, "options": [], "contexts": null, "integration_types": [0],
        });
        crate::fake::world::merge(&mut command, wish);
        if let Some(guild) = scope {
            command["guild_id"] = json!(guild.to_string());
        }
        after.push(command);
    }
    world.commands.insert(scope, after.clone());
    Ok(Reply::with(json!(after)))
}
