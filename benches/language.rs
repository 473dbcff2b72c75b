//! How long reading takes: a usual message, a long story, and a megabyte.

use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::phrase::Phrases;
use floatbowl::language::interpretation::Expecting;
use floatbowl::language::{Context, interpret};
use floatbowl::quantity::Kind;

fn main() {
    divan::main();
}

fn phrases() -> Phrases {
    Knowledge::embedded().phrases
}

const STORY: &str = "So my bike sat for 8 months. Put fresh gas in it. It will start with the \
    choke on and run for maybe 30 seconds, then dies. Battery is 12.4 V resting, 10.1 cranking. \
    My buddy says it's the coil but I have good spark. No leaks that I can see. ";

#[divan::bench]
fn a_reading(bencher: divan::Bencher<'_, '_>) {
    let phrases = phrases();
    bencher.bench(|| {
        interpret(
            "leads 0.4, across the pump 3.8 ohms",
            &Context::default(),
            &phrases,
        )
    });
}

#[divan::bench]
fn a_story(bencher: divan::Bencher<'_, '_>) {
    let phrases = phrases();
    bencher.bench(|| interpret(STORY, &Context::default(), &phrases));
}

#[divan::bench(args = [STORY, "a", "12.4 ", "é🔥 ", "zqxjkvb wmrtpl "], sample_count = 10)]
fn a_megabyte(bencher: divan::Bencher<'_, '_>, piece: &str) {
    let phrases = phrases();
    let text = piece.repeat((1 << 20) / piece.len());
    bencher.bench(|| interpret(&text, &Context::default(), &phrases));
}

/// A question about ohms compares readings with each other, which must not make a long list slow.
#[divan::bench(args = [STORY, "12.4 ", "OL ", "so 0.4 leads 1.6 "], sample_count = 10)]
fn a_megabyte_where_ohms_were_asked_for(bencher: divan::Bencher<'_, '_>, piece: &str) {
    let phrases = phrases();
    let text = piece.repeat((1 << 20) / piece.len());
    let context = Context {
        expecting: Some(Expecting::Quantity(Kind::Resistance)),
        ..Context::default()
    };
    bencher.bench(|| interpret(&text, &context, &phrases));
}

#[divan::bench(sample_count = 10)]
fn compiling_the_knowledge() -> Phrases {
    phrases()
}
