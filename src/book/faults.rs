//! The chapter of faults: how likely, how they show, what went before, and the repair.

use super::html::Html;
use super::systems::chance;
use crate::knowledge::Knowledge;
use crate::knowledge::id::ObservationId;
use crate::knowledge::schema::{Chance, Fault};
use std::collections::BTreeMap;

pub(super) fn chapter(knowledge: &Knowledge) -> Html {
    Html::all(knowledge.faults.values().map(entry))
}

fn entry(fault: &Fault) -> Html {
    let repair = &fault.repair;
    let prior = format!("Before anything is said: {}.", chance(&fault.prior));
    let time = format!(
        "{} minutes, parts {} units, works {} times in 100.",
        repair.minutes,
        repair.parts_cost,
        100.0 * repair.success
    );
    let shop = if repair.shop {
        "A licensed shop's work."
    } else {
        ""
    };
    let body = [
        Html::links("Part:", "part", &[&fault.part]),
        Html::paragraph(&prior),
        graded("Shows as", "symptom", &fault.shows),
        graded("Went before", "history", &fault.after),
        Html::links("Never together with:", "fault", &fault.excludes),
        Html::element("p", &[("class", "ask")], [Html::text(&repair.what)]),
        Html::paragraph(shop),
        Html::steps(&repair.steps),
        Html::paragraph("What goes back:"),
        Html::steps(&repair.refit),
        Html::paragraph(&time),
        Html::links("Access:", "opening", &repair.openings),
        Html::links("With:", "kit", &repair.kit),
        Html::links("Before it:", "gate", &repair.gates),
        Html::links("Cautions:", "caution", &repair.cautions),
        Html::source(&repair.source),
    ];
    Html::entry(("fault", fault.id.as_str()), &fault.name, body)
}

fn graded(heading: &str, sort: &str, chances: &BTreeMap<ObservationId, Chance>) -> Html {
    if chances.is_empty() {
        return Html::default();
    }
    let rows = chances.iter().map(|(id, how)| {
        let id = id.as_str();
        vec![
            Html::link(&format!("{sort}-{id}"), id),
            Html::text(&chance(how)),
        ]
    });
    Html::table(&[heading, "how often"], rows.collect::<Vec<_>>())
}
