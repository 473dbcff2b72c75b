//! The networks of word patterns and of reading along, learned from labelled messages.
//!
//! Stochastic gradient descent on the cross-entropy of every claim that a message is labelled for: Adam
//! with decoupled decay (D. Kingma & J. Ba, ICLR 2015; I. Loshchilov & F. Hutter, ICLR 2019), dropout of
//! patterns and of words (N. Srivastava et al., JMLR 15, 2014). Messages are told one after the other
//! now and then, as in a longer story: what the story tells is what its parts tell.
//!
//! A word's vector is its own and, added to it, one of every sense it is known to have: rare words, and
//! those that no message holds, share what is learned of their kin.

mod adam;
mod descent;
mod lexicon;
mod recurrent;
#[cfg(test)]
mod slope;

pub use lexicon::{Sense, senses};

use crate::knowledge::classifier::Claim;
use crate::knowledge::network::{self, Network};
use crate::knowledge::recurrent::{self as along, Recurrent};
use descent::Descent;
use fastrand::Rng;
use lexicon::Lexicon;
use recurrent::Reader;

/// No more words than this make a story.
const LONGEST: usize = 160;
/// Messages looked at before the numbers are moved.
const BATCH: usize = 64;
/// What parts the messages of a story.
const STOP: &str = ".";

/// How surely, as a logit, no claim is made before anything was learned.
const DOUBT: f32 = -3.0;

/// How long to learn, and how large a network.
#[derive(Debug, Clone)]
pub struct Course<Shape> {
    /// How often every message is looked at.
    pub rounds: usize,
    /// How often a message is followed, or preceded, by another, and that by one more.
    pub joined: f64,
    /// The size of the network.
    pub shape: Shape,
}

impl Default for Course<network::Shape> {
    /// Chosen on messages that were not learned from.
    fn default() -> Self {
        Self {
            rounds: 40,
            joined: 0.4,
            shape: network::Shape {
                dimension: 100,
                filters: 256,
                widths: vec![1, 2, 3, 5],
            },
        }
    }
}

impl Default for Course<along::Shape> {
    /// Chosen on messages that were not learned from.
    fn default() -> Self {
        Self {
            rounds: 20,
            joined: 0.4,
            shape: along::Shape {
                dimension: 100,
                memory: 96,
                features: 256,
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

/// The network of patterns that tells the sides of the messages. The same messages make the same network.
#[must_use]
pub fn train(
    examples: &[Example],
    claims: &[Claim],
    senses: &[Sense],
    course: &Course<network::Shape>,
) -> Network {
    let mut school = School::of(examples, claims, senses, course);
    let steps = school.steps(course);
    let (lexicon, rng) = (&school.lexicon, &mut school.rng);
    let mut descent = Descent::new(&course.shape, lexicon, claims.len(), steps, rng);
    school.teach(course, |stories, lexicon, rng| {
        descent.step(stories, lexicon, rng);
    });
    Network::new(
        course.shape.clone(),
        school.lexicon.words.clone(),
        claims.to_vec(),
        descent.learned(&school.lexicon),
    )
}

/// The network that reads along and tells the sides of the messages. The same messages make the same
/// network, on machines that multiply matrices alike.
#[must_use]
pub fn train_recurrent(
    examples: &[Example],
    claims: &[Claim],
    senses: &[Sense],
    course: &Course<along::Shape>,
) -> Recurrent {
    let mut school = School::of(examples, claims, senses, course);
    let steps = school.steps(course);
    let (lexicon, rng) = (&school.lexicon, &mut school.rng);
    let mut reader = Reader::new(&course.shape, lexicon, claims.len(), steps, rng);
    school.teach(course, |stories, lexicon, rng| {
        reader.step(stories, lexicon, rng);
    });
    let weights = reader.learned(&school.lexicon);
    Recurrent::new(school.lexicon.words.clone(), claims.to_vec(), weights)
}

/// What is learned from, in which order, and how messages are joined.
struct School {
    lexicon: Lexicon,
    lessons: Vec<Lesson>,
    joint: Joint,
    rng: Rng,
}

impl School {
    fn of<S>(examples: &[Example], claims: &[Claim], senses: &[Sense], course: &Course<S>) -> Self {
        let lexicon = Lexicon::of(examples, senses);
        let place = |word: &String| lexicon.place(word);
        let tells = |example: &&Example| {
            !example.words.is_empty() && example.sides.iter().any(Option::is_some)
        };
        let lessons = examples.iter().filter(tells).map(|example| Lesson {
            words: example.words.iter().map(place).collect(),
            sides: example.sides.clone(),
        });
        Self {
            lessons: lessons.collect(),
            joint: Joint {
                stop: place(&STOP.to_owned()),
                contrary: contrary(claims),
                joined: course.joined,
            },
            lexicon,
            rng: Rng::with_seed(1),
        }
    }

    /// How often the numbers are moved.
    fn steps<S>(&self, course: &Course<S>) -> usize {
        course.rounds * self.lessons.len().div_ceil(BATCH)
    }

    /// Hands out all messages, some at a time, as often as the course says.
    fn teach<S>(
        &mut self,
        course: &Course<S>,
        mut step: impl FnMut(&[Lesson], &Lexicon, &mut Rng),
    ) {
        let rng = &mut self.rng;
        let mut order: Vec<usize> = (0..self.lessons.len()).collect();
        for _ in 0..course.rounds {
            rng.shuffle(&mut order);
            for batch in order.chunks(BATCH) {
                let story = |at: &usize| self.joint.story(&self.lessons, *at, rng);
                let stories: Vec<Lesson> = batch.iter().map(story).collect();
                step(&stories, &self.lexicon, rng);
            }
        }
    }
}

/// By claim how far a network is off: the slope of the cross-entropy over its logit, nothing where the
/// side is not known.
fn missed(logits: &[f32], sides: &[Option<bool>]) -> Vec<f32> {
    let missed = |(logit, side): (&f32, &Option<bool>)| {
        let told = |side| 1.0 / (1.0 + (-logit).exp()) - if side { 1.0 } else { 0.0 };
        side.map_or(0.0, told)
    };
    logits.iter().zip(sides).map(missed).collect()
}

/// What [`missed`] is the slope of.
#[cfg(test)]
fn cross_entropy(logits: &[f32], sides: &[Option<bool>]) -> f32 {
    let one = |(logit, side): (&f32, &Option<bool>)| match side {
        Some(true) => (-logit).exp().ln_1p(),
        Some(false) => logit.exp().ln_1p(),
        None => 0.0,
    };
    logits.iter().zip(sides).map(one).sum()
}

/// Numbers spread evenly about zero, of that standard deviation.
fn spread(count: usize, deviation: f32, rng: &mut Rng) -> Vec<f32> {
    let most = deviation * 3_f32.sqrt();
    (0..count).map(|_| most * (2.0 * rng.f32() - 1.0)).collect()
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
    use super::{Course, Example, Joint, Lesson, contrary, train, train_recurrent};
    use crate::knowledge::classifier::Claim;
    use crate::knowledge::network::Shape;
    use crate::knowledge::recurrent;

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

    /// What the last word says hangs on the first, six words before, which no sum over short patterns tells.
    #[test]
    fn what_was_read_long_before_is_kept_in_mind() {
        let between = "the one that has it";
        let cases = [
            ("mine", "leaks", true),
            ("yours", "leaks", false),
            ("mine", "holds", false),
            ("yours", "holds", true),
        ];
        let examples: Vec<Example> = cases
            .iter()
            .map(|(first, last, side)| example(&format!("{first} {between} {last}"), *side))
            .collect();
        let course = Course {
            rounds: 4000,
            joined: 0.0,
            shape: recurrent::Shape {
                dimension: 16,
                memory: 24,
                features: 24,
            },
        };
        let claims = [Claim::Hazard("fuel-leak".into())];
        // a word in its own right where two messages hold it
        let examples = [examples.clone(), examples].concat();
        let network = train_recurrent(&examples, &claims, &[], &course);
        for example in &examples {
            let logit = network.logits(std::slice::from_ref(&example.words))[1][0];
            assert_eq!(logit > 0.0, example.sides[0] == Some(true), "{example:?}");
        }
        let again = train_recurrent(&examples, &claims, &[], &course);
        assert_eq!(network.written(), again.written());
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
