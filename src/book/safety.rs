//! The chapter of what keeps a rider safe: dangers, conditions, cautions, and how a repair is proven.

use super::html::Html;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Gate, GateScope, Hazard, HazardEnd};

pub(super) fn chapter(knowledge: &Knowledge) -> Html {
    let mut hazards: Vec<&Hazard> = knowledge.hazards.values().collect();
    hazards.sort_by_key(|hazard| hazard.rank);
    let dangers = hazards.into_iter().map(hazard);
    let gates = knowledge.gates.iter().map(gate);
    let cautions = knowledge.cautions.values().map(|caution| {
        Html::entry(
            ("caution", caution.id.as_str()),
            &caution.text,
            [Html::source(&caution.source)],
        )
    });
    Html::all(
        [Html::paragraph(
            "Dangers come first, in whatever words and whenever they are reported.",
        )]
        .into_iter()
        .chain(dangers)
        .chain([Html::paragraph(
            "Conditions. Each must be confirmed before a step that needs it.",
        )])
        .chain(gates)
        .chain([Html::paragraph("Cautions, which go with a step.")])
        .chain(cautions)
        .chain([proof(knowledge)]),
    )
}

fn hazard(hazard: &Hazard) -> Html {
    let end = match hazard.then {
        HazardEnd::Resume => "Then the work may go on, from the conditions anew.",
        HazardEnd::Shop => "Then a licensed shop takes over.",
    };
    Html::entry(
        ("hazard", hazard.id.as_str()),
        &hazard.id.as_str().replace('-', " "),
        [
            Html::steps(&hazard.now),
            Html::paragraph(&hazard.over),
            Html::paragraph(end),
            Html::source(&hazard.source),
        ],
    )
}

fn gate(gate: &Gate) -> Html {
    let when = match gate.scope {
        GateScope::Surroundings => "Asked once, before the first step with the hands.",
        GateScope::Step => "Asked again before every step that needs it.",
        GateScope::AfterFuel => "Asked wherever fuel was open before.",
    };
    Html::entry(
        ("gate", gate.id.as_str()),
        &gate.holds,
        [
            Html::paragraph(&gate.otherwise),
            Html::paragraph(when),
            Html::links("One of these goes with it:", "caution", &gate.with_one_of),
            Html::source(&gate.source),
        ],
    )
}

fn proof(knowledge: &Knowledge) -> Html {
    let proof = &knowledge.proof;
    Html::entry(
        ("proof", "after-a-repair"),
        "After every repair",
        [
            Html::steps(&proof.steps),
            Html::paragraph(&proof.ask),
            Html::links("Before it:", "gate", &proof.gates),
            Html::links("Cautions:", "caution", &proof.cautions),
            Html::paragraph("And on every list of what goes back:"),
            Html::steps(&proof.refit),
            Html::source(&proof.source),
        ],
    )
}
