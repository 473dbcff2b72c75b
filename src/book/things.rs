//! The chapters of parts, access and tools, and of the invented bikes.

use super::checks::spec;
use super::html::Html;
use crate::knowledge::Knowledge;

pub(super) fn chapter(knowledge: &Knowledge) -> Html {
    let parts = knowledge.parts.values().map(|part| {
        Html::entry(
            ("part", part.id.as_str()),
            &part.name,
            [Html::paragraph(&part.place)],
        )
    });
    let openings = knowledge.openings.values().map(|opening| {
        let minutes = format!(
            "{} minutes to open, {} to close.",
            opening.open_minutes, opening.close_minutes
        );
        let back = if opening.before_running {
            "Back, before the engine is run"
        } else {
            "Back"
        };
        let parent: Vec<_> = opening.parent.iter().collect();
        let body = [
            Html::paragraph(&opening.how),
            Html::paragraph(&format!("{back}: {}", opening.refit)),
            Html::paragraph(&minutes),
            Html::links("After:", "opening", &parent),
            Html::links("Before it:", "gate", &opening.gates),
            Html::links("Cautions:", "caution", &opening.cautions),
            Html::source(&opening.source),
        ];
        Html::entry(("opening", opening.id.as_str()), &opening.name, body)
    });
    let kit = knowledge.kit.iter().map(|kit| {
        Html::entry(
            ("kit", kit.id.as_str()),
            &kit.name,
            [Html::paragraph(&kit.lends)],
        )
    });
    Html::all(parts.chain(openings).chain(kit))
}

/// The bikes with their sheets; all are invented.
pub(super) fn bikes(knowledge: &Knowledge) -> Html {
    let bikes = knowledge.bikes.values().map(|bike| {
        let system = [&bike.system];
        let specs = bike
            .spec
            .iter()
            .filter_map(|it| Some(spec(knowledge.observations.get(&it.observation)?, it)));
        let body = [Html::links("System:", "system", &system)]
            .into_iter()
            .chain(specs);
        Html::entry(("bike", &bike.id), &bike.name, body)
    });
    Html::all(bikes)
}
