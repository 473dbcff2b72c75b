//! Whose bike a reading is of, where other people are named: a friend may well hold the meter.

use super::matching::Text;
use super::scope::Scopes;
use crate::knowledge::phrase::Cue;
use std::ops::Range;

/// Sentences looked back over for who was told of.
const BACK: usize = 3;

/// What is known of other people's hands and other people's bikes.
pub struct Whose<'x, 't, 'a> {
    text: &'x Text<'a>,
    scopes: &'x Scopes<'t, 'a>,
    /// By sentence: whether "his battery has 12.4" is of the bike that a helper writes for, since neither
    /// another bike nor the writer's own was named.
    of_helped: Vec<bool>,
    /// Whether the writer's own bike is named anywhere.
    own: bool,
}

impl<'x, 't, 'a> Whose<'x, 't, 'a> {
    /// Looks at the people and bikes of a message.
    #[must_use]
    pub fn of(text: &'x Text<'a>, scopes: &'x Scopes<'t, 'a>) -> Self {
        let (mut another, mut own) = (false, false);
        let of_helped = (0..text.sentences.len())
            .map(|at| {
                let others = scopes.places(Cue::OtherBike, at);
                another |= others.iter().any(|place| !is_his(text, place));
                let owned = !scopes.places(Cue::OwnBike, at).is_empty();
                own |= owned;
                !another && !owned
            })
            .collect();
        Self {
            text,
            scopes,
            of_helped,
            own,
        }
    }

    /// Whether what a sentence tells of another vehicle was measured there, and not only by or with the
    /// help of someone else.
    #[must_use]
    pub fn is_anothers(&self, sentence: usize) -> bool {
        // "my dad showed me how. It read 7.4": the sentence before tells who
        let told = (sentence.saturating_sub(BACK)..=sentence)
            .rev()
            .map(|sentence| self.scopes.places(Cue::OtherBike, sentence))
            .find(|places| !places.is_empty());
        let class = |at: usize, class| self.text.in_class(at, class);
        // "his posh meter" is his, and what it is held to need not be
        let lent =
            |from: usize| (from + 1..from + 4).any(|at| class(at, "meter") || class(at, "tool"));
        let lends = |place: &Range<usize>| {
            let assistant = class(place.start, "assistant") || lent(place.start);
            let his = self.of_helped[sentence] && is_his(self.text, place);
            (assistant || his) && !place.clone().any(|at| class(at, "bikeword"))
        };
        let helped = told.is_some_and(|people| {
            people.iter().any(|place| self.is_helped(place)) || people.iter().all(lends)
        });
        !helped
    }

    /// Whether it is another's bike that the message asks about.
    #[must_use]
    pub fn helps(&self) -> bool {
        let mut sentences = 0..self.text.sentences.len();
        sentences.any(|at| {
            let people = self.scopes.places(Cue::OtherBike, at);
            people.iter().any(|place| self.is_helped(place))
        })
    }

    /// "For my dad's bike, he reads them to me": the bike that is asked about, by someone else's hand.
    fn is_helped(&self, place: &Range<usize>) -> bool {
        let mut before = place.start.saturating_sub(2)..place.end;
        !self.own && before.any(|at| self.text.in_class(at, "on-behalf"))
    }
}

fn is_his(text: &Text<'_>, place: &Range<usize>) -> bool {
    place.len() == 1 && text.in_class(place.start, "his")
}
