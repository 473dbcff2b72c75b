//! How messages are told one after the other, as in a longer story.

use super::Lesson;
use crate::knowledge::classifier::Claim;
use fastrand::Rng;

/// No more words than this make a story.
const LONGEST: usize = 160;

/// By claim that a complaint is denied: the claim that it is there.
pub(super) fn contrary(claims: &[Claim]) -> Vec<(usize, usize)> {
    let there = |claim: &Claim| match claim {
        Claim::Denied(id) => claims
            .iter()
            .position(|other| *other == Claim::Symptom(id.clone())),
        _ => None,
    };
    let pair = |(at, claim)| Some((at, there(claim)?));
    claims.iter().enumerate().filter_map(pair).collect()
}

/// How messages are told one after the other.
pub(super) struct Joint {
    pub(super) stop: usize,
    pub(super) contrary: Vec<(usize, usize)>,
    pub(super) joined: f64,
}

impl Joint {
    /// A message, or a story of it and others.
    pub(super) fn story(&self, lessons: &[Lesson], at: usize, rng: &mut Rng) -> Lesson {
        let mut story = lessons[at].clone();
        while rng.f64() < self.joined {
            let other = &lessons[rng.usize(..lessons.len())];
            if story.words.len() + other.words.len() >= LONGEST {
                break;
            }
            self.join(&mut story, other, rng.bool());
        }
        story
    }

    fn join(&self, story: &mut Lesson, other: &Lesson, after: bool) {
        let (first, second) = if after {
            (&story.words, &other.words)
        } else {
            (&other.words, &story.words)
        };
        let (mut parts, by) = (other.pieces(), first.len() + 1);
        let mut own = story.pieces();
        let moved = if after { &mut parts } else { &mut own };
        for part in moved {
            part.words = part.words.start + by..part.words.end + by;
        }
        story.words = [first.as_slice(), &[self.stop], second].concat();
        story.parts = own.into_iter().chain(parts).collect();
        for (side, other) in story.sides.iter_mut().zip(&other.sides) {
            *side = match (*side, *other) {
                (Some(true), _) | (_, Some(true)) => Some(true),
                (Some(false), Some(false)) => Some(false),
                _ => None,
            };
        }
        // Told in one message and denied in the other: nobody knows what the story says.
        for &(denied, told) in &self.contrary {
            if story.sides[denied] == Some(true) && story.sides[told] == Some(true) {
                story.sides[denied] = None;
                story.sides[told] = None;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Lesson, Part};
    use super::{Joint, contrary};
    use crate::knowledge::classifier::Claim;

    #[test]
    fn a_story_tells_what_its_parts_tell() {
        let claims = [
            Claim::Denied("stalls".into()),
            Claim::Symptom("stalls".into()),
        ];
        let joint = Joint {
            stop: 9,
            contrary: contrary(&claims),
            joined: 0.0,
        };
        let part = |words, told| Part {
            words,
            sides: vec![Some(told), None],
        };
        let lesson = |word, sides: [Option<bool>; 2]| Lesson {
            words: vec![word],
            sides: sides.to_vec(),
            parts: vec![part(0..1, word == 1)],
        };
        let (yes, no) = (Some(true), Some(false));
        let cases = [
            ([no, yes], [no, no], [no, yes]),
            ([no, no], [no, no], [no, no]),
            ([no, None], [no, no], [no, None]),
            ([no, yes], [no, None], [no, yes]),
            ([no, yes], [yes, no], [None, None]),
        ];
        for (one, other, expected) in cases {
            let mut story = lesson(1, one);
            joint.join(&mut story, &lesson(2, other), false);
            assert_eq!(story.sides, expected);
            assert_eq!(story.words, [2, 9, 1]);
            let whole = |words, sides: [Option<bool>; 2]| Part {
                words,
                sides: sides.to_vec(),
            };
            let parts = [
                part(2..3, true),
                whole(2..3, one),
                part(0..1, false),
                whole(0..1, other),
            ];
            assert_eq!(story.parts, parts);
        }
    }
}
