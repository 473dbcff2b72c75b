//! Every phrase of every table as one list: pattern, place, meaning.

use super::Thing;
use super::build::{Draft, Source};
use super::file::{File, Said};
use super::meaning::Meaning;

/// Drafts of everything a file says, and the things it names.
pub(super) fn drafts(file: &File, source: usize, things: &mut Vec<Thing>) -> Vec<Draft> {
    let mut list = List {
        source,
        drafts: Vec::new(),
    };
    for symptom in &file.symptom {
        let id = || symptom.id.as_str().into();
        list.add(
            &symptom.said,
            &Meaning::Symptom {
                id: id(),
                present: true,
                weak: false,
            },
        );
        list.add(
            &symptom.weak,
            &Meaning::Symptom {
                id: id(),
                present: true,
                weak: true,
            },
        );
        list.add(
            &symptom.denied,
            &Meaning::Symptom {
                id: id(),
                present: false,
                weak: false,
            },
        );
    }
    for (table, make) in [
        (
            &file.history,
            (|id| Meaning::History(id.into())) as fn(&str) -> Meaning,
        ),
        (&file.system, |id| Meaning::System(id.into())),
        (&file.kit, |id| Meaning::Kit(id.into())),
        (&file.request, |id| Meaning::Request(id.into())),
        (&file.asked, |id| Meaning::AskedAbout(id.into())),
    ] {
        for named in table {
            list.add(&named.said, &make(&named.id));
        }
    }
    for hazard in &file.hazard {
        let meaning = Meaning::Hazard {
            id: hazard.id.as_str().into(),
            anyone: hazard.anyone,
        };
        list.add(&hazard.said, &meaning);
    }
    for condition in &file.condition {
        for (said, holds) in [(&condition.said, true), (&condition.denied, false)] {
            let gate = condition.id.as_str().into();
            list.add(said, &Meaning::Condition { gate, holds });
        }
    }
    file.assent
        .iter()
        .for_each(|named| list.add(&named.said, &Meaning::Assent(named.id)));
    file.answer
        .iter()
        .for_each(|named| list.add(&named.said, &Meaning::Answer(named.id)));
    file.display
        .iter()
        .for_each(|named| list.add(&named.said, &Meaning::Display(named.id)));
    file.circumstance
        .iter()
        .for_each(|named| list.add(&named.said, &Meaning::Circumstance(named.id)));
    file.role
        .iter()
        .for_each(|named| list.add(&named.said, &Meaning::Role(named.id)));
    for thing in &file.thing {
        list.add(&thing.said, &Meaning::Thing(things.len()));
        things.push(Thing {
            id: thing.id.clone(),
            kind: thing.kind,
            state: thing.state,
        });
    }
    for cue in &file.cue {
        let from = list.drafts.len();
        list.add(&cue.said, &Meaning::Cue(cue.id));
        list.drafts[from..]
            .iter_mut()
            .for_each(|draft| draft.strength = cue.strength);
    }
    list.drafts
}

struct List {
    source: usize,
    drafts: Vec<Draft>,
}

impl List {
    fn add(&mut self, said: &Said, meaning: &Meaning) {
        self.drafts.extend(said.iter().map(|text| Draft {
            text: text.get_ref().clone(),
            source: Source {
                file: self.source,
                span: Some(text.span()),
            },
            meaning: meaning.clone(),
            strength: 1.0,
        }));
    }
}
