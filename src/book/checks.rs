//! The chapter of checks and measurements: how each is made, what it can show, and what that means.

use super::html::Html;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Observation, Outcome, Spec};
use crate::quantity::Kind;

pub(super) fn chapter(knowledge: &Knowledge) -> Html {
    Html::all(
        knowledge
            .observations
            .values()
            .map(|check| entry(knowledge, check)),
    )
}

fn entry(knowledge: &Knowledge, check: &Observation) -> Html {
    let minutes = format!("{} minutes.", check.minutes);
    let meter = check
        .meter
        .iter()
        .map(|meter| Html::paragraph(&format!("Meter: {meter}.")));
    let systems = check.systems.as_deref().unwrap_or_default();
    let body = [
        Html::paragraph(&check.why),
        Html::steps(&check.how),
        Html::all(meter),
        Html::element("p", &[("class", "ask")], [Html::text(&check.ask)]),
        outcomes(check),
        causes(check),
        Html::all(knowledge.specs.get(&check.id).map(|it| spec(check, it))),
        Html::paragraph(&minutes),
        Html::links("Only:", "system", systems),
        Html::links("Access:", "opening", &check.openings),
        Html::links("With:", "kit", &check.kit),
        Html::links("Before it:", "gate", &check.gates),
        Html::links("Cautions:", "caution", &check.cautions),
        Html::source(&check.source),
    ];
    Html::entry(("check", check.id.as_str()), &check.name, body)
}

fn outcomes(check: &Observation) -> Html {
    let rows = check.outcome.iter().map(|outcome| {
        let name = Html::element(
            "code",
            &[("id", &format!("outcome-{}", outcome.id))],
            [Html::text(outcome.id.as_str())],
        );
        vec![
            Html::all([Html::text(&outcome.words), Html::text(" "), name]),
            Html::text(&range(check.quantity, outcome)),
            Html::text(&means(outcome)),
            Html::text(&outcome.normal.to_string()),
        ]
    });
    Html::table(
        &["result", "range", "means", "when all is well"],
        rows.collect::<Vec<_>>(),
    )
}

fn means(outcome: &Outcome) -> String {
    let hazard = outcome
        .hazard
        .as_ref()
        .map(|hazard| format!(" A danger: {hazard}."));
    let shop = if outcome.shop {
        " A licensed shop takes over."
    } else {
        ""
    };
    format!("{}{}{shop}", outcome.means, hazard.unwrap_or_default())
}

fn range(quantity: Option<Kind>, outcome: &Outcome) -> String {
    let unit = quantity.map_or("", Kind::unit);
    let overload = if outcome.overload { ", OL" } else { "" };
    match (outcome.low, outcome.high) {
        (Some(low), Some(high)) => format!("{low} to {high} {unit}{overload}"),
        (Some(low), None) => format!("from {low} {unit}{overload}"),
        (None, Some(high)) => format!("below {high} {unit}{overload}"),
        (None, None) => overload.trim_start_matches(", ").to_owned(),
    }
}

/// What brings which result about; the first that is present decides.
fn causes(check: &Observation) -> Html {
    let named = check.cause.iter().map(|cause| {
        let faults = Html::links("", "fault", &cause.faults);
        vec![faults, Html::text(&shares(&cause.outcomes))]
    });
    let placed = check.on.iter().flat_map(|place| {
        let what = |how: &str| {
            Html::text(&format!(
                "whatever {how} the path \"{}\" up to {}",
                place.path, place.at
            ))
        };
        [
            vec![what("blocks"), Html::text(&shares(&place.blocked))],
            vec![what("starves"), Html::text(&shares(&place.starved))],
        ]
    });
    Html::table(&["cause", "then"], named.chain(placed).collect::<Vec<_>>())
}

fn shares<K: std::fmt::Display>(outcomes: &std::collections::BTreeMap<K, f64>) -> String {
    let shares = outcomes.iter().map(|(id, share)| format!("{id} {share}"));
    shares.collect::<Vec<_>>().join(", ")
}

/// A permitted range with its conditions and source.
pub(super) fn spec(check: &Observation, spec: &Spec) -> Html {
    let unit = check.quantity.map_or("", Kind::unit);
    let range = match (spec.low, spec.high) {
        (Some(low), Some(high)) => format!("{low} to {high} {unit}"),
        (Some(low), None) => format!("at least {low} {unit}"),
        (None, Some(high)) => format!("at most {high} {unit}"),
        (None, None) => "no limits".to_owned(),
    };
    let words = format!("{}: {range}, {}.", check.name, spec.conditions);
    Html::all([Html::paragraph(&words), Html::source(&spec.source)])
}
