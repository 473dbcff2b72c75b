//! The stored form of a reply.

use super::event::{got_weights, put_weights, same, same_fields};
use super::number::{Number, got, put};
use crate::knowledge::id::{CautionId, FaultId, HazardId, ObservationId, OutcomeId, PartId};
use crate::knowledge::model::ObservationKind;
use crate::quantity::Kind;
use crate::reply as live;
use serde::{Deserialize, Serialize};

/// See [`live::Reply`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reply {
    turn: u32,
    phase: live::Phase,
    lines: Vec<Line>,
    asks: Vec<Ask>,
    choices: Vec<Choice>,
    cautions: Vec<CautionId>,
    hazards: Vec<HazardId>,
    judgements: Vec<Judged>,
    suspects: Vec<Suspect>,
    ruled_out: Vec<FaultId>,
    conflict: Option<ObservationId>,
    step: Next,
    minutes_spent: Number,
    minutes_left: Number,
}

/// See [`live::Line`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Line {
    Danger(String),
    Caution(String),
    Receipt(String),
    Judgement(String),
    Plain(String),
    Instruction(String),
    Steps(Vec<String>),
    Question(String),
}

/// See [`live::Next`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Next {
    kind: live::NextKind,
    id: Option<String>,
}

/// See [`live::Ask`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Ask {
    observation: ObservationId,
    kind: ObservationKind,
    quantity: Option<Kind>,
    outcomes: Vec<(OutcomeId, String)>,
}

/// See [`live::Choice`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Choice {
    id: String,
    words: String,
    means: live::Means,
}

/// See [`live::Suspect`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Suspect {
    fault: FaultId,
    part: PartId,
    probability: Number,
}

/// See [`live::Judged`].
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Judged {
    observation: ObservationId,
    raw: Option<Number>,
    offset: Option<Number>,
    corrected: Option<Number>,
    unit: String,
    uncertainty: Option<Number>,
    low: Option<Number>,
    high: Option<Number>,
    weights: Vec<(OutcomeId, Number)>,
    verdict: String,
}

same_fields! { Next = live::Next {
    kind: same, same;
    id: same, same;
} }

same_fields! { Ask = live::Ask {
    observation: same, same;
    kind: same, same;
    quantity: same, same;
    outcomes: same, same;
} }

same_fields! { Choice = live::Choice {
    id: same, same;
    words: same, same;
    means: same, same;
} }

same_fields! { Suspect = live::Suspect {
    fault: same, same;
    part: same, same;
    probability: Number, f64::from;
} }

impl From<live::Line> for Line {
    fn from(live: live::Line) -> Self {
        match live {
            live::Line::Danger(text) => Self::Danger(text),
            live::Line::Caution(text) => Self::Caution(text),
            live::Line::Receipt(text) => Self::Receipt(text),
            live::Line::Judgement(text) => Self::Judgement(text),
            live::Line::Plain(text) => Self::Plain(text),
            live::Line::Instruction(text) => Self::Instruction(text),
            live::Line::Steps(texts) => Self::Steps(texts),
            live::Line::Question(text) => Self::Question(text),
        }
    }
}

impl From<Line> for live::Line {
    fn from(stored: Line) -> Self {
        match stored {
            Line::Danger(text) => Self::Danger(text),
            Line::Caution(text) => Self::Caution(text),
            Line::Receipt(text) => Self::Receipt(text),
            Line::Judgement(text) => Self::Judgement(text),
            Line::Plain(text) => Self::Plain(text),
            Line::Instruction(text) => Self::Instruction(text),
            Line::Steps(texts) => Self::Steps(texts),
            Line::Question(text) => Self::Question(text),
        }
    }
}

impl From<live::Judged> for Judged {
    fn from(live: live::Judged) -> Self {
        let live::Judged {
            observation,
            raw,
            offset,
            corrected,
            unit,
            uncertainty,
            low,
            high,
            weights,
            verdict,
        } = live;
        Self {
            observation,
            raw: put(raw),
            offset: put(offset),
            corrected: put(corrected),
            unit: unit.to_owned(),
            uncertainty: put(uncertainty),
            low: put(low),
            high: put(high),
            weights: put_weights(weights),
            verdict,
        }
    }
}

impl TryFrom<Judged> for live::Judged {
    type Error = String;

    fn try_from(stored: Judged) -> Result<Self, String> {
        let kind = Kind::ALL.iter().find(|kind| kind.unit() == stored.unit);
        let Some(kind) = kind else {
            return Err(format!("{:?} is no base unit", stored.unit));
        };
        Ok(Self {
            observation: stored.observation,
            raw: got(stored.raw),
            offset: got(stored.offset),
            corrected: got(stored.corrected),
            unit: kind.unit(),
            uncertainty: got(stored.uncertainty),
            low: got(stored.low),
            high: got(stored.high),
            weights: got_weights(stored.weights),
            verdict: stored.verdict,
        })
    }
}

fn all<A: Into<B>, B>(items: Vec<A>) -> Vec<B> {
    items.into_iter().map(Into::into).collect()
}

impl From<live::Reply> for Reply {
    fn from(live: live::Reply) -> Self {
        let live::Reply {
            turn,
            phase,
            lines,
            asks,
            choices,
            cautions,
            hazards,
            judgements,
            suspects,
            ruled_out,
            conflict,
            step,
            minutes_spent,
            minutes_left,
        } = live;
        Self {
            turn,
            phase,
            lines: all(lines),
            asks: all(asks),
            choices: all(choices),
            cautions,
            hazards,
            judgements: all(judgements),
            suspects: all(suspects),
            ruled_out,
            conflict,
            step: step.into(),
            minutes_spent: minutes_spent.into(),
            minutes_left: minutes_left.into(),
        }
    }
}

impl TryFrom<Reply> for live::Reply {
    type Error = String;

    fn try_from(stored: Reply) -> Result<Self, String> {
        let judgements = stored.judgements.into_iter().map(TryInto::try_into);
        Ok(Self {
            turn: stored.turn,
            phase: stored.phase,
            lines: all(stored.lines),
            asks: all(stored.asks),
            choices: all(stored.choices),
            cautions: stored.cautions,
            hazards: stored.hazards,
            judgements: judgements.collect::<Result<_, _>>()?,
            suspects: all(stored.suspects),
            ruled_out: stored.ruled_out,
            conflict: stored.conflict,
            step: stored.step.into(),
            minutes_spent: stored.minutes_spent.into(),
            minutes_left: stored.minutes_left.into(),
        })
    }
}
