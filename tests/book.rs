//! The handbook parses, holds every id, source and caution, links only to what is there, and lets no
//! text through as markup.

use floatbowl::book::page;
use floatbowl::book::tale::tales;
use floatbowl::knowledge::{Knowledge, load};
use roxmltree::{Document, ParsingOptions};
use std::collections::BTreeSet;
use std::sync::LazyLock;

static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);

fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(page, options).expect("the handbook is well-formed")
}

fn attributes<'a>(document: &'a Document<'_>, name: &'a str) -> impl Iterator<Item = &'a str> {
    document
        .descendants()
        .filter_map(move |node| node.attribute(name))
}

fn words(document: &Document<'_>) -> String {
    let texts = document.descendants().filter_map(|node| node.text());
    texts.collect::<Vec<_>>().join("\n")
}

/// Every id of the knowledge as an anchor.
fn anchors(knowledge: &Knowledge) -> Vec<String> {
    let mut anchors = Vec::new();
    let mut sort = |sort: &str, ids: Vec<String>| {
        assert!(!ids.is_empty(), "no {sort}");
        anchors.extend(ids.into_iter().map(|id| format!("{sort}-{id}")));
    };
    let checks = knowledge.observations.values();
    sort(
        "system",
        knowledge.systems.keys().map(ToString::to_string).collect(),
    );
    sort(
        "part",
        knowledge.parts.keys().map(ToString::to_string).collect(),
    );
    sort(
        "opening",
        knowledge.openings.keys().map(ToString::to_string).collect(),
    );
    sort(
        "gate",
        knowledge
            .gates
            .iter()
            .map(|gate| gate.id.to_string())
            .collect(),
    );
    sort(
        "caution",
        knowledge.cautions.keys().map(ToString::to_string).collect(),
    );
    sort(
        "hazard",
        knowledge.hazards.keys().map(ToString::to_string).collect(),
    );
    sort(
        "kit",
        knowledge.kit.iter().map(|kit| kit.id.to_string()).collect(),
    );
    sort(
        "symptom",
        knowledge.symptoms.keys().map(ToString::to_string).collect(),
    );
    sort(
        "history",
        knowledge.history.keys().map(ToString::to_string).collect(),
    );
    sort(
        "fault",
        knowledge.faults.keys().map(ToString::to_string).collect(),
    );
    sort(
        "check",
        checks.clone().map(|check| check.id.to_string()).collect(),
    );
    sort(
        "outcome",
        checks
            .flat_map(|check| &check.outcome)
            .map(|outcome| outcome.id.to_string())
            .collect(),
    );
    sort("bike", knowledge.bikes.keys().cloned().collect());
    anchors
}

#[test]
fn every_id_has_its_place_and_every_link_leads_to_one() {
    let page = page(&KNOWLEDGE, &tales(&KNOWLEDGE));
    let document = parsed(&page);
    let ids: Vec<&str> = attributes(&document, "id").collect();
    let there: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), there.len(), "an id stands twice");
    let missing: Vec<String> = anchors(&KNOWLEDGE)
        .into_iter()
        .filter(|id| !there.contains(id.as_str()))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
    let astray: Vec<&str> = attributes(&document, "href")
        .filter(|to| !there.contains(to.trim_start_matches('#')))
        .collect();
    assert!(astray.is_empty(), "{astray:?}");
    let drawings = document
        .descendants()
        .filter(|node| node.tag_name().name() == "svg")
        .count();
    let paths: usize = KNOWLEDGE
        .systems
        .values()
        .map(|system| system.path.len())
        .sum();
    assert_eq!(drawings, paths);
}

#[test]
fn every_source_caution_and_limit_is_in_it() {
    let page = page(&KNOWLEDGE, &[]);
    let words = words(&parsed(&page));
    let knowledge = &*KNOWLEDGE;
    let sources = knowledge
        .observations
        .values()
        .map(|check| &check.source)
        .chain(knowledge.faults.values().map(|fault| &fault.repair.source))
        .chain(knowledge.gates.iter().map(|gate| &gate.source))
        .chain(knowledge.cautions.values().map(|caution| &caution.source))
        .chain(knowledge.hazards.values().map(|hazard| &hazard.source))
        .chain(
            knowledge
                .specs
                .values()
                .flat_map(|spec| [&spec.source, &spec.conditions]),
        )
        .chain(knowledge.cautions.values().map(|caution| &caution.text))
        .chain(knowledge.hazards.values().flat_map(|hazard| &hazard.now))
        .chain(knowledge.observations.values().flat_map(|check| &check.how));
    let missing: Vec<&String> = sources
        .filter(|text| !words.contains(text.as_str()))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn no_text_is_taken_for_markup() {
    const NASTY: &str = "</p><script>alert('x')</script> & \"fuel\" <b>";
    let mut sources = load::embedded();
    for source in &mut sources {
        let name = toml::Value::String(NASTY.to_owned()).to_string();
        source.text = source
            .text
            .replace("name = \"tank vent\"", &format!("name = {name}"));
    }
    let knowledge = Knowledge::compile(sources).expect("only words have changed");
    let page = page(&knowledge, &[]);
    let document = parsed(&page);
    assert!(
        document
            .descendants()
            .all(|node| node.tag_name().name() != "script")
    );
    assert!(
        words(&document).contains(NASTY),
        "the words themselves are lost"
    );
}

/// Each story ends with all its faults repaired, or with a shop that takes over.
#[test]
fn every_story_comes_to_its_end() {
    let tales = tales(&KNOWLEDGE);
    let told: Vec<(&str, Vec<String>)> = tales
        .iter()
        .map(|tale| (tale.title.as_str(), tale.repaired.clone()))
        .collect();
    let repaired: Vec<Vec<String>> = told.iter().map(|(_, repaired)| repaired.clone()).collect();
    let expected: [&[&str]; 4] = [
        &["relay-contacts-burnt"],
        &["vent-blocked"],
        &["battery-worn", "pilot-jet-clogged"],
        &[],
    ];
    assert_eq!(repaired, expected, "{told:?}");
}
