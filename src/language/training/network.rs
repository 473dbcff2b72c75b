//! The network of word patterns, learned from labelled messages.
//!
//! Stochastic gradient descent on the cross-entropy of every claim that a message is labelled for: Adam
//! with decoupled decay (D. Kingma & J. Ba, ICLR 2015; I. Loshchilov & F. Hutter, ICLR 2019), dropout of
//! patterns and of words (N. Srivastava et al., JMLR 15, 2014). Messages are told one after the other
//! now and then, as in a longer story: what the story tells is what its parts tell.

//!
//! A word's vector is its own and, added to it, one of every sense it is known to have: rare words, and
//! those that no message holds, share what is learned of their kin.

mod descent;
mod lexicon;

pub use lexicon::{Sense, senses};

use crate::knowledge::classifier::Claim;
use crate::knowledge::network::{Network, Shape};
use descent::Descent;
use fastrand::Rng;
use lexicon::Lexicon;

/// No more words than this make a story.
const LONGEST: usize = 160;
/// Messages looked at before the numbers are moved.
const BATCH: usize = 64;
/// What parts the messages of a story.
const STOP: &str = ".";

/// How long to learn, and how large a network.
#[derive(Debug, Clone)]
pub struct Course {
    /// How often every message is looked at.
    pub rounds: usize,
    /// How often a message is followed, or preceded, by another, and that by one more.
    pub joined: f64,
    /// The size of the network.
    pub shape: Shape,
}

impl Default for Course {
    /// Chosen on messages that were not learned from.
    fn default() -> Self {
        Self {
            rounds: 40,
            joined: 0.4,
            shape: Shape {
                dimension: 100,
                filters: 256,
                widths: vec![1, 2, 3, 5],
            },
        }
    }
}

/// A message: its words, and on which side of every claim it lies where that is known.
#[derive(Debug, Clone)]
pub struct Example {
    /// Words and signs in their order.
    pub words: Vec<String>,
    /// By claim.
    pub sides: Vec<Option<bool>>,
}

/// A message with its words as places in the [`Lexicon`].
#[derive(Debug, Clone)]
pub(super) struct Lesson {
    words: Vec<usize>,
    sides: Vec<Option<bool>>,
}

/// The network that tells the sides of the messages. The same messages make the same network.
#[must_use]
pub fn train(examples: &[Example], claims: &[Claim], senses: &[Sense], course: &Course) -> Network {
    let lexicon = Lexicon::of(examples, senses);
    let place = |word: &String| lexicon.place(word);
    let tells =
        |example: &&Example| !example.words.is_empty() && example.sides.iter().any(Option::is_some);
    let lessons: Vec<Lesson> = examples
        .iter()
        .filter(tells)
        .map(|example| Lesson {
            words: example.words.iter().map(place).collect(),
            sides: example.sides.clone(),
        })
        .collect();
    let joint = Joint {
        stop: place(&STOP.to_owned()),
        contrary: contrary(claims),
        joined: course.joined,
    };
    let mut rng = Rng::with_seed(1);
    let mut order: Vec<usize> = (0..lessons.len()).collect();
    let steps = course.rounds * lessons.len().div_ceil(BATCH);
    let mut descent = Descent::new(&course.shape, &lexicon, claims.len(), steps, &mut rng);
    for _ in 0..course.rounds {
        rng.shuffle(&mut order);
        for batch in order.chunks(BATCH) {
            let stories: Vec<Lesson> = batch
                .iter()
                .map(|at| joint.story(&lessons, *at, &mut rng))
                .collect();
            descent.step(&stories, &lexicon, &mut rng);
        }
    }
    Network::new(
        course.shape.clone(),
        lexicon.words.clone(),
        claims.to_vec(),
        descent.learned(&lexicon),
    )
}

/// By claim that a complaint is denied: the claim that it is there.
fn contrary(claims: &[Claim]) -> Vec<(usize, usize)> {
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
struct Joint {
    stop: usize,
    contrary: Vec<(usize, usize)>,
    joined: f64,
}

impl Joint {
    /// A message, or a story of it and others.
    fn story(&self, lessons: &[Lesson], at: usize, rng: &mut Rng) -> Lesson {
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
        story.words = [first.as_slice(), &[self.stop], second].concat();
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
    use super::{Course, Example, Joint, Lesson, contrary, train};
    use crate::knowledge::classifier::Claim;
    use crate::knowledge::network::Shape;

    fn example(words: &str, side: bool) -> Example {
        Example {
            words: words.split(' ').map(str::to_owned).collect(),
            sides: vec![Some(side)],
        }
    }

    /// The same words in another order say something else, which no sum over words tells.
    #[test]
    fn the_order_of_words_is_learned() {
        let examples: Vec<Example> = ["fine", "bad", "odd", "hot", "cold", "late"]
            .iter()
            .flat_map(|word| {
                [
                    example(&format!("{word} not it leaks"), true),
                    example(&format!("{word} it not leaks"), false),
                ]
            })
            .collect();
        let course = Course {
            rounds: 2000,
            joined: 0.0,
            shape: Shape {
                dimension: 8,
                filters: 8,
                widths: vec![1, 2],
            },
        };
        let claims = [Claim::Hazard("fuel-leak".into())];
        let network = train(&examples, &claims, &[], &course);
        for example in &examples {
            let logit = network.logits(std::slice::from_ref(&example.words))[1][0];
            assert_eq!(logit > 0.0, example.sides[0] == Some(true), "{example:?}");
        }
        assert_eq!(
            network.written(),
            train(&examples, &claims, &[], &course).written()
        );
    }

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
        let lesson = |word, sides: [Option<bool>; 2]| Lesson {
            words: vec![word],
            sides: sides.to_vec(),
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
        }
    }
}
