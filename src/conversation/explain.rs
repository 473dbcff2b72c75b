//! Answers to "why", "what have we got so far" and "help": explanations, never decisions.

use super::advice::missing_kit;
use super::doubt;
use super::draft::Draft;
use super::event::{Event, Found, HandOver, Step, Topic};
use super::hear::Heard;
use super::insight::Insight;
use super::measuring;
use super::state::{End, Entry, State};
use super::where_is;
use crate::diagnosis::Belief;
use crate::diagnosis::explain::ruled_out;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, ObservationId};
use crate::knowledge::model::{FaultIx, Model};
use crate::reply::wording::explain::WhatIf;
use crate::reply::{Line, Means, wording};

/// Answers what the rider asks about the conversation. Returns whether anything was asked.
pub fn explain(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let asked = |id: &str| {
        heard
            .said
            .requests
            .iter()
            .any(|request| request.what.as_str() == id)
    };
    let (why, sofar, help) = (
        heard.means == Some(Means::Why),
        asked("summary"),
        asked("help"),
    );
    let who = asked("who");
    let parts = if asked("where") {
        where_is::named(&draft.state, draft.knowledge, &heard.text)
    } else {
        Vec::new()
    };
    let help = help && parts.is_empty();
    // "What now?": the question on the table is said again in any case.
    let again = asked("continue");
    // in the proof it answers what is asked
    let open = matches!(
        draft.state.table,
        Some(Step::Tell(_) | Step::Clear { .. } | Step::Observe(_))
    );
    let fixed = open && asked("fixed") && heard.said.symptoms.is_empty();
    if !(why || sofar || help || again || fixed || who || !parts.is_empty()) {
        return false;
    }
    let insight = Insight::of(&draft.state, draft.knowledge);
    if why {
        reasons(draft, insight.as_ref());
    }
    if sofar {
        summary(draft, insight.as_ref());
    }
    if help {
        draft.say(Line::Plain(wording::step::HELP.to_owned()));
    }
    for part in parts {
        let words = wording::explain::part(&part.name, &part.place);
        draft.say(Line::Plain(words));
    }
    if who {
        draft.say(Line::Plain(wording::step::WHO.to_owned()));
    }
    if fixed {
        draft.say(Line::Plain(wording::step::FIXED.to_owned()));
    }
    true
}

/// Why the step on the table is asked for.
fn reasons(draft: &mut Draft<'_>, insight: Option<&Insight<'_>>) {
    let knowledge = draft.knowledge;
    if let Some(why) = doubt::why(&draft.state, knowledge) {
        draft.say(Line::Plain(why.to_owned()));
        return;
    }
    let last = last_judgements(&draft.state, knowledge);
    draft.lines.extend(last.into_iter().map(Line::Plain));
    let lines = match (&draft.state.table, insight) {
        (Some(Step::Observe(ids)), Some(insight)) => ids
            .iter()
            .flat_map(|id| why_observe(knowledge, insight, id))
            .collect(),
        (Some(Step::Repair(fault)), Some(insight)) => {
            why_repair(&draft.state, knowledge, insight, fault)
        }
        (Some(Step::Clear { gates, .. }), _) => wording::explain::why_gates(knowledge, gates),
        (Some(step), _) => vec![why_step(knowledge, step)],
        (None, _) => Vec::new(),
    };
    draft.lines.extend(lines.into_iter().map(Line::Plain));
    let told = draft.state.settled.contains(&Topic::Kit);
    let kit = insight.filter(|_| told);
    let kit = kit.and_then(|insight| missing_kit(draft, insight));
    draft.lines.extend(kit);
}

/// How the readings judged in the turn before came to their verdicts.
fn last_judgements(state: &State, knowledge: &Knowledge) -> Vec<String> {
    let before = state.turn.saturating_sub(1);
    let found = state.log().iter().filter_map(|logged| match &logged.event {
        Event::Found(found) if logged.turn == before => Some(found),
        _ => None,
    });
    let explained = found.filter_map(|found| {
        let check = knowledge.observations.get(&found.observation)?;
        let measured = found.measured.as_ref()?;
        let verdict = measuring::judgement(state, knowledge, check, measured).ok()?;
        let spec = measuring::spec(state, knowledge, check);
        let told = state
            .meter
            .as_ref()
            .map(|meter| (meter.gain * 100.0, meter.digits));
        let shown = wording::judgement::Shown {
            check,
            judgement: &verdict.judgement,
            spec: spec.as_ref(),
            raw: measuring::raw(&measured.raw),
            leads: measured.leads.as_ref().map(measuring::raw),
            over: measured.over.as_ref().map(measuring::raw),
            under: measured.under,
        };
        Some(shown.explained(told))
    });
    explained.flatten().collect()
}

fn why_step(knowledge: &Knowledge, step: &Step) -> String {
    match step {
        Step::Tell(_) | Step::Observe(_) | Step::Repair(_) => wording::explain::WHY_TELL.to_owned(),
        Step::Surroundings | Step::Clear { .. } => wording::explain::WHY_SURROUNDINGS.to_owned(),
        Step::Safe(_) => wording::explain::WHY_SAFE.to_owned(),
        Step::Prove(_) => wording::explain::WHY_PROVE.to_owned(),
        Step::Refit => wording::explain::WHY_REFIT.to_owned(),
        Step::HandOver(reason) => wording::explain::why_hand_over(knowledge, reason),
        Step::Stop => wording::step::OVER.to_owned(),
    }
}

/// The most suspects named after a result.
const LEAVES: usize = 2;

fn why_observe(knowledge: &Knowledge, insight: &Insight<'_>, id: &ObservationId) -> Vec<String> {
    let model = insight.model;
    let Some(at) = model.observation(id.as_str()) else {
        return Vec::new();
    };
    let check = knowledge.observations.get(id);
    let observation = &model.observations[at.at()];
    let outcomes: Vec<WhatIf> = observation
        .outcomes
        .iter()
        .enumerate()
        .map(|(k, outcome)| {
            let mut weights = vec![0.0; observation.outcomes.len()];
            weights[k] = 1.0;
            let after = insight.belief.after(&insight.weighed, at, &weights, 1.0);
            WhatIf {
                words: outcome.words.clone(),
                means: check.map_or_else(String::new, |check| check.outcome[k].means.clone()),
                probability: (after.log_evidence() - insight.belief.log_evidence()).exp(),
                leaves: leading(knowledge, model, &after),
            }
        })
        .collect();
    let why = check.map_or(wording::explain::WHY_ASK, |check| &check.why);
    wording::explain::why_observe(why, &outcomes)
}

fn leading(knowledge: &Knowledge, model: &Model, belief: &Belief) -> Vec<String> {
    let suspects = belief.suspects().into_iter().take(LEAVES);
    suspects
        .map(|(fault, _)| fault_name(knowledge, &model.faults[fault.at()].id))
        .collect()
}

/// What a fault is called; the one that stands for the unknown has words of its own.
#[must_use]
pub fn fault_name(knowledge: &Knowledge, id: &FaultId) -> String {
    match knowledge.faults.get(id) {
        Some(fault) => fault.name.clone(),
        None => wording::explain::OUTSIDE.to_owned(),
    }
}

fn why_repair(
    state: &State,
    knowledge: &Knowledge,
    insight: &Insight<'_>,
    fault: &FaultId,
) -> Vec<String> {
    let Some(at) = insight.model.fault(fault.as_str()) else {
        return Vec::new();
    };
    let probability = insight.belief.present_now(at);
    let evidence = pointing_at(state, knowledge, insight.model, at);
    let mut lines =
        wording::explain::why_repair(&fault_name(knowledge, fault), probability, &evidence);
    let named = named_suspects(knowledge, insight);
    lines.push(wording::explain::suspects(&named));
    lines
}

/// Findings that a fault brings about more often than a sound bike does.
fn pointing_at(state: &State, knowledge: &Knowledge, model: &Model, fault: FaultIx) -> Vec<String> {
    let points = |entry: &&Entry| match entry {
        Entry::Seen(found) => points_at(found, model, fault).unwrap_or(false),
        Entry::Repaired(_) => false,
    };
    state
        .entries
        .iter()
        .filter(points)
        .filter_map(|entry| in_words(entry, knowledge))
        .collect()
}

/// Whether a finding is likelier with the fault than without; none where the model is silent.
#[must_use]
pub fn points_at(found: &Found, model: &Model, fault: FaultIx) -> Option<bool> {
    let observation = &model.observations[model.observation(found.observation.as_str())?.at()];
    let best = found.weights.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let seen = observation.outcome(best.0.as_str())?.at();
    let cause = observation
        .causes
        .iter()
        .find(|cause| cause.fault == fault)?;
    Some(cause.outcomes[seen] > observation.normal[seen])
}

fn named_suspects(knowledge: &Knowledge, insight: &Insight<'_>) -> Vec<(String, f64)> {
    const MOST: usize = 3;
    const WORTH_NAMING: f64 = 0.02;
    let suspects = insight.belief.suspects().into_iter();
    suspects
        .filter(|(_, probability)| *probability >= WORTH_NAMING)
        .take(MOST)
        .map(|(fault, probability)| {
            (
                fault_name(knowledge, &insight.model.faults[fault.at()].id),
                probability,
            )
        })
        .collect()
}

/// What is known so far, in a form that can be read in ten seconds.
pub fn summary(draft: &mut Draft<'_>, insight: Option<&Insight<'_>>) {
    let knowledge = draft.knowledge;
    let known: Vec<String> = draft
        .state
        .entries
        .iter()
        .filter_map(|entry| in_words(entry, knowledge))
        .collect();
    draft.say(Line::Plain(wording::explain::known(&known)));
    if let Some(insight) = insight {
        let named = named_suspects(knowledge, insight);
        draft.say(Line::Plain(wording::explain::suspects(&named)));
        let out = named_ruled_out(&draft.state, knowledge, insight);
        if !out.is_empty() {
            draft.say(Line::Plain(wording::explain::ruled_out(&out)));
        }
    }
}

/// What it most likely is, for who leaves before it was found.
pub fn parting(draft: &mut Draft<'_>) {
    let known = !draft.state.entries.is_empty();
    let insight = Insight::of(&draft.state, draft.knowledge).filter(|_| known);
    if let Some(insight) = insight {
        let named = named_suspects(draft.knowledge, &insight);
        draft.say(Line::Plain(wording::explain::suspects(&named)));
    }
}

/// The likeliest faults that have been ruled out, each with the result that spoke most against it.
fn named_ruled_out(
    state: &State,
    knowledge: &Knowledge,
    insight: &Insight<'_>,
) -> Vec<(String, String)> {
    const MOST: usize = 4;
    let model = insight.model;
    let mut out = ruled_out(&insight.belief);
    let prior = |fault: FaultIx| model.faults[fault.at()].prior;
    out.sort_by(|a, b| prior(b.fault).total_cmp(&prior(a.fault)));
    let named = out.into_iter().filter_map(|out| {
        let found = state.found(&model.observations[out.by.at()].id)?;
        let by = in_words(&Entry::Seen(found.clone()), knowledge)?;
        Some((fault_name(knowledge, &model.faults[out.fault.at()].id), by))
    });
    named.take(MOST).collect()
}

fn in_words(entry: &Entry, knowledge: &Knowledge) -> Option<String> {
    match entry {
        Entry::Seen(found) => {
            let best = found.weights.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
            knowledge.outcome(&best.0).map(|(_, words)| words)
        }
        Entry::Repaired(fault) => Some(wording::explain::put_right(&fault_name(knowledge, fault))),
    }
}

/// Whether the end is one a mechanic should read about.
#[must_use]
pub fn needs_report(end: Option<&End>) -> bool {
    match end {
        Some(End::HandedOver(reason)) => !matches!(reason, HandOver::UnknownSystem),
        Some(End::Closed(_)) | None => false,
    }
}
