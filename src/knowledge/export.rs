//! The model as one JSON object, complete enough that another program can recompute everything.

use super::model::{Model, OpeningIx};
use serde_json::{Value, json};

/// The object that `floatbowl knowledge export` prints.
#[must_use]
pub fn export(model: &Model) -> Value {
    json!({
        "system": model.system,
        "faults": model.faults.iter().map(|fault| json!({
            "id": fault.id,
            "part": fault.part,
            "prior": fault.prior,
            "excludes": fault.excludes.iter().map(|other| &model.faults[other.at()].id).collect::<Vec<_>>(),
            "repair": {
                "minutes": fault.repair.minutes,
                "parts_cost": fault.repair.parts_cost,
                "openings": opening_ids(model, &fault.repair.openings),
                "success": fault.repair.success,
                "shop_only": fault.repair.shop_only,
            },
        })).collect::<Vec<_>>(),
        "openings": model.openings.iter().map(|opening| json!({
            "id": opening.id,
            "parent": opening.parent.map(|parent| &model.openings[parent.at()].id),
            "open_minutes": opening.open_minutes,
            "close_minutes": opening.close_minutes,
        })).collect::<Vec<_>>(),
        "observations": model.observations.iter().map(|observation| json!({
            "id": observation.id,
            "kind": observation.kind,
            "quantity": observation.quantity,
            "minutes": observation.minutes,
            "openings": opening_ids(model, &observation.openings),
            "kit": observation.kit,
            "gates": observation.gates,
            "outcomes": observation.outcomes.iter().map(|outcome| json!({
                "id": outcome.id,
                "words": outcome.words,
                "low": outcome.low,
                "high": outcome.high,
            })).collect::<Vec<_>>(),
            "normal": observation.normal,
            "causes": observation.causes.iter().map(|cause| json!({
                "fault": model.faults[cause.fault.at()].id,
                "outcomes": cause.outcomes,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "handover_minutes": model.handover_minutes,
        "minutes_per_cost_unit": model.minutes_per_cost_unit,
        "healthy_factor": model.healthy_factor,
    })
}

fn opening_ids(model: &Model, openings: &[OpeningIx]) -> Vec<Value> {
    openings
        .iter()
        .map(|opening| json!(model.openings[opening.at()].id))
        .collect()
}
