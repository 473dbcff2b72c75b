//! How far cues reach: over the end of a sentence, past a "but", and not back from a lone "no".

use super::{Found, Place, Scopes};
use crate::knowledge::phrase::Cue;

impl Scopes<'_, '_> {
    /// Whether a phrase begun in the sentence before is not told there as being so: "No fuel on the
    /// floor. It drips water."
    pub(super) fn unsettled_before(&self, hit: Place<'_>) -> bool {
        let start = self.text.sentences[hit.sentence].tokens.start;
        let first = hit.used.first().copied().unwrap_or(start);
        let Some(before) = hit.sentence.checked_sub(1).filter(|_| first < start) else {
            return false;
        };
        let begun = hit.head.start < start;
        self.cues[before].iter().any(|cue| match cue.cue {
            Cue::Not => cue.range.end <= first && self.reaches(cue.range.end..first),
            Cue::Question | Cue::If | Cue::OtherSpeaker | Cue::Past if begun => {
                cue.range.start <= first
                    && self.clear_of_subjects(&(cue.range.end..first.max(cue.range.end)))
            }
            _ => false,
        })
    }

    /// "no gloves but goggles": a "but" right before the phrase turns the lack told before it.
    #[must_use]
    pub fn turns_a_lack(&self, hit: Place<'_>) -> bool {
        let start = self.text.sentences[hit.sentence].tokens.start;
        let before = (start..hit.head.start).rev();
        let turn = before
            .clone()
            .find(|&at| !self.text.is_filler(at) || self.text.in_class(at, "contrast"))
            .filter(|&at| self.text.in_class(at, "contrast"));
        let lack =
            |cue: &Found| cue.cue == Cue::Lack && turn.is_some_and(|turn| cue.range.end <= turn);
        self.cues[hit.sentence].iter().any(lack)
    }

    /// "a meter, no test lamp", "the meter has no beeper": a lone "no" after the phrase, or one with words
    /// behind it, is about what follows it.
    pub(super) fn belongs_onward(&self, cue: &Found, hit: Place<'_>) -> bool {
        let next = self.text.tokens.get(cue.range.end);
        let goes_on = next.is_some_and(|next| next.plain().is_some());
        (cue.range.len() == 1 || goes_on)
            && cue.range.start >= hit.head.end
            && self.text.in_class(cue.range.end - 1, "lacking")
    }
}
