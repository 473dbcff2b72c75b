//! How a phrase is meant: turned round by a "not", doubted, asked, supposed, over, or another's.

use super::matching::{Hit, Text};
use super::tally::Tally;
use super::token::What;
use crate::knowledge::phrase::{Cue, Meaning};
use std::collections::BTreeSet;
use std::ops::Range;

mod clause;
mod reach;
mod story;

pub use story::is_denied;

/// Words a "not" reaches over.
const REACH: usize = 7;

/// All cues of a message, and whose bike each sentence is about.
#[derive(Debug)]
pub struct Scopes<'t, 'a> {
    text: &'t Text<'a>,
    /// By sentence.
    cues: Vec<Vec<Found>>,
    /// By sentence: whether it begins about another vehicle.
    foreign: Vec<bool>,
    /// By sentence: whether the next one says that what it tells is over.
    settled: Vec<bool>,
    /// By sentence: the same, but for one that says only that the bike runs.
    mended: Vec<bool>,
    /// By sentence: whether it asks what the next one says of the rider's own bike.
    echoed: Vec<bool>,
    /// Tokens at which a clause ends.
    ends: Tally,
    /// Colons and question marks, at which one mostly does.
    colons: Tally,
    /// Tokens at which somebody or something else may be told of.
    changes: Tally,
}

#[derive(Debug, Clone)]
struct Found {
    cue: Cue,
    /// From its first to its last word.
    range: Range<usize>,
    /// Its own words, small ones between them left out.
    used: Vec<usize>,
    strength: f64,
}

/// Where something stands whose sense is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Place<'h> {
    /// Tokens from its first to its last word.
    pub head: &'h Range<usize>,
    /// Tokens that are its own, in order.
    pub used: &'h [usize],
    /// Position of its sentence.
    pub sentence: usize,
}

impl<'h> Place<'h> {
    /// Where a phrase stands.
    #[must_use]
    pub fn of(hit: &'h Hit<'_>) -> Self {
        Self {
            head: &hit.head,
            used: &hit.used,
            sentence: hit.sentence,
        }
    }
}

/// How one phrase is meant.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "independent ways in which a thing said may not be so"
)]
pub struct Sense {
    /// Said not to be so.
    pub negated: bool,
    /// Asked, supposed, only possible, or another's word.
    pub supposed: bool,
    /// Asked.
    pub asked: bool,
    /// Said to follow if something else happens.
    pub conditional: bool,
    /// Of another vehicle.
    pub foreign: bool,
    /// No longer so.
    pub over: bool,
    /// No longer so, and not only because the bike runs: wire in place of a fuse "works now".
    pub mended: bool,
    /// How firmly it is said.
    pub strength: f64,
}

impl Sense {
    /// Whether it is said to be so, or not so, now, of the rider's own bike.
    #[must_use]
    pub fn asserted(self) -> bool {
        !(self.supposed || self.conditional || self.foreign || self.over)
    }
}

impl<'t, 'a> Scopes<'t, 'a> {
    /// Collects the cues.
    #[must_use]
    pub fn new(text: &'t Text<'a>, hits: &[Hit<'a>]) -> Self {
        let mut cues = vec![Vec::new(); text.sentences.len()];
        let mut told = vec![false; text.sentences.len()];
        let assured = assured(hits);
        for hit in hits {
            match hit.phrase.meaning {
                // "no smoking, extinguisher, gloves" lacks neither
                Meaning::Cue(Cue::Lack) if assured.contains(&hit.used[0]) => {}
                Meaning::Cue(cue) => cues[hit.sentence].push(Found {
                    cue,
                    range: hit.head.clone(),
                    used: hit.used.clone(),
                    strength: hit.phrase.strength,
                }),
                Meaning::Symptom { .. } | Meaning::Hazard { .. } => told[hit.sentence] = true,
                _ => {}
            }
        }
        let count = text.tokens.len();
        let mark = |at: usize, mark: char| text.tokens[at].is(mark);
        let mut scopes = Self {
            text,
            cues,
            ends: Tally::of(count, |at| clause::ends(text, at)),
            colons: Tally::of(count, |at| mark(at, ':') || mark(at, '?')),
            changes: Tally::of(count, |at| clause::changes(text, at)),
            foreign: Vec::new(),
            settled: Vec::new(),
            mended: Vec::new(),
            echoed: Vec::new(),
        };
        scopes.foreign = story::whose(text, &scopes.cues);
        scopes.settled = story::over(text, &scopes.cues, &told, None);
        scopes.mended = story::over(text, &scopes.cues, &told, Some("working"));
        scopes.echoed = story::echoed(text);
        scopes
    }

    /// How a phrase is meant.
    #[must_use]
    pub fn sense(&self, hit: Place<'_>) -> Sense {
        let mut sense = Sense {
            negated: self.negated(hit),
            supposed: false,
            asked: false,
            conditional: false,
            foreign: !self.echoed[hit.sentence] && self.is_foreign(hit),
            over: self.settled[hit.sentence],
            mended: self.mended[hit.sentence],
            strength: 1.0,
        };
        sense.supposed = self.unsettled_before(hit);
        for cue in self.cues[hit.sentence]
            .iter()
            .filter(|cue| !is_within(cue, hit))
        {
            match cue.cue {
                Cue::Hedge if self.same_clause(cue, hit) => sense.strength *= cue.strength,
                Cue::Question => {
                    sense.asked |= !self.echoed[hit.sentence]
                        && self.asks(cue, hit.sentence)
                        && self.governs(cue, hit);
                }
                Cue::Condition | Cue::OtherSpeaker => {
                    sense.supposed |= self.governs(cue, hit);
                }
                Cue::If | Cue::Possible => sense.conditional |= self.governs(cue, hit),
                Cue::Past => {
                    // "no hum, used to be one": what was is told after it
                    let earlier = cue.range.start >= hit.head.end
                        && self.text.in_class(cue.range.start, "formerly");
                    let past = !earlier && self.same_clause(cue, hit) && !self.lost(cue, hit);
                    sense.over |= past;
                    sense.mended |= past;
                }
                Cue::Resolved => {
                    let undoes = cue.range.start >= hit.head.start || overlaps(cue, hit);
                    let undone = undoes && !self.relapse(cue, hit);
                    sense.over |= undone;
                    sense.mended |= undone && !self.text.in_class(cue.range.start, "working");
                }
                _ => {}
            }
        }
        sense.supposed |= sense.asked;
        sense
    }

    /// Whether a question word opens a question: at the start of a clause, or before a question mark.
    fn asks(&self, cue: &Found, sentence: usize) -> bool {
        let sentence = &self.text.sentences[sentence];
        let start = cue.range.start;
        // "I do have the heater on" stresses, "do I have" asks
        let stressed = start > sentence.tokens.start && self.text.in_class(start - 1, "person");
        if stressed && !sentence.asks {
            return false;
        }
        let before = (sentence.tokens.start..start)
            .rev()
            .find(|&at| !self.text.is_filler(at));
        sentence.asks
            || before.is_none_or(|at| {
                !matches!(self.text.tokens[at].what, What::Word(_) | What::Number(_))
                    || self.text.in_class(at, "joiner")
            })
    }

    /// Whether a cue of this sort stands in the sentence of the phrase, before it in the same clause or right after.
    #[must_use]
    pub fn has(&self, cue: Cue, hit: Place<'_>) -> bool {
        self.cues[hit.sentence]
            .iter()
            .any(|found| found.cue == cue && self.same_clause(found, hit))
    }

    /// Which of these cues stands nearest in the clause of the phrase: the first given of two as near.
    #[must_use]
    pub fn nearest<const N: usize>(&self, cues: [Cue; N], hit: Place<'_>) -> Option<Cue> {
        let distance = |found: &Found| {
            let before = hit.head.start.saturating_sub(found.range.end);
            before.max(found.range.start.saturating_sub(hit.head.end))
        };
        let rank = |cue: Cue| cues.iter().position(|known| *known == cue);
        self.cues[hit.sentence]
            .iter()
            .filter(|found| self.same_clause(found, hit))
            .filter(|found| !self.belongs_onward(found, hit))
            .filter_map(|found| Some((distance(found), rank(found.cue)?, found.cue)))
            .min_by_key(|(distance, rank, _)| (*distance, *rank))
            .map(|(_, _, cue)| cue)
    }

    /// Whether a word of the phrase is taken out of danger: "oil leak", "fire extinguisher", "on fire today".
    ///
    /// A phrase that itself contains all of it knows better: "smells like a gas station".
    #[must_use]
    pub fn is_harmless(&self, hit: Place<'_>) -> bool {
        self.takes_words(Cue::Harmless, hit) || self.takes_words(Cue::Figurative, hit)
    }

    /// Whether a cue of this sort takes a word from the phrase that does not itself contain all of it.
    #[must_use]
    pub fn takes_words(&self, cue: Cue, hit: Place<'_>) -> bool {
        self.cues[hit.sentence]
            .iter()
            .any(|found| found.cue == cue && overlaps(found, hit) && !is_within(found, hit))
    }

    /// Tokens of the cues of this sort in a sentence.
    #[must_use]
    pub fn places(&self, cue: Cue, sentence: usize) -> Vec<Range<usize>> {
        self.cues[sentence]
            .iter()
            .filter(|found| found.cue == cue)
            .map(|found| found.range.clone())
            .collect()
    }

    /// Whether an odd number of "not"s reach the phrase.
    fn negated(&self, hit: Place<'_>) -> bool {
        let all = &self.cues[hit.sentence];
        // "won't start, no lights": a lack said by itself is not turned round by an earlier one
        let own = hit.used.first().is_some_and(|&at| {
            self.text.in_class(at, "lacking") || self.text.in_class(at, "clipped-not")
        });
        let reaching = all
            .iter()
            .filter(|cue| !(own && cue.range.end <= hit.head.start && cue.range.len() == 1))
            .filter(|cue| !overlaps(cue, hit) && self.turns(cue, hit));
        let part_lacks = all
            .iter()
            .any(|cue| cue.cue == Cue::Not && !overlaps(cue, hit) && self.takes_part(cue, hit));
        let (inside, outside): (Vec<_>, Vec<_>) = reaching
            .partition(|cue| cue.range.start > hit.head.start && cue.range.end <= hit.head.end);
        part_lacks || !inside.is_empty() || outside.len() % 2 == 1
    }

    /// Whether a "not" stands right before a word of the phrase that is apart from its first part:
    /// "the engine is hot but no fuel is open".
    fn takes_part(&self, cue: &Found, hit: Place<'_>) -> bool {
        // a phrase that is itself about a lack has counted its own
        let lacks = |&at: &usize| self.text.in_class(at, "not") || self.text.in_class(at, "no");
        if hit.used.iter().any(lacks) {
            return false;
        }
        let next = (cue.range.end..self.text.sentences[hit.sentence].tokens.end)
            .find(|&at| !self.text.is_filler(at));
        next.is_some_and(|at| !hit.head.contains(&at) && hit.used.binary_search(&at).is_ok())
    }

    fn turns(&self, cue: &Found, hit: Place<'_>) -> bool {
        let inside = cue.range.start > hit.head.start && cue.range.end <= hit.head.end;
        match cue.cue {
            Cue::Not if inside => {
                let next = hit.used.partition_point(|&at| at < cue.range.end);
                let next = hit.used.get(next).copied();
                // "don't make no noise"
                if next.is_some_and(|next| self.text.in_class(next, "lacking")) {
                    return false;
                }
                next.is_none_or(|next| self.clear(&(cue.range.end..next), false))
            }
            Cue::Not => {
                cue.range.end <= hit.head.start
                    && !self.text.in_class(hit.head.start, "aside")
                    && self.reaches(cue.range.end..hit.head.start)
            }
            Cue::NotBefore => {
                cue.range.start >= hit.head.end
                    && cue.range.start <= hit.head.end + 3
                    && self.clear(&(hit.head.end..cue.range.start), true)
            }
            _ => false,
        }
    }

    /// Whether a "not" reaches over these tokens.
    fn reaches(&self, between: Range<usize>) -> bool {
        let words = between
            .clone()
            .filter(|&at| !self.text.is_filler(at))
            .count();
        words <= REACH && self.clear(&between, false)
    }

    /// Whether no clause ends within these tokens.
    fn clear(&self, between: &Range<usize>, colon: bool) -> bool {
        self.ends.within(between) == 0 && (colon || self.colons.within(between) == 0)
    }

    fn same_clause(&self, cue: &Found, hit: Place<'_>) -> bool {
        if overlaps(cue, hit) || cue.range.start < hit.head.end && cue.range.end > hit.head.start {
            return true;
        }
        if cue.range.end <= hit.head.start {
            return self.clear_of_subjects(&(cue.range.end..hit.head.start));
        }
        self.clear_of_subjects(&(hit.head.end..cue.range.start))
    }

    /// Whether a cue that looks forward reaches the phrase.
    fn governs(&self, cue: &Found, hit: Place<'_>) -> bool {
        let start = hit.used.first().copied().unwrap_or(hit.head.start);
        let inside = cue.range.start > hit.head.start && cue.range.end <= hit.head.end;
        let reaches = |start: usize| {
            cue.range.start <= start
                && (cue.range.end >= start || self.clear_of_subjects(&(cue.range.end..start)))
        };
        // what a phrase in two parts says stands in its first, wherever the other is
        inside || reaches(start) || reaches(hit.head.start)
    }

    /// Like `clear`, but a comma ends a clause only before a new subject.
    fn clear_of_subjects(&self, between: &Range<usize>) -> bool {
        self.changes.within(between) == 0
    }

    /// "won't start any more": what is over is the starting, and the complaint is new.
    fn lost(&self, cue: &Found, hit: Place<'_>) -> bool {
        let lacks = |&at: &usize| self.text.in_class(at, "not") || self.text.in_class(at, "no");
        self.text.in_class(cue.range.start, "nomore") && hit.used.iter().any(lacks)
    }

    /// "fixed it but it leaks again".
    fn relapse(&self, cue: &Found, hit: Place<'_>) -> bool {
        let end = self.text.sentences[hit.sentence].tokens.end;
        (cue.range.end..end).any(|at| self.text.in_class(at, "again"))
    }

    fn is_foreign(&self, hit: Place<'_>) -> bool {
        let before = self.cues[hit.sentence]
            .iter()
            .filter(|cue| cue.range.start <= hit.head.start && !is_within(cue, hit));
        let last = before
            .filter(|cue| matches!(cue.cue, Cue::OtherBike | Cue::OwnBike))
            .max_by_key(|cue| cue.range.start);
        let later = self.cues[hit.sentence].iter().any(|cue| {
            cue.cue == Cue::OtherBike
                && cue.range.start > hit.head.start
                && !is_within(cue, hit)
                && self.same_clause(cue, hit)
        });
        match last {
            Some(cue) => cue.cue == Cue::OtherBike,
            None => self.foreign[hit.sentence] || later,
        }
    }
}

/// Tokens of what is said of a condition of safe work that holds.
fn assured(hits: &[Hit<'_>]) -> BTreeSet<usize> {
    let used = hits
        .iter()
        .filter(|hit| hit.confirms())
        .flat_map(|hit| &hit.used);
    used.copied().collect()
}

/// Whether the words of the cue are all the phrase's own.
fn is_within(cue: &Found, hit: Place<'_>) -> bool {
    cue.used.iter().all(|at| hit.used.binary_search(at).is_ok())
}

fn overlaps(cue: &Found, hit: Place<'_>) -> bool {
    cue.range
        .clone()
        .any(|at| hit.used.binary_search(&at).is_ok())
}
