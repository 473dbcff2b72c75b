//! What the guide for contributors shows as knowledge compiles as knowledge, beside what is shipped.

use floatbowl::knowledge::library::Source;
use floatbowl::knowledge::{Knowledge, load};

const GUIDE: &str = include_str!("../DEVELOPERS.md");

/// The TOML blocks of the guide that are whole tables, in order; an indented one is a line of another.
fn blocks() -> Vec<&'static str> {
    let fenced = GUIDE.split("\n```toml\n").skip(1);
    fenced
        .map(|rest| rest.split("```").next().expect("a split has a first piece"))
        .collect()
}

/// Phrases live in files of their own shape; every other block is plain knowledge.
fn path(at: usize, block: &str) -> String {
    let phrases = ["denied = ", "[class", "[[outcome]]"]
        .iter()
        .any(|table| block.contains(table));
    let folder = if phrases { "phrases/en/" } else { "" };
    format!("{folder}zz-guide-{at}.toml")
}

#[test]
fn every_block_of_the_guide_is_knowledge_that_passes_the_check() {
    let blocks = blocks();
    assert!(blocks.len() >= 5, "{} blocks", blocks.len());
    let mut sources = load::embedded();
    sources.extend(blocks.iter().enumerate().map(|(at, block)| Source {
        path: path(at, block),
        text: (*block).to_owned(),
    }));
    let place = "\"fuel-filter\", \"fuel-pump\"";
    let systems = sources
        .iter_mut()
        .find(|source| source.path == "systems.toml")
        .expect("there are systems");
    assert!(systems.text.contains(place));
    // The guide's new part takes its place on the path, as the guide says.
    systems.text = systems
        .text
        .replace(place, "\"fuel-filter\", \"inlet-gauze\", \"fuel-pump\"");
    let knowledge = Knowledge::compile(sources).unwrap_or_else(|verdict| panic!("{verdict}"));
    let model = knowledge
        .model(&"pump-carb".into())
        .expect("a shipped system");
    assert!(model.fault("inlet-gauze-clogged").is_some());
    assert!(knowledge.bikes.contains_key("snipe-400"));
}
