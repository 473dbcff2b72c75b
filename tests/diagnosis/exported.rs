//! Reads a model in the shape `floatbowl knowledge export` prints.

use floatbowl::knowledge::model::{
    Cause, Fault, FaultIx, Model, Observation, ObservationKind, Opening, OpeningIx, Outcome, Repair,
};
use floatbowl::quantity::Kind;
use serde::Deserialize;

#[derive(Deserialize)]
struct ModelText {
    system: String,
    faults: Vec<FaultText>,
    #[serde(default)]
    openings: Vec<OpeningText>,
    observations: Vec<ObservationText>,
    handover_minutes: f64,
    minutes_per_cost_unit: f64,
    healthy_factor: f64,
}

#[derive(Deserialize)]
struct FaultText {
    id: String,
    part: String,
    prior: f64,
    #[serde(default)]
    excludes: Vec<String>,
    repair: RepairText,
}

#[derive(Deserialize)]
struct RepairText {
    minutes: f64,
    parts_cost: f64,
    #[serde(default)]
    openings: Vec<String>,
    success: f64,
    #[serde(default)]
    shop_only: bool,
}

#[derive(Deserialize)]
struct OpeningText {
    id: String,
    parent: Option<String>,
    open_minutes: f64,
    close_minutes: f64,
}

#[derive(Deserialize)]
struct ObservationText {
    id: String,
    kind: ObservationKind,
    #[serde(default)]
    quantity: Option<Kind>,
    minutes: f64,
    #[serde(default)]
    openings: Vec<String>,
    #[serde(default)]
    kit: Vec<String>,
    #[serde(default)]
    gates: Vec<String>,
    outcomes: Vec<OutcomeText>,
    normal: Vec<f64>,
    causes: Vec<CauseText>,
}

#[derive(Deserialize)]
struct OutcomeText {
    id: String,
    #[serde(default)]
    words: String,
    #[serde(default)]
    low: Option<f64>,
    #[serde(default)]
    high: Option<f64>,
}

#[derive(Deserialize)]
struct CauseText {
    fault: String,
    outcomes: Vec<f64>,
}

/// The model in this JSON text.
pub fn model(json: &str) -> Model {
    let text: ModelText = serde_json::from_str(json).expect("the model has the shape of an export");
    let fault = |id: &String| position(text.faults.iter().map(|f| &f.id), id).into();
    let openings = |ids: &[String]| -> Vec<OpeningIx> {
        ids.iter()
            .map(|id| position(text.openings.iter().map(|o| &o.id), id).into())
            .collect()
    };
    Model {
        system: text.system.as_str().into(),
        faults: text
            .faults
            .iter()
            .map(|f| to_fault(f, &fault, &openings))
            .collect(),
        openings: text
            .openings
            .iter()
            .map(|o| to_opening(o, &openings))
            .collect(),
        observations: text
            .observations
            .iter()
            .map(|o| to_observation(o, &fault, &openings))
            .collect(),
        handover_minutes: text.handover_minutes,
        minutes_per_cost_unit: text.minutes_per_cost_unit,
        healthy_factor: text.healthy_factor,
    }
}

fn position<'a>(mut ids: impl Iterator<Item = &'a String>, id: &String) -> usize {
    ids.position(|known| known == id)
        .unwrap_or_else(|| panic!("`{id}` is not in the model"))
}

fn to_fault(
    text: &FaultText,
    fault: &dyn Fn(&String) -> FaultIx,
    openings: &dyn Fn(&[String]) -> Vec<OpeningIx>,
) -> Fault {
    let repair = &text.repair;
    Fault {
        id: text.id.as_str().into(),
        part: text.part.as_str().into(),
        prior: text.prior,
        excludes: text.excludes.iter().map(fault).collect(),
        repair: Repair {
            minutes: repair.minutes,
            parts_cost: repair.parts_cost,
            openings: openings(&repair.openings),
            success: repair.success,
            shop_only: repair.shop_only,
        },
    }
}

fn to_opening(text: &OpeningText, openings: &dyn Fn(&[String]) -> Vec<OpeningIx>) -> Opening {
    Opening {
        id: text.id.as_str().into(),
        parent: text
            .parent
            .as_ref()
            .map(|id| openings(std::slice::from_ref(id))[0]),
        open_minutes: text.open_minutes,
        close_minutes: text.close_minutes,
    }
}

fn to_observation(
    text: &ObservationText,
    fault: &dyn Fn(&String) -> FaultIx,
    openings: &dyn Fn(&[String]) -> Vec<OpeningIx>,
) -> Observation {
    let outcome = |o: &OutcomeText| Outcome {
        id: o.id.as_str().into(),
        words: o.words.clone(),
        low: o.low,
        high: o.high,
    };
    Observation {
        id: text.id.as_str().into(),
        kind: text.kind,
        quantity: text.quantity,
        minutes: text.minutes,
        openings: openings(&text.openings),
        kit: text.kit.iter().map(|id| id.as_str().into()).collect(),
        gates: text.gates.iter().map(|id| id.as_str().into()).collect(),
        questions: 0,
        outcomes: text.outcomes.iter().map(outcome).collect(),
        normal: text.normal.clone(),
        causes: text
            .causes
            .iter()
            .map(|c| Cause {
                fault: fault(&c.fault),
                outcomes: c.outcomes.clone(),
            })
            .collect(),
    }
}
