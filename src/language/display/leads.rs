//! Displays of the meter while its own leads touch: "OL even with the probes jammed together".

use crate::knowledge::phrase::Meaning;
use crate::language::matching::{Hit, Text};
use crate::language::owner;
use crate::language::token::What;
use std::ops::Range;

/// Tokens between the leads and what the meter shows.
const NEAR: usize = 12;

/// The leads, where a phrase that says they touch is the nearest thing to a display.
pub fn beside(text: &Text<'_>, hits: &[Hit<'_>], display: &Hit<'_>) -> Option<String> {
    let from = hits.partition_point(|hit| hit.sentence < display.sentence);
    let to = hits.partition_point(|hit| hit.sentence <= display.sentence);
    let hits = &hits[from..to];
    let touching = |hit: &&Hit<'_>| {
        touches(text, hit)
            && owner::is_of_leads(text, hit, hits)
            && reaches(text, hits, hit, display)
    };
    hits.iter().find(touching)?;
    Some(owner::LEADS.to_owned())
}

/// Whether the words of a phrase say that leads touch; "the ends of the fuse" are no leads.
fn touches(text: &Text<'_>, hit: &Hit<'_>) -> bool {
    let any = |class: &str| hit.used.iter().any(|&at| text.in_class(at, class));
    let together = any("contact");
    let to_each_other = hit.used.iter().filter(|&&at| text.in_class(at, "leadnoun"));
    let of_meter = together || any("leadnoun");
    of_meter && (together || any("shorting") || to_each_other.count() > 1)
}

/// Whether nothing else that may be measured or read stands between.
fn reaches(text: &Text<'_>, hits: &[Hit<'_>], leads: &Hit<'_>, display: &Hit<'_>) -> bool {
    let before = leads.head.start <= display.head.start;
    let between = if before {
        leads.head.end..display.head.start.max(leads.head.end)
    } else {
        display.head.end..leads.head.start.max(display.head.end)
    };
    let others = hits.iter().filter(|hit| {
        between.contains(&hit.head.start)
            && match hit.phrase.meaning {
                Meaning::Thing(thing) => !text.phrases.things[thing].state,
                Meaning::Display(_) => true,
                _ => false,
            }
    });
    let apart = divided(text, &between);
    let taken = || hits.iter().any(|other| is_shown_with(text, leads, other));
    between.len() <= NEAR
        && others.count() == 0
        && !numbered(text, &between)
        && (!apart || before && !taken())
}

/// Whether a hit is what the meter shows in the clause where the leads touch: "beeps tip on tip, OL on the
/// pump".
fn is_shown_with(text: &Text<'_>, leads: &Hit<'_>, other: &Hit<'_>) -> bool {
    let between = if other.head.end <= leads.head.start {
        other.head.end..leads.head.start
    } else {
        leads.head.end..other.head.start.max(leads.head.end)
    };
    matches!(other.phrase.meaning, Meaning::Display(_)) && !divided(text, &between)
}

fn numbered(text: &Text<'_>, between: &Range<usize>) -> bool {
    let mut tokens = between.clone();
    tokens.any(|at| {
        let number = text.quantity_over(at).map(|at| &text.quantities[at]);
        // "the two tips"
        number.is_some_and(|number| !(number.spelt && number.is_count()))
    })
}

/// Whether a clause ends between.
fn divided(text: &Text<'_>, between: &Range<usize>) -> bool {
    let mut tokens = between.clone();
    tokens.any(|at| matches!(text.tokens[at].what, What::Mark(_)) || text.in_class(at, "joiner"))
}
