//! The chapters of the fuel systems, and of what riders say and what went before.

use super::drawing;
use super::html::Html;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Chance, System};

pub(super) fn chapter(knowledge: &Knowledge) -> Html {
    Html::all(knowledge.systems.values().map(|it| system(knowledge, it)))
}

fn system(knowledge: &Knowledge, system: &System) -> Html {
    let mut body = vec![Html::paragraph(&system.tell)];
    for path in &system.path {
        body.push(Html::element(
            "p",
            &[("class", "small")],
            [Html::text(&path.name)],
        ));
        body.push(drawing::path(knowledge, system, path));
    }
    body.push(Html::links("Besides:", "part", &system.parts));
    if let Some(model) = knowledge.model(&system.id) {
        let sum: f64 = model.faults.iter().map(|fault| fault.prior).sum();
        body.push(Html::paragraph(&format!(
            "{} faults, \"something that is not known here\" among them; their chances before anything is said sum to {sum:.2}.",
            model.faults.len()
        )));
    }
    body.push(Html::source(&system.source));
    Html::entry(("system", system.id.as_str()), &system.name, body)
}

/// Complaints, and facts of what happened before.
pub(super) fn complaints(knowledge: &Knowledge) -> Html {
    let symptoms = knowledge.symptoms.values().map(|symptom| {
        let shown = knowledge.faults.values();
        let shown: Vec<_> = shown
            .filter(|fault| fault.shows.contains_key(&symptom.id))
            .map(|fault| &fault.id)
            .collect();
        let normal = format!("Said without such a fault: {}.", chance(&symptom.normal));
        Html::entry(
            ("symptom", symptom.id.as_str()),
            &symptom.words,
            [
                Html::element("p", &[("class", "ask")], [Html::text(&symptom.ask)]),
                Html::paragraph(&normal),
                Html::links("Shown by:", "fault", &shown),
            ],
        )
    });
    let history = knowledge.history.values().map(|history| {
        let after = knowledge.faults.values();
        let after: Vec<_> = after
            .filter(|fault| fault.after.contains_key(&history.id))
            .map(|fault| &fault.id)
            .collect();
        let normal = format!("True of any bike: {}.", chance(&history.normal));
        Html::entry(
            ("history", history.id.as_str()),
            &history.words,
            [
                Html::element("p", &[("class", "ask")], [Html::text(&history.ask)]),
                Html::paragraph(&normal),
                Html::links("Often before:", "fault", &after),
                Html::source(&history.source),
            ],
        )
    });
    Html::all(symptoms.chain(history))
}

/// A chance as it stands in the files: a word or a number.
pub(super) fn chance(chance: &Chance) -> String {
    match chance {
        Chance::Grade(word) => word.clone(),
        Chance::Number(number) => number.to_string(),
    }
}
