//! The commands as Discord registers them: names, descriptions, options, and who sees them.

use serde_json::{Value, json};
use serenity::model::Permissions;

/// Starts a conversation.
pub const START: &str = "bike-trouble";
/// Says how things stand.
pub const WHERE: &str = "where-we-are";
/// Explains the step on the table.
pub const WHY: &str = "why-this";
/// Takes the last answer back.
pub const UNDO: &str = "take-back";
/// Calls a person.
pub const HELPER: &str = "call-a-helper";
/// Erases everything of whoever asks.
pub const FORGET: &str = "forget-me";
/// Takes a value out of the rider's own manual.
pub const MANUAL: &str = "manual-says";
/// Sets the group up.
pub const SETUP: &str = "group-setup";
/// Leads volunteers to the transcripts.
pub const REVIEW: &str = "read-transcripts";
/// Shows a bike's sheet that the group has approved.
pub const SHEET: &str = "group-sheet";
/// Starts from somebody's post.
pub const START_FROM: &str = "Start a diagnosis here";
/// Takes somebody's message in.
pub const TAKE_IN: &str = "Take into the diagnosis";

/// Option types. Source of all numbers here: Discord developer documentation, Application Commands.
const TEXT: u8 = 3;
const WHOLE: u8 = 4;
const SWITCH: u8 = 5;
const CHANNEL: u8 = 7;
const ROLE: u8 = 8;
/// Command types.
const SLASH: u8 = 1;
const ON_MESSAGE: u8 = 3;
/// Channel types that can be watched (forum), and where helpers look (text).
const FORUM: u8 = 15;
const TEXT_CHANNEL: u8 = 0;
/// Usable in groups only.
const IN_GROUPS: [u8; 1] = [0];

/// All commands, to be registered as they are.
#[must_use]
pub fn all() -> Value {
    json!([
        slash(
            START,
            "Find out why the bike does not run: opens a thread for it",
            &[
                option(TEXT, "what", "What is wrong, in your own words", 2000),
                option(
                    TEXT,
                    "sheet",
                    "A bike whose sheet this group has approved",
                    100
                ),
            ]
        ),
        slash(
            WHERE,
            "What we know so far and what comes next (only you see it)",
            &[]
        ),
        slash(WHY, "Why this step, and what each result would mean", &[]),
        slash(UNDO, "Take your last answer back", &[]),
        slash(
            HELPER,
            "Ask for a person; what we know stays in the pinned message",
            &[]
        ),
        slash(FORGET, "Erase everything of yours that is kept here", &[]),
        slash(
            MANUAL,
            "A value out of your own manual, for the check we are at",
            &[required(option(
                TEXT,
                "value",
                "Such as: 0.5 to 1.5 ohm at 20 degC",
                300
            )),]
        ),
        slash(
            SHEET,
            "Show a bike's sheet that this group has approved",
            &[option(TEXT, "bike", "Which; without it, the list", 100),]
        ),
        only_for(
            slash(REVIEW, "Where volunteers read what they may read", &[]),
            Permissions::MANAGE_MESSAGES
        ),
        only_for(setup(), Permissions::MANAGE_GUILD),
        only_for(on_message(START_FROM), Permissions::MANAGE_MESSAGES),
        on_message(TAKE_IN),
    ])
}

fn setup() -> Value {
    let open = json!([
        {"name": "nothing without consent", "value": "nothing"},
        {"name": "what a person has taken over", "value": "handed-over"},
        {"name": "everything", "value": "everything"},
    ]);
    let language = json!([{"name": "English", "value": "en"}]);
    slash(
        SETUP,
        "Channels, roles, how long things are kept; without options, how it is set now",
        &[
            of_type(
                option(CHANNEL, "watch", "A forum whose new posts I answer", 0),
                FORUM,
            ),
            of_type(
                option(CHANNEL, "unwatch", "A forum I shall no longer answer in", 0),
                FORUM,
            ),
            option(
                ROLE,
                "moderators",
                "A role that may do what moderators may",
                0,
            ),
            of_type(
                option(
                    CHANNEL,
                    "helpers",
                    "Where I say that a rider wants a person",
                    0,
                ),
                TEXT_CHANNEL,
            ),
            with_choices(
                option(TEXT, "language", "The language I speak", 0),
                &language,
            ),
            between(
                option(
                    WHOLE,
                    "keep-days",
                    "Days a conversation is kept after its last turn",
                    0,
                ),
                1,
                3650,
            ),
            option(
                SWITCH,
                "reminders",
                "Whether a silent rider is reminded once",
                0,
            ),
            with_choices(
                option(TEXT, "open-to-volunteers", "What volunteers may read", 0),
                &open,
            ),
            option(
                TEXT,
                "sheets",
                "Ids of bikes whose sheets the group approves, with blanks; - for none",
                500,
            ),
        ],
    )
}

fn slash(name: &str, description: &str, options: &[Value]) -> Value {
    json!({
        "type": SLASH,
        "name": name,
        "description": description,
        "options": options,
        "contexts": IN_GROUPS,
        "integration_types": [0],
    })
}

fn on_message(name: &str) -> Value {
    json!({"type": ON_MESSAGE, "name": name, "contexts": IN_GROUPS, "integration_types": [0]})
}

/// Seen by members with a permission only, unless the group's admins say otherwise.
fn only_for(mut command: Value, permission: Permissions) -> Value {
    command["default_member_permissions"] = permission.bits().to_string().into();
    command
}

fn option(kind: u8, name: &str, description: &str, longest: u16) -> Value {
    let mut option = json!({"type": kind, "name": name, "description": description});
    if kind == TEXT && longest > 0 {
        option["max_length"] = longest.into();
    }
    option
}

fn required(mut option: Value) -> Value {
    option["required"] = true.into();
    option
}

fn of_type(mut option: Value, kind: u8) -> Value {
    option["channel_types"] = json!([kind]);
    option
}

fn between(mut option: Value, least: u16, most: u16) -> Value {
    option["min_value"] = least.into();
    option["max_value"] = most.into();
    option
}

fn with_choices(mut option: Value, choices: &Value) -> Value {
    option["choices"] = choices.clone();
    option
}
