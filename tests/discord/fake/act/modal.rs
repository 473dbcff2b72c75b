//! Filling in and sending a modal that the bot showed.

use serde_json::{Value, json};

use super::interaction::{Act, ids};
use crate::fake::Fake;
use crate::fake::check::component::walk;
use crate::fake::check::list;
use crate::fake::world::{Interaction, World};

impl Fake {
    /// Somebody sends the modal they were shown last under this id; fields go by custom id.
    #[track_caller]
    pub fn submit_modal(&self, user: u64, custom_id: &str, fields: &[(&str, &str)]) -> u64 {
        self.shared.with(|world| {
            let shown = world.modal(user, custom_id);
            let known = walk(&shown.data["components"]);
            for (name, _) in fields {
                assert!(
                    known.iter().any(|one| one["custom_id"] == *name),
                    "modal {custom_id:?} has no field {name:?}"
                );
            }
            let components = fill(&shown.data["components"], fields);
            let chosen: Vec<_> = walk(&components)
                .iter()
                .flat_map(|one| list(&one["values"]).to_vec())
                .collect();
            let resolved = world.resolved(&ids(&chosen), shown.channel, user);
            let data =
                json!({"custom_id": custom_id, "components": components, "resolved": resolved});
            let act = Act {
                channel: shown.channel,
                user,
                kind: 5,
                source: shown.source,
                name: custom_id,
            };
            world.interact(&act, &data)
        })
    }
}

impl World {
    /// The interaction whose answer showed a modal.
    #[track_caller]
    fn modal(&self, user: u64, custom_id: &str) -> Interaction {
        let shown = |one: &&Interaction| {
            one.user == user && one.answer == Some(9) && one.data["custom_id"] == custom_id
        };
        let found = self.interactions.values().rev().find(shown);
        found
            .unwrap_or_else(|| panic!("user {user} was shown no modal {custom_id:?}"))
            .clone()
    }

    /// The modal a person was shown last.
    pub fn last_modal(&self, user: u64) -> Option<&Value> {
        let shown = |one: &&Interaction| one.user == user && one.answer == Some(9);
        self.interactions
            .values()
            .rev()
            .find(shown)
            .map(|one| &one.data)
    }
}

/// The components as they come back: same layout, with values instead of settings.
#[track_caller]
fn fill(components: &Value, fields: &[(&str, &str)]) -> Value {
    let part = |one: &Value| match one["type"].as_u64() {
        Some(1) => json!({"type": 1, "components": fill(&one["components"], fields)}),
        Some(18) => json!({"type": 18, "id": 1, "component": answer(&one["component"], fields)}),
        _ => answer(one, fields),
    };
    list(components)
        .iter()
        .filter(|one| one["type"] != 10)
        .map(part)
        .collect()
}

#[track_caller]
fn answer(input: &Value, fields: &[(&str, &str)]) -> Value {
    let id = &input["custom_id"];
    let given = fields
        .iter()
        .find(|(name, _)| *id == *name)
        .map(|(_, value)| *value);
    let value = given
        .or_else(|| input["value"].as_str())
        .unwrap_or_default();
    let required = input["required"] != false;
    assert!(!required || !value.is_empty(), "field {id} is required");
    if input["type"] != 4 {
        let values: Vec<_> = value.split(',').filter(|one| !one.is_empty()).collect();
        return json!({"type": input["type"], "custom_id": id, "values": values});
    }
    let count = value.chars().count() as u64;
    let low = input["min_length"].as_u64().unwrap_or(0);
    let high = input["max_length"].as_u64().unwrap_or(4000);
    let fits = value.is_empty() || (low..=high).contains(&count);
    assert!(
        fits,
        "field {id} takes {low} to {high} characters, not {count}"
    );
    json!({"type": 4, "custom_id": id, "value": value})
}
