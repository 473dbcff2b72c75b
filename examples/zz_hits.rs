//! Prints the phrases found in each line.
use floatbowl::knowledge::phrase::{PhraseFile, Phrases};
use floatbowl::language::matching::Text;
use floatbowl::language::scope::{Place, Scopes};
use floatbowl::language::{normalise, number, quantity, sentence, token};
use std::io::BufRead;
fn main() {
    let mut files: Vec<PhraseFile> = std::fs::read_dir("knowledge/phrases/en").unwrap().map(|e| e.unwrap().path())
        .map(|p| PhraseFile { text: std::fs::read_to_string(&p).unwrap(), path: p.display().to_string() }).collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let phrases = Phrases::compile(&files, &[]).unwrap();
    for line in std::io::stdin().lock().lines() {
        let line = line.unwrap();
        let tokens = token::tokens(&normalise::normalise(&line), &phrases.words);
        let numbers = number::numbers(&tokens, &phrases.numbers);
        let quantities = quantity::quantities(&tokens, &numbers, &phrases);
        let sentences = sentence::sentences(&tokens);
        let text = Text::new(&tokens, &quantities, &sentences, &phrases);
        let hits = text.hits();
        let scopes = Scopes::new(&text, &hits);
        println!("== {line}");
        for hit in &hits {
            let used: Vec<&str> = hit.used.iter().map(|&t| &line[tokens[t].span.clone()]).collect();
            let s = scopes.sense(Place::of(hit));
            println!("  {:?} {used:?} neg={} sup={} cond={} for={} over={} harmless={}", hit.phrase.meaning, s.negated, s.supposed, s.conditional, s.foreign, s.over, scopes.is_harmless(Place::of(hit)));
        }
    }
}
