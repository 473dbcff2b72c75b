//! Who may do what, by Discord's own permissions and the group's roles, checked again on our side.

use super::event::{Interaction, Member};
use super::places::Places;
use serenity::model::Permissions;

/// The permission to pin, which the library does not know yet.
///
/// Source: Discord developer documentation, Permissions.
const PIN_MESSAGES: u64 = 1 << 51;

/// What makes a member a moderator here, beside the group's role for it.
fn moderating() -> Permissions {
    Permissions::ADMINISTRATOR
        | Permissions::MANAGE_GUILD
        | Permissions::MANAGE_MESSAGES
        | Permissions::MANAGE_THREADS
        | Permissions::MODERATE_MEMBERS
}

/// Whether a member moderates.
#[must_use]
pub fn moderates(member: &Member, places: &Places) -> bool {
    let by_role = places
        .moderators
        .is_some_and(|role| member.roles.contains(&role));
    by_role || member.permissions.intersects(moderating())
}

/// Whether a member may set the group up.
#[must_use]
pub fn sets_up(member: &Member) -> bool {
    let needed = Permissions::ADMINISTRATOR | Permissions::MANAGE_GUILD;
    member.permissions.intersects(needed)
}

/// What we lack to open a thread and write in it, in words; none if nothing.
#[must_use]
pub fn missing(act: &Interaction, in_thread: bool) -> Option<String> {
    let mut needed = vec![
        (Permissions::VIEW_CHANNEL, "View Channel"),
        (
            Permissions::SEND_MESSAGES_IN_THREADS,
            "Send Messages in Threads",
        ),
    ];
    if !in_thread {
        needed.push((Permissions::CREATE_PUBLIC_THREADS, "Create Public Threads"));
    }
    if act.app_permissions.contains(Permissions::ADMINISTRATOR) {
        return None;
    }
    let missing: Vec<&str> = needed
        .into_iter()
        .filter(|(permission, _)| !act.app_permissions.contains(*permission))
        .map(|(_, words)| words)
        .collect();
    (!missing.is_empty()).then(|| missing.join(", "))
}

/// What the application asks for when it is invited, as one number.
///
/// Kept beside the checks so that the guide and the code cannot drift apart: a test reads the guide.
#[must_use]
pub fn invited_with() -> Permissions {
    Permissions::VIEW_CHANNEL
        | Permissions::SEND_MESSAGES
        | Permissions::SEND_MESSAGES_IN_THREADS
        | Permissions::CREATE_PUBLIC_THREADS
        | Permissions::MANAGE_THREADS
        | Permissions::READ_MESSAGE_HISTORY
        | Permissions::EMBED_LINKS
        | Permissions::ATTACH_FILES
        | Permissions::from_bits_retain(PIN_MESSAGES)
}
