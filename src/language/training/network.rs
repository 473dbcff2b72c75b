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
mod joint;
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
use joint::{Joint, contrary};
use lexicon::Lexicon;
use recurrent::Reader;
use std::ops::Range;

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

impl Course<along::Shape> {
    /// To tell which numbers are readings. Chosen on messages that were not learned from.
    #[must_use]
    pub fn of_numbers() -> Self {
        Self {
            rounds: 26,
            joined: 0.2,
            shape: along::Shape {
                dimension: 96,
                memory: 96,
                features: 160,
            },
        }
    }
}

/// A message: its words, and on which side of every claim it lies where that is known.
#[derive(Debug, Clone)]
pub struct Example {
    /// Words and signs in their order.
    pub words: Vec<String>,
    /// By claim, of the whole; nothing where only parts tell anything.
    pub sides: Vec<Option<bool>>,
    /// Parts that are judged by themselves, after all that was read.
    pub parts: Vec<Part>,
}

impl Example {
    /// The message, and each of its parts as a message of its own.
    pub fn with_parts_apart(self) -> Vec<Self> {
        let part = |part: &Part| Self {
            words: self.words[part.words.clone()].to_vec(),
            sides: part.sides.clone(),
            parts: Vec::new(),
        };
        let mut all: Vec<Self> = self.parts.iter().map(part).collect();
        all.push(self);
        all
    }
}

/// Some of a message's words, and on which side of every claim they lie.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Positions of its words.
    pub words: Range<usize>,
    /// By claim.
    pub sides: Vec<Option<bool>>,
}

/// A message with its words as places in the [`Lexicon`].
#[derive(Debug, Clone)]
pub(super) struct Lesson {
    words: Vec<usize>,
    sides: Vec<Option<bool>>,
    parts: Vec<Part>,
}

impl Lesson {
    /// What of it is judged by itself, the whole among it.
    fn pieces(&self) -> Vec<Part> {
        let whole = (!self.sides.is_empty()).then(|| Part {
            words: 0..self.words.len(),
            sides: self.sides.clone(),
        });
        self.parts.iter().cloned().chain(whole).collect()
    }

    /// Which of its words are judged together, and on which sides they lie: the whole, and every part.
    fn judged(&self) -> impl Iterator<Item = (Range<usize>, &[Option<bool>])> {
        let whole = (!self.sides.is_empty()).then_some((0..self.words.len(), &*self.sides));
        let parts = self.parts.iter();
        whole
            .into_iter()
            .chain(parts.map(|part| (part.words.clone(), &*part.sides)))
    }
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
            let tells = example.sides.iter().any(Option::is_some) || !example.parts.is_empty();
            !example.words.is_empty() && tells
        };
        let lessons = examples.iter().filter(tells).map(|example| Lesson {
            words: example.words.iter().map(place).collect(),
            sides: example.sides.clone(),
            parts: example.parts.clone(),
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

#[cfg(test)]
mod tests {
    use super::{Course, Example, Part, train, train_recurrent};
    use crate::knowledge::classifier::Claim;
    use crate::knowledge::network::Shape;
    use crate::knowledge::recurrent;

    fn example(words: &str, side: bool) -> Example {
        Example {
            words: words.split(' ').map(str::to_owned).collect(),
            sides: vec![Some(side)],
            parts: Vec::new(),
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

    /// The same word of two messages is judged by what was read before it, and no other word of them.
    #[test]
    fn parts_are_judged_after_what_was_read() {
        let part = |side| Part {
            words: 2..3,
            sides: vec![Some(side)],
        };
        let examples = [
            ("mine shows twelve now", true),
            ("yours shows twelve now", false),
        ];
        let examples: Vec<Example> = examples
            .iter()
            .map(|(words, side)| Example {
                sides: Vec::new(),
                parts: vec![part(*side)],
                ..example(words, *side)
            })
            .collect();
        let examples = [examples.clone(), examples].concat();
        let course = Course {
            rounds: 600,
            joined: 0.0,
            shape: recurrent::Shape {
                dimension: 8,
                memory: 8,
                features: 8,
            },
        };
        let network = train_recurrent(&examples, &[Claim::Reading], &[], &course);
        for example in &examples {
            let parts = [
                &example.words[..2],
                &example.words[2..3],
                &example.words[3..],
            ];
            let logit = network.logits(&parts.map(<[String]>::to_vec))[1][0];
            assert_eq!(
                logit > 0.0,
                example.parts[0].sides[0] == Some(true),
                "{example:?}"
            );
        }
    }
}
