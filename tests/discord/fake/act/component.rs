//! Pressing buttons and choosing from selects, as far as they are there and not disabled.

use serde_json::{Value, json};

use super::interaction::{Act, ids};
use crate::fake::Fake;
use crate::fake::check::component::walk;
use crate::fake::check::list;
use crate::fake::world::World;

impl Fake {
    /// Somebody presses a button.
    #[track_caller]
    pub fn press(&self, message: u64, user: u64, custom_id: &str) -> u64 {
        self.shared.with(|world| {
            let button = world.component(message, user, custom_id);
            assert_eq!(button["type"], 2, "{custom_id:?} is no button");
            world.touch(
                message,
                user,
                &json!({"custom_id": custom_id, "component_type": 2}),
            )
        })
    }

    /// Somebody presses the button with this label.
    #[track_caller]
    pub fn press_label(&self, message: u64, user: u64, label: &str) -> u64 {
        let id = self.read(|world| world.live(message).map(|one| one.button(label)));
        self.press(
            message,
            user,
            &id.unwrap_or_else(|| panic!("message {message} is not there")),
        )
    }

    /// Somebody presses a button of an earlier state of a message, as a slow client does.
    #[track_caller]
    pub fn press_stale(&self, message: u64, user: u64, custom_id: &str) -> u64 {
        self.shared.with(|world| {
            let found = world
                .live(message)
                .unwrap_or_else(|| panic!("message {message} is not there"));
            let has = |state: &Value| {
                walk(&state["components"])
                    .iter()
                    .any(|one| one["custom_id"] == custom_id)
            };
            let there = found.earlier.iter().any(has) || has(&found.json);
            assert!(
                there,
                "no button {custom_id:?} ever was on message {message}"
            );
            world.touch(
                message,
                user,
                &json!({"custom_id": custom_id, "component_type": 2}),
            )
        })
    }

    /// Somebody chooses from a select: option values, or ids of people, roles or channels.
    #[track_caller]
    pub fn choose(&self, message: u64, user: u64, custom_id: &str, values: &[&str]) -> u64 {
        self.shared.with(|world| {
            let select = world.component(message, user, custom_id);
            check_choice(&select, values);
            let mut data =
                json!({"custom_id": custom_id, "component_type": select["type"], "values": values});
            if select["type"] != 3 {
                let values: Vec<_> = values.iter().map(|value| json!(value)).collect();
                let channel = world.messages[&message].channel;
                data["resolved"] = world.resolved(&ids(&values), channel, user);
            }
            world.touch(message, user, &data)
        })
    }
}

#[track_caller]
fn check_choice(select: &Value, values: &[&str]) {
    let kind = select["type"].as_u64().unwrap_or(0);
    assert!(
        matches!(kind, 3 | 5..=8),
        "{} is no select",
        select["custom_id"]
    );
    let low = select["min_values"].as_u64().unwrap_or(1);
    let high = select["max_values"].as_u64().unwrap_or(1);
    let count = values.len() as u64;
    assert!(
        (low..=high).contains(&count),
        "{count} values chosen, {low} to {high} can be"
    );
    for value in values.iter().filter(|_| kind == 3) {
        let known = list(&select["options"])
            .iter()
            .any(|option| option["value"] == *value);
        assert!(known, "{value:?} is no option of {}", select["custom_id"]);
    }
}

impl World {
    /// The component on a message that a person can use now.
    #[track_caller]
    fn component(&self, message: u64, user: u64, custom_id: &str) -> Value {
        let shown = self.seen_by(message, user);
        let all = walk(&shown["components"]);
        let ids: Vec<_> = all
            .iter()
            .filter_map(|one| one["custom_id"].as_str())
            .collect();
        let found = all.iter().find(|one| one["custom_id"] == custom_id);
        let found =
            found.unwrap_or_else(|| panic!("message {message} has no {custom_id:?}, only {ids:?}"));
        assert_ne!(
            found["disabled"], true,
            "{custom_id:?} on message {message} is disabled"
        );
        (*found).clone()
    }

    fn touch(&mut self, message: u64, user: u64, data: &Value) -> u64 {
        let channel = self.messages[&message].channel;
        let name = data["custom_id"].as_str().unwrap_or_default();
        self.interact(
            &Act {
                channel,
                user,
                kind: 3,
                source: Some(message),
                name,
            },
            data,
        )
    }
}
