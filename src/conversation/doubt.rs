//! What must be cleared up about a reading before it counts: asked once, whatever is on the table.

use super::draft::Draft;
use super::event::{Declined, Event, Measured, Query, Step, Target};
use super::hear::Heard;
use super::measuring::{Question, judgement, logged, raw};
use super::reading::measure;
use super::renew::overtaken;
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::Observation;
use crate::language::interpretation::Expecting;
use crate::quantity::circumstance::LONG_REST;
use crate::quantity::{Circumstances, Doubt, Kind, Missing, Resolution, Warmth};
use crate::reply::{Choice, Line, Means, wording};

/// Choice: the battery rested for some hours.
pub const REST_HOURS: &str = "rest-hours";
/// Choice: the battery hardly rested.
pub const REST_SHORT: &str = "rest-short";
/// Choice: the part was warm from running.
pub const FROM_RUNNING: &str = "from-running";

/// A reading kept back, with the question it is kept back for.
#[derive(Debug)]
pub struct Pending<'a> {
    /// What was measured.
    pub check: &'a Observation,
    /// The reading.
    pub measured: &'a Measured,
    /// The question.
    pub question: Question,
}

/// The reading kept back, if there is one that may be asked about: while a danger is open it waits.
#[must_use]
pub fn pending<'a>(state: &'a State, knowledge: &'a Knowledge) -> Option<Pending<'a>> {
    let Some(Query::Reading {
        observation,
        measured,
        ..
    }) = &state.query
    else {
        return None;
    };
    if !state.hazards.is_empty() {
        return None;
    }
    let check = knowledge.observations.get(observation)?;
    let question = judgement(state, knowledge, check, measured).err()?;
    Some(Pending {
        check,
        measured,
        question,
    })
}

/// The question in words.
#[must_use]
pub fn question(state: &State, knowledge: &Knowledge) -> Option<String> {
    let pending = pending(state, knowledge)?;
    Some(match &pending.question {
        Question::Doubt(doubt) => wording::doubt::question(doubt, &raw(&pending.measured.raw)),
        Question::Missing(missing) => wording::doubt::missing(*missing).to_owned(),
        Question::Twofold => {
            let other = pending.measured.other.as_ref().map(raw)?;
            wording::doubt::twofold(&raw(&pending.measured.raw), &other)
        }
    })
}

/// Why it is asked.
#[must_use]
pub fn why(state: &State, knowledge: &Knowledge) -> Option<&'static str> {
    let pending = pending(state, knowledge)?;
    Some(match &pending.question {
        Question::Doubt(_) => wording::doubt::WHY,
        Question::Missing(missing) => wording::doubt::why_missing(*missing),
        Question::Twofold => wording::doubt::WHY_TWOFOLD,
    })
}

/// What may be picked for an answer.
#[must_use]
pub fn choices(state: &State, knowledge: &Knowledge) -> Option<Vec<Choice>> {
    let pending = pending(state, knowledge)?;
    let choice = |id: &str, words: &str, means| Choice {
        id: id.to_owned(),
        words: words.to_owned(),
        means,
    };
    let given = match &pending.question {
        Question::Doubt(doubt) => {
            let (yes, no) = wording::doubt::answers(doubt, &raw(&pending.measured.raw));
            let yes = yes.map(|words| choice("yes", &words, Means::Yes));
            yes.into_iter()
                .chain([choice("no", no, Means::No)])
                .collect()
        }
        Question::Missing(Missing::Rest) => vec![
            choice("yes", wording::doubt::RESTED_LONG, Means::Yes),
            choice(REST_HOURS, wording::doubt::RESTED_HOURS, Means::Other),
            choice(REST_SHORT, wording::doubt::RESTED_SHORT, Means::Other),
        ],
        Question::Missing(Missing::Warmth) => vec![
            choice("yes", wording::doubt::AS_THE_AIR, Means::Yes),
            choice(FROM_RUNNING, wording::doubt::FROM_RUNNING, Means::Other),
        ],
        Question::Missing(Missing::Load) => vec![
            choice("yes", wording::doubt::LOADED, Means::Yes),
            choice("no", wording::doubt::UNLOADED, Means::No),
        ],
        Question::Missing(Missing::Time) => Vec::new(),
        Question::Twofold => {
            let other = pending.measured.other.as_ref().map(raw)?;
            let first = wording::number::display(&raw(&pending.measured.raw));
            vec![
                choice("yes", &first, Means::Yes),
                choice("no", &wording::number::display(&other), Means::No),
            ]
        }
    };
    let unsure = choice("unsure", wording::choice::UNSURE, Means::Unsure);
    let cannot = choice("cannot", wording::choice::CANNOT, Means::Cannot);
    Some(given.into_iter().chain([unsure, cannot]).collect())
}

/// What sort of answer the question calls for.
#[must_use]
pub fn expecting(state: &State, knowledge: &Knowledge) -> Option<Expecting> {
    let pending = pending(state, knowledge)?;
    let quantity = pending.check.quantity.unwrap_or(Kind::Voltage);
    Some(match pending.question {
        Question::Doubt(_) | Question::Twofold => Expecting::Quantity(quantity),
        Question::Missing(Missing::Rest | Missing::Time) => Expecting::Quantity(Kind::Duration),
        Question::Missing(Missing::Warmth) => Expecting::Quantity(Kind::Temperature),
        Question::Missing(Missing::Load) => Expecting::YesNo,
    })
}

/// Whether the question is what the leads alone show.
#[must_use]
pub fn asks_for_leads(state: &State, knowledge: &Knowledge) -> bool {
    pending(state, knowledge).is_some_and(|pending| match pending.question {
        Question::Doubt(doubt) => doubt.asks_for_leads(),
        Question::Missing(_) | Question::Twofold => false,
    })
}

/// Applies an answer to the question. Returns whether there was one.
pub fn answer(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let state = draft.state.clone();
    let Some(pending) = pending(&state, draft.knowledge).filter(|_| !raised_now(draft)) else {
        return false;
    };
    match pending.question {
        Question::Doubt(doubt) => doubted(draft, &pending, (&doubt, heard.means)),
        Question::Missing(missing) => told(draft, &pending, missing, heard),
        Question::Twofold => meant(draft, &pending, heard.means),
    }
}

/// Which of two meanings it is.
fn meant(draft: &mut Draft<'_>, pending: &Pending<'_>, means: Option<Means>) -> bool {
    let (first, other) = (pending.measured, pending.measured.other.clone());
    let raw = match (means, other) {
        (Some(Means::No), Some(other)) => other,
        (Some(Means::Yes), _) => first.raw.clone(),
        (Some(means), _) => return gives_up(draft, pending, means),
        (None, _) => return false,
    };
    let settled = Measured {
        raw,
        other: None,
        ..first.clone()
    };
    measure(draft, pending.check, settled);
    true
}

/// A doubt raised by this very message is not answered by it.
fn raised_now(draft: &Draft<'_>) -> bool {
    let raised = |event: &Event| matches!(event, Event::Queried(Query::Reading { .. }));
    draft.events.iter().any(raised)
}

fn doubted(
    draft: &mut Draft<'_>,
    pending: &Pending<'_>,
    (doubt, means): (&Doubt, Option<Means>),
) -> bool {
    let given = raw(&pending.measured.raw);
    let resolution = match means {
        Some(Means::Yes) => doubt.if_yes(&given),
        Some(Means::No) => doubt.if_no(&given),
        Some(means) => return gives_up(draft, pending, means),
        None => return false,
    };
    let before = pending.measured.clone();
    match resolution {
        Resolution::Stands => {
            let confirmed = Measured {
                confirmed: true,
                ..before
            };
            measure(draft, pending.check, confirmed);
        }
        Resolution::Is(intended) => {
            let of_leads = draft.state.leads.clone();
            let of_leads = of_leads.filter(|_| intended.kind == Kind::Resistance);
            let as_meant = Measured {
                raw: logged(&intended),
                leads: before.leads.clone().or(of_leads),
                ..before
            };
            measure(draft, pending.check, as_meant);
        }
        Resolution::Again => {
            drop_reading(draft);
            draft.say(Line::Plain(wording::doubt::again(doubt).to_owned()));
        }
    }
    true
}

fn told(draft: &mut Draft<'_>, pending: &Pending<'_>, missing: Missing, heard: &Heard) -> bool {
    let picked = heard.choice.as_deref();
    let known = Circumstances::default();
    let under = match (missing, heard.means, picked) {
        (Missing::Rest, Some(Means::Yes), _) => Circumstances {
            rest: Some(LONG_REST),
            ..known
        },
        (Missing::Rest, _, Some(REST_HOURS)) => Circumstances {
            rest: Some(2.0 * 3600.0),
            ..known
        },
        (Missing::Rest, _, Some(REST_SHORT)) | (Missing::Rest, Some(Means::No), _) => {
            Circumstances {
                rest: Some(0.0),
                ..known
            }
        }
        (Missing::Warmth, Some(Means::Yes), _) => Circumstances {
            warmth: Some(Warmth::AS_THE_AIR),
            ..known
        },
        (Missing::Warmth, _, Some(FROM_RUNNING)) | (Missing::Warmth, Some(Means::No), _) => {
            Circumstances {
                warmth: Some(Warmth::FROM_RUNNING),
                ..known
            }
        }
        (Missing::Load, Some(Means::Yes | Means::No), _) => Circumstances {
            loaded: Some(heard.means == Some(Means::Yes)),
            ..known
        },
        (Missing::Time, Some(means), _) => return gives_up(draft, pending, means),
        (_, Some(Means::Unsure | Means::Skip | Means::Cannot), _) => Circumstances {
            unsure: true,
            ..known
        },
        _ => return false,
    };
    let measured = Measured {
        under: under.or(pending.measured.under),
        ..pending.measured.clone()
    };
    measure(draft, pending.check, measured);
    overtaken(draft, under);
    true
}

/// "I can't", "skip" and "I don't know" let go of the reading, and of the check if it was asked for.
fn gives_up(draft: &mut Draft<'_>, pending: &Pending<'_>, means: Means) -> bool {
    let reason = match means {
        Means::Cannot => Declined::Cannot,
        Means::Skip => Declined::Skipped,
        Means::Unsure => Declined::Unsure,
        _ => return false,
    };
    let asked =
        matches!(&draft.state.table, Some(Step::Observe(ids)) if ids.contains(&pending.check.id));
    if asked {
        draft.record(Event::Declined {
            target: Target::Observation(pending.check.id.clone()),
            reason,
        });
    } else {
        drop_reading(draft);
    }
    true
}

/// The reading no longer counts; what is on the table stays there.
pub fn drop_reading(draft: &mut Draft<'_>) {
    if let Some(step) = draft.state.table.clone() {
        draft.record(Event::Asked(step));
    }
}
