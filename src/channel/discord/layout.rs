//! Buttons and menus under a reply: what can be picked, within the rows Discord allows.

use super::custom_id::CustomId;
use super::markdown::short;
use super::words;
use crate::knowledge::model::ObservationKind;
use crate::reply::{Ask, Choice, Means, Reply};
use serde_json::{Value, json};

/// Rows of a message. Source of all limits here: Discord developer documentation, Component
/// Reference.
const ROWS: usize = 5;
/// Buttons in a row.
const IN_ROW: usize = 5;
/// Options of a menu.
const IN_MENU: usize = 25;
/// Characters of a button's words.
const ON_BUTTON: usize = 80;
/// Characters of an option's words, and of a menu's placeholder we allow ourselves.
const ON_OPTION: usize = 100;
/// Beyond so many, buttons are a wall and a menu is kinder.
const BUTTONS_KIND: usize = 10;

/// Styles of a button.
const PRIMARY: u8 = 1;
const SECONDARY: u8 = 2;
const SUCCESS: u8 = 3;
const DANGER: u8 = 4;

/// What stands under a message, and what must stand in its text for it to make sense.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Layout {
    /// The rows, as Discord takes them.
    pub rows: Vec<Value>,
    /// Words too long for a button, to be listed in the text.
    pub listed: Vec<String>,
}

/// One thing to pick.
struct Pick<'a> {
    id: &'a str,
    words: &'a str,
    style: u8,
}

/// Lays out what a reply offers.
#[must_use]
pub fn layout(reply: &Reply) -> Layout {
    let mut layout = Layout::default();
    let groups = groups(reply);
    let several = groups.len() > 1;
    let service = service(reply);
    // The last row is for what can be picked whatever is on the table.
    let mut free = ROWS - usize::from(!service.is_empty());
    let mut menus = 0;
    for (position, group) in groups.iter().enumerate() {
        let later = groups.len() - position - 1;
        let rows = free.saturating_sub(later);
        let used = set(&mut layout, reply.turn, group, rows, several, &mut menus);
        free -= used;
    }
    if !service.is_empty() {
        layout.rows.push(row(&service));
    }
    layout
}

/// What belongs together: the outcomes of each check that is not a number, then the step's choices.
fn groups(reply: &Reply) -> Vec<Vec<Pick<'_>>> {
    let asked = reply
        .asks
        .iter()
        .filter(|ask| ask.kind != ObservationKind::Measurement);
    let outcomes = asked.map(outcomes);
    let choices: Vec<Pick<'_>> = reply
        .choices
        .iter()
        .filter(|choice| !is_service(choice))
        .map(pick)
        .collect();
    outcomes
        .chain([choices])
        .filter(|group| !group.is_empty())
        .collect()
}

fn outcomes(ask: &Ask) -> Vec<Pick<'_>> {
    let pairs = ask.outcomes.iter();
    pairs
        .map(|(id, words)| Pick {
            id: id.as_str(),
            words,
            style: PRIMARY,
        })
        .collect()
}

fn pick(choice: &Choice) -> Pick<'_> {
    let style = match choice.means {
        Means::Yes | Means::Done => SUCCESS,
        Means::Other => PRIMARY,
        Means::Stop => DANGER,
        _ => SECONDARY,
    };
    Pick {
        id: &choice.id,
        words: &choice.words,
        style,
    }
}

/// Whether a choice belongs in the last row.
fn is_service(choice: &Choice) -> bool {
    matches!(choice.means, Means::Why | Means::Undo | Means::Stop) || choice.id == "person"
}

fn service(reply: &Reply) -> Vec<Value> {
    let mut buttons = Vec::new();
    if let Some(words) = form_button(reply) {
        let id = CustomId::Form { turn: reply.turn };
        buttons.push(button(&id, words, PRIMARY));
    }
    for choice in reply.choices.iter().filter(|choice| is_service(choice)) {
        let words = match choice.means {
            Means::Undo => words::WRONG,
            _ => &choice.words,
        };
        let style = if choice.means == Means::Stop {
            DANGER
        } else {
            SECONDARY
        };
        buttons.push(button(&picked(reply.turn, &choice.id), words, style));
    }
    buttons.truncate(IN_ROW);
    buttons
}

/// What the button to type an answer says; none where nothing is awaited.
fn form_button(reply: &Reply) -> Option<&'static str> {
    if reply.choices.is_empty() && reply.asks.is_empty() {
        return None;
    }
    let measured = reply
        .asks
        .iter()
        .any(|ask| ask.kind == ObservationKind::Measurement);
    Some(if measured {
        words::TYPE_READING
    } else {
        words::TYPE_ANSWER
    })
}

/// Sets one group in at most so many rows; how many it took.
fn set(
    layout: &mut Layout,
    turn: u32,
    group: &[Pick<'_>],
    rows: usize,
    several: bool,
    menus: &mut usize,
) -> usize {
    let as_buttons = group.len().div_ceil(IN_ROW);
    let kind = group.len() <= if several { IN_ROW } else { BUTTONS_KIND };
    if kind && as_buttons <= rows {
        let long = group
            .iter()
            .any(|pick| pick.words.chars().count() > ON_BUTTON);
        for (row_number, picks) in group.chunks(IN_ROW).enumerate() {
            let first = row_number * IN_ROW + 1;
            let numbered = picks.iter().zip(first..);
            let buttons = numbered.map(|(pick, number)| {
                let words = if long {
                    number.to_string()
                } else {
                    pick.words.to_owned()
                };
                button(&picked(turn, pick.id), &words, pick.style)
            });
            layout.rows.push(row(&buttons.collect::<Vec<_>>()));
        }
        if long {
            let lines = group.iter().zip(1..);
            let lines = lines.map(|(pick, number)| format!("{number}. {}", pick.words));
            layout.listed.extend(lines);
        }
        return as_buttons;
    }
    let mut used = 0;
    for (part, picks) in group.chunks(IN_MENU).take(rows).enumerate() {
        let words = if part == 0 {
            words::CHOOSE
        } else {
            words::CHOOSE_MORE
        };
        layout.rows.push(menu(turn, *menus, words, picks));
        *menus += 1;
        used += 1;
    }
    used
}

fn picked(turn: u32, id: &str) -> CustomId {
    CustomId::Pick {
        turn,
        id: id.to_owned(),
    }
}

fn row(components: &[Value]) -> Value {
    json!({"type": 1, "components": components})
}

fn button(id: &CustomId, words: &str, style: u8) -> Value {
    json!({
        "type": 2,
        "style": style,
        "label": short(words, ON_BUTTON),
        "custom_id": id.to_string(),
    })
}

fn menu(turn: u32, number: usize, words: &str, picks: &[Pick<'_>]) -> Value {
    let options: Vec<Value> = picks
        .iter()
        .map(|pick| json!({"label": short(pick.words, ON_OPTION), "value": pick.id}))
        .collect();
    row(&[json!({
        "type": 3,
        "custom_id": CustomId::Menu { turn, number }.to_string(),
        "placeholder": words,
        "options": options,
    })])
}

/// Buttons under the offer to take a bystander's message in.
#[must_use]
pub fn adoption(message: serenity::model::id::MessageId) -> Vec<Value> {
    vec![row(&[
        button(&CustomId::Adopt(message), words::ADOPT, SUCCESS),
        button(&CustomId::Leave(message), words::LEAVE, SECONDARY),
    ])]
}
