//! What stands in the id of a button, a menu or a form: which turn it belongs to, and what it picks.

use crate::conversation::event::Turn;
use serenity::model::id::MessageId;
use std::fmt;

/// The longest id Discord takes.
///
/// Source: Discord developer documentation, Component Reference, Custom ID.
pub const LONGEST: usize = 100;

/// What an id says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CustomId {
    /// A choice or an outcome of a turn's reply.
    Pick {
        /// The turn.
        turn: Turn,
        /// What the conversation calls it.
        id: String,
    },
    /// A menu of a turn's reply; what is picked comes beside it.
    Menu {
        /// The turn.
        turn: Turn,
        /// Which of its menus.
        number: usize,
    },
    /// Opens the form of a turn's reply.
    Form {
        /// The turn.
        turn: Turn,
    },
    /// The form itself, filled in.
    Filled {
        /// The turn.
        turn: Turn,
    },
    /// Takes a bystander's message as the rider's own.
    Adopt(MessageId),
    /// Leaves it.
    Leave(MessageId),
}

impl fmt::Display for CustomId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pick { turn, id } => write!(f, "pick:{turn}:{id}"),
            Self::Menu { turn, number } => write!(f, "menu:{turn}:{number}"),
            Self::Form { turn } => write!(f, "form:{turn}"),
            Self::Filled { turn } => write!(f, "filled:{turn}"),
            Self::Adopt(message) => write!(f, "adopt:{message}"),
            Self::Leave(message) => write!(f, "leave:{message}"),
        }
    }
}

impl CustomId {
    /// Reads an id; none if it is not one of ours.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let (kind, rest) = text.split_once(':')?;
        let message = || rest.parse().ok().map(MessageId::new);
        match kind {
            "pick" => {
                let (turn, id) = rest.split_once(':')?;
                Some(Self::Pick {
                    turn: turn.parse().ok()?,
                    id: id.to_owned(),
                })
            }
            "menu" => {
                let (turn, number) = rest.split_once(':')?;
                Some(Self::Menu {
                    turn: turn.parse().ok()?,
                    number: number.parse().ok()?,
                })
            }
            "form" => Some(Self::Form {
                turn: rest.parse().ok()?,
            }),
            "filled" => Some(Self::Filled {
                turn: rest.parse().ok()?,
            }),
            "adopt" if rest != "0" => message().map(Self::Adopt),
            "leave" if rest != "0" => message().map(Self::Leave),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    #[case(CustomId::Pick { turn: 7, id: "not-outdoors".into() })]
    #[case(CustomId::Menu { turn: 0, number: 2 })]
    #[case(CustomId::Form { turn: 3 })]
    #[case(CustomId::Filled { turn: 3 })]
    #[case(CustomId::Adopt(MessageId::new(99)))]
    #[case(CustomId::Leave(MessageId::new(99)))]
    fn an_id_is_read_as_written(#[case] id: CustomId) {
        assert_eq!(CustomId::read(&id.to_string()), Some(id));
    }

    #[rstest]
    #[case("")]
    #[case("pick")]
    #[case("pick:x:yes")]
    #[case("adopt:0")]
    #[case("adopt:-1")]
    #[case("buy:1")]
    fn others_are_not_ours(#[case] text: &str) {
        assert_eq!(CustomId::read(text), None);
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,120}") {
            let _ = CustomId::read(&text);
        }
    }
}
