//! Which numbers are readings, and which are of the leads alone, by what stands around them.

use super::kind::plausible;
use super::{Sorter, Taken};
use crate::knowledge::classifier::Claim;
use crate::knowledge::phrase::Meaning;
use crate::language::interpretation::Expecting;
use crate::language::matching::Text;
use crate::language::owner::LEADS;
use crate::language::role::Candidate;
use crate::language::role::along::{Along, along};
use crate::language::role::around::{MOST, around};
use crate::quantity::Kind;

// All chosen on messages that were not learned from.
/// What a logit of the network counts for beside the margin of the table.
const ALONG: f64 = 0.3;
/// Short of it a number is no reading ..
const DOUBTED: f64 = -0.2;
/// .. and short of this one even where a phrase says that it is.
const DOUBTED_THOUGH_CLAIMED: f64 = -0.5;
/// .. and short of this one even where it goes on with a list of bare ones.
const DOUBTED_THOUGH_LISTED: f64 = -1.2;
/// Beyond it a number is a reading whose kind may be guessed ..
const SURE: f64 = 0.3;
/// .. and beyond this one even where a phrase says that it is none.
const SURE_THOUGH_EXCLUDED: f64 = 0.9;
/// Beyond it, as a logit, a number without a unit is of a kind that nothing else tells.
const SURE_OF: f64 = 1.0;
/// .. and beyond this one of that kind, whatever its neighbours are of.
const SURE_OF_THOUGH_OTHER: f64 = 4.0;
/// Beyond it a reading is of the leads alone, and short of its negative of something else, whatever is
/// named beside it.
const OWNED: f64 = 0.5;

/// How far the signs around a number speak for its being a reading, and one of the leads alone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weight {
    pub reading: f64,
    pub leads: f64,
    /// What a number without a unit is likeliest a number of, and how surely, as a logit.
    pub of: Option<(Kind, f64)>,
}

/// By number: what the signs around it, and all that was read before and after, speak for.
pub(super) fn weights(
    text: &Text<'_>,
    candidates: &[Candidate],
    asked: Option<Expecting>,
) -> Vec<Weight> {
    let mut weights = by_table(text, asked);
    let network = &text.phrases.numbered_along;
    if !network.claims().is_empty() {
        let Along { parts, numbers } = along(text, candidates, asked);
        let logits = network.logits(&parts);
        for (weight, part) in weights.iter_mut().zip(numbers) {
            // in the order of the claims, which the knowledge answers for
            let [reading, leads, of @ ..] = &*logits[part] else {
                continue;
            };
            weight.reading += ALONG * reading;
            weight.leads += ALONG * leads;
            weight.of = likeliest(of);
        }
    }
    weights
}

/// The kind with the largest logit, in the order of [`Kind::ALL`].
fn likeliest(logits: &[f64]) -> Option<(Kind, f64)> {
    let of = Kind::ALL.into_iter().zip(logits.iter().copied());
    of.max_by(|one, other| one.1.total_cmp(&other.1))
}

/// By number: what the signs around it speak for.
fn by_table(text: &Text<'_>, asked: Option<Expecting>) -> Vec<Weight> {
    let table = &text.phrases.numbered;
    let of_both = table
        .position(&Claim::Reading)
        .zip(table.position(&Claim::Leads));
    let Some((reading, leads)) = of_both.filter(|_| text.quantities.len() <= MOST) else {
        return Vec::new();
    };
    let weigh = |at| {
        let signs = around(text, at, asked);
        let margins = table.margins(signs.iter().map(String::as_str));
        Weight {
            reading: margins[reading],
            leads: margins[leads],
            of: None,
        }
    };
    (0..text.quantities.len()).map(weigh).collect()
}

impl Sorter<'_, '_, '_> {
    /// Whether a number with a unit, or where one was asked for, is a reading although a phrase says that it is
    /// none.
    pub(super) fn must_be(&self, candidate: &Candidate) -> bool {
        let weight = self.weights.get(candidate.at);
        let replaced = candidate.replaced || candidate.spec || self.is_named_anothers(candidate);
        let told = candidate.said.is_some() || self.expected.is_some();
        told && !replaced && weight.is_some_and(|weight| weight.reading > SURE_THOUGH_EXCLUDED)
    }

    /// Takes readings for ones of the leads alone, or of something else after all, where what stands
    /// around them says so.
    pub(super) fn reassign(&self, taken: &mut [Taken]) {
        let named: Vec<usize> = taken
            .iter()
            .filter(|one| one.reading.of.as_deref() == Some(LEADS))
            .map(|one| one.at)
            .collect();
        let several = taken.len() > 1 && named.is_empty();
        for one in taken.iter_mut().filter(|one| one.kind == Kind::Resistance) {
            let Some(weight) = self.weights.get(one.at) else {
                continue;
            };
            // leads that are named once are the one reading's
            if self.is_lead_of_part(one) {
                continue;
            }
            let another = one.reading.of.is_some() || !self.is_beside_leads(one);
            let spent = named.iter().any(|at| *at != one.at) && another;
            let of_leads = one.reading.of.as_deref() == Some(LEADS);
            if of_leads && weight.leads < -OWNED && !self.is_beside_leads(one) {
                one.reading.of = None;
            } else if !of_leads
                && !spent
                && (weight.leads > OWNED || several && self.follows_leads(one))
            {
                one.reading.of = Some(LEADS.to_owned());
            }
        }
    }

    /// Whether the lead named before a number is a part's, and none of the meter's: "HT lead L 0R4".
    fn is_lead_of_part(&self, one: &Taken) -> bool {
        const NEAR: usize = 3;
        let start = self.text.quantities[one.at].tokens.start;
        let things = &self.text.phrases.things;
        self.hits[one.sentence].iter().any(|hit| {
            let Meaning::Thing(thing) = hit.phrase.meaning else {
                return false;
            };
            let beside = hit.head.end <= start && start - hit.head.end < NEAR;
            let lead = hit
                .used
                .last()
                .is_some_and(|&at| self.text.in_class(at, "leadnoun"));
            let part = hit.used.len() > 1 && things[thing].id != LEADS && !things[thing].state;
            beside && lead && part
        })
    }

    /// "3.4 with leads 1.6": the word right before a second number.
    fn follows_leads(&self, one: &Taken) -> bool {
        let before = self.text.quantities[one.at].tokens.start.checked_sub(1);
        one.reading.of.is_none() && before.is_some_and(|at| self.text.in_class(at, "leads"))
    }

    /// Whether the leads are named right beside a number: "1.7, leads 1.6". No table may take that back.
    fn is_beside_leads(&self, one: &Taken) -> bool {
        const NEAR: usize = 3;
        let tokens = &self.text.quantities[one.at].tokens;
        let sentence = &self.text.sentences[one.sentence].tokens;
        let from = tokens.start.saturating_sub(NEAR).max(sentence.start);
        let mut beside = from..(tokens.end + NEAR).min(sentence.end);
        beside.any(|at| self.text.in_class(at, "leads") || self.text.in_class(at, "leadnoun"))
    }

    /// Whether what stands around it speaks for a reading beyond doubt.
    pub(super) fn is_surely(&self, candidate: &Candidate) -> bool {
        let weight = self.weights.get(candidate.at);
        weight.is_some_and(|weight| weight.reading > SURE)
    }

    /// What a number without a unit is a reading of by all that was read, where nothing else tells.
    pub(super) fn likely_of(&self, candidate: &Candidate) -> Option<Kind> {
        self.of(candidate, SURE_OF)
            .filter(|kind| plausible(*kind, self.quantity(candidate).value))
    }

    /// The same so surely that it counts for more than the neighbours; never for more than the question.
    pub(super) fn surely_of(&self, candidate: &Candidate) -> Option<Kind> {
        let asked = self.expected.is_some();
        self.of(candidate, SURE_OF_THOUGH_OTHER).filter(|_| !asked)
    }

    fn of(&self, candidate: &Candidate, least: f64) -> Option<Kind> {
        let weight = self.weights.get(candidate.at)?;
        let (kind, logit) = weight.of?;
        (weight.reading > SURE && logit > least).then_some(kind)
    }

    /// "58, 57 and 12": whether a message says nothing but a few numbers.
    fn is_all_numbers(&self) -> bool {
        /// Words and signs.
        const FEW: usize = 16;
        let tokens = self.text.tokens;
        let says_nothing = |at: usize| {
            let word = tokens[at].plain().is_some();
            let number = self.text.quantity_over(at).is_some();
            let mark = !word && !tokens[at].is('\n');
            number || mark || self.text.in_class(at, "joiner")
        };
        tokens.len() <= FEW && (0..tokens.len()).all(says_nothing)
    }

    /// "12.5 12.3 and 6": a bare number right after one of what was asked for, at the end, with a point or before
    /// another.
    fn is_listed(&self, candidate: &Candidate, kind: Kind) -> bool {
        let bare = |one: &Candidate| one.said.is_none() && !one.excluded && !one.replaced;
        let before = candidate.at.checked_sub(1).map(|at| &self.candidates[at]);
        let Some(before) = before.filter(|before| bare(before)) else {
            return false;
        };
        let mut between = self.quantity(before).tokens.end..self.quantity(candidate).tokens.start;
        let joins = |at: usize| self.text.tokens[at].is(',') || self.text.in_class(at, "joiner");
        let ends = self.quantity(candidate).tokens.end;
        let ended = self.text.sentences[candidate.sentence].tokens.end <= ends + 1;
        let next = self.candidates.get(candidate.at + 1);
        let goes_on = next.is_some_and(|next| {
            let apart = ends..self.quantity(next).tokens.start;
            bare(next) && apart.len() == 1 && apart.into_iter().all(joins)
        });
        let decimal = self
            .quantity(candidate)
            .decimals
            .is_some_and(|decimals| decimals > 0);
        let asked = self.expected == Some(kind) && bare(candidate);
        asked && (ended || goes_on || decimal) && between.all(joins)
    }

    /// Whether what stands around it leaves room for a reading. A number that is all of an answer does, and so
    /// does one beside words for the weather.
    pub(super) fn may_be(&self, candidate: &Candidate, kind: Kind) -> bool {
        /// Words and signs beside the number.
        const BESIDE: usize = 1;
        let own = self.quantity(candidate).tokens.len();
        let alone = self.expected.is_some() && self.text.tokens.len() <= own + BESIDE
            || self.expected == Some(kind) && self.is_all_numbers();
        let before = candidate.at.checked_sub(1);
        let worked_out = before.is_some_and(|before| self.is_thousandth(before, candidate.at));
        let listed = self.is_listed(candidate, kind) || self.is_at_a_mark(candidate);
        // "half a pint, imperial": who says which pint it is has measured it
        let asked = self.expected == Some(Kind::Volume);
        let which = asked && self.is_told_apart(self.quantity(candidate));
        if alone || self.is_weather(candidate, kind) || worked_out || which {
            return true;
        }
        // "250 ml/30 s, is that enough?"
        let flow = self.expected == Some(Kind::Flow) && self.filling[candidate.at];
        let least = if listed {
            DOUBTED_THOUGH_LISTED
        } else if candidate.claimed || flow {
            DOUBTED_THOUGH_CLAIMED
        } else {
            DOUBTED
        };
        self.weights
            .get(candidate.at)
            .is_none_or(|weight| weight.reading > least)
    }
}
