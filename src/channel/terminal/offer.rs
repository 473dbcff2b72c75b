//! What the rider may pick from, how it is marked, and what typing a mark or its words means.

use crate::conversation::event::Incoming;
use crate::knowledge::model::ObservationKind;
use crate::quantity::Kind;
use crate::reply::{Ask, Reply};

/// Something that can be picked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// What is typed to pick it.
    pub mark: String,
    /// What the conversation calls it.
    pub id: String,
    /// Its words.
    pub words: String,
}

/// Everything that can be picked after a reply, in groups that belong together.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Offer {
    /// The groups, none of them empty.
    pub groups: Vec<Vec<Item>>,
    /// What is awaited beside a pick.
    pub awaits: Awaits,
}

/// What is awaited beside a pick.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Awaits {
    /// Words. Marks are numbers.
    #[default]
    Words,
    /// A number, of this kind if there is only one. Marks are letters, so that "12" is never taken
    /// for one.
    Reading(Option<Kind>),
}

impl Offer {
    /// What a reply offers: the outcomes of each observation asked for, then the choices.
    ///
    /// The outcomes of a measurement are not offered, since the number decides among them.
    #[must_use]
    pub fn of(reply: &Reply) -> Self {
        let measured = |ask: &&Ask| ask.kind == ObservationKind::Measurement;
        let readings: Vec<&Ask> = reply.asks.iter().filter(measured).collect();
        let awaits = match readings.as_slice() {
            [] => Awaits::Words,
            [ask] => Awaits::Reading(ask.quantity),
            _ => Awaits::Reading(None),
        };
        let asked = reply.asks.iter().filter(|ask| !measured(ask));
        let outcomes = asked.map(|ask| {
            let pairs = ask.outcomes.iter();
            pairs
                .map(|(id, words)| (id.as_str(), words.as_str()))
                .collect()
        });
        let choices = reply.choices.iter();
        let choices = choices.map(|choice| (choice.id.as_str(), choice.words.as_str()));
        let groups = outcomes.chain([choices.collect()]).collect();
        Self::marked(groups, awaits)
    }

    /// Marks groups of ids and words; an id that occurs twice is offered once.
    #[must_use]
    pub fn marked(groups: Vec<Vec<(&str, &str)>>, awaits: Awaits) -> Self {
        let mut seen: Vec<String> = Vec::new();
        let mut marked = Vec::new();
        for group in groups {
            let mut items = Vec::new();
            for (id, words) in group {
                if seen.iter().any(|known| known == id) {
                    continue;
                }
                items.push(Item {
                    mark: mark(seen.len(), awaits),
                    id: id.to_owned(),
                    words: words.to_owned(),
                });
                seen.push(id.to_owned());
            }
            if !items.is_empty() {
                marked.push(items);
            }
        }
        Self {
            groups: marked,
            awaits,
        }
    }

    /// All items, in the order shown.
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.groups.iter().flatten()
    }

    /// What a typed line means: a mark or the exact words pick, anything else is text.
    #[must_use]
    pub fn read(&self, line: &str) -> Incoming {
        match self.picked(line) {
            Some(item) => Incoming::Choose(item.id.clone()),
            None => Incoming::Text(line.trim().to_owned()),
        }
    }

    fn picked(&self, line: &str) -> Option<&Item> {
        let typed = bare(line);
        let by_mark = self.items().find(|item| item.mark == typed);
        by_mark.or_else(|| self.items().find(|item| bare(&item.words) == typed))
    }
}

/// The text without case, and without what people put around a mark or at the end of a sentence.
fn bare(text: &str) -> String {
    let around = |c: char| c.is_whitespace() || "[]().,:;!#".contains(c);
    text.trim_matches(around).to_lowercase()
}

fn mark(position: usize, awaits: Awaits) -> String {
    if awaits == Awaits::Words {
        return (position + 1).to_string();
    }
    let letter = char::from(b"abcdefghijklmnopqrstuvwxyz"[position % 26]);
    letter.to_string().repeat(position / 26 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn offer(awaits: Awaits) -> Offer {
        let groups = vec![
            vec![("hums", "It hums."), ("silent", "Nothing at all")],
            vec![("skip", "Leave it for now"), ("hums", "It hums.")],
        ];
        Offer::marked(groups, awaits)
    }

    #[rstest]
    #[case("1", Some("hums"))]
    #[case(" [2] ", Some("silent"))]
    #[case("3.", Some("skip"))]
    #[case("#3", Some("skip"))]
    #[case("it hums", Some("hums"))]
    #[case("NOTHING AT ALL!", Some("silent"))]
    #[case("4", None)]
    #[case("0", None)]
    #[case("-1", None)]
    #[case("1 or 2", None)]
    #[case("a", None)]
    #[case("it hums I think", None)]
    #[case("", None)]
    fn numbers_and_words_pick(#[case] typed: &str, #[case] id: Option<&str>) {
        let expected = match id {
            Some(id) => Incoming::Choose(id.to_owned()),
            None => Incoming::Text(typed.trim().to_owned()),
        };
        assert_eq!(offer(Awaits::Words).read(typed), expected);
    }

    #[rstest]
    #[case("1", None)]
    #[case("2.", None)]
    #[case("12.4", None)]
    #[case("b", Some("silent"))]
    #[case("C)", Some("skip"))]
    fn where_a_reading_is_awaited_letters_pick(#[case] typed: &str, #[case] id: Option<&str>) {
        let expected = match id {
            Some(id) => Incoming::Choose(id.to_owned()),
            None => Incoming::Text(typed.to_owned()),
        };
        assert_eq!(offer(Awaits::Reading(None)).read(typed), expected);
    }

    #[test]
    fn every_one_of_many_marks_is_different() {
        for awaits in [Awaits::Words, Awaits::Reading(None)] {
            let ids: Vec<String> = (0..60).map(|n| format!("id-{n}")).collect();
            let group = ids.iter().map(|id| (id.as_str(), id.as_str())).collect();
            let offer = Offer::marked(vec![group], awaits);
            for item in offer.items() {
                let expected = Incoming::Choose(item.id.clone());
                assert_eq!(offer.read(&item.mark), expected);
            }
        }
    }
}
