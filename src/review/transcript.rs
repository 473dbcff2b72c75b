//! A conversation to be read: every message with what was understood, judged and suspected.

use super::came::{Step, step_of, understood};
use crate::conversation::State;
use crate::conversation::event::{Correction, Event, Incoming, Logged, Terms, Turn};
use crate::conversation::hear::hear;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, HazardId, KitId, ObservationId, OutcomeId, SystemId};
use crate::reply::view::markdown;
use crate::reply::{Phase, Suspect};
use crate::store::name::{ConversationId, Status};
use crate::store::problem::StoreError;
use crate::store::{Kept, Outgoing, Store};
use jiff::Timestamp;
use serde::Serialize;

/// A conversation as it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Which.
    pub id: ConversationId,
    /// Whether anything is left to do.
    pub status: Status,
    /// Its events, in order.
    pub kept: Vec<Kept>,
    /// What was said, by turn.
    pub replies: Vec<Outgoing>,
}

impl Past {
    /// A conversation with everything in it; none if it is not known.
    ///
    /// # Errors
    /// When something in it is damaged.
    pub async fn load(store: &Store, id: ConversationId) -> Result<Option<Self>, StoreError> {
        let (status, kept) = (store.status(id).await?, store.load(id).await?);
        let (Some(status), Some(last)) = (status, kept.last()) else {
            return Ok(None);
        };
        let mut replies = Vec::new();
        for turn in 0..=last.logged.turn {
            replies.extend(store.said(id, turn).await?);
        }
        Ok(Some(Self {
            id,
            status,
            kept,
            replies,
        }))
    }

    /// The events alone.
    #[must_use]
    pub fn log(&self) -> Vec<Logged> {
        self.kept.iter().map(|kept| kept.logged.clone()).collect()
    }

    /// Whether the rider lets volunteers read it; none if the question is open.
    #[must_use]
    pub fn consent(&self) -> Option<bool> {
        self.last(|event| match event {
            Event::Consented(yes) => Some(*yes),
            _ => None,
        })
    }

    /// What a volunteer says was wrong; none if nobody said.
    #[must_use]
    pub fn confirmed(&self) -> Option<Vec<FaultId>> {
        self.last(|event| match event {
            Event::Confirmed(faults) => Some(faults.clone()),
            _ => None,
        })
    }

    /// Under which terms it was opened.
    #[must_use]
    pub fn terms(&self) -> Terms {
        let opened = self.last(|event| match event {
            Event::Opened(terms) => Some(terms.clone()),
            _ => None,
        });
        opened.unwrap_or_default()
    }

    fn last<T>(&self, of: impl Fn(&Event) -> Option<T>) -> Option<T> {
        let mut events = self.kept.iter().rev();
        events.find_map(|kept| of(&kept.logged.event))
    }
}

/// A conversation to be read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Transcript {
    /// Which.
    pub id: String,
    /// When it was opened.
    pub opened: Timestamp,
    /// When anything last happened.
    pub last: Timestamp,
    /// Whether anything is left to do.
    pub status: Status,
    /// The fuel system.
    pub system: Option<SystemId>,
    /// What was at hand, if the channel knew.
    pub kit: Option<Vec<KitId>>,
    /// The knowledge under which it was opened.
    pub knowledge: String,
    /// Whether the rider lets volunteers read it.
    pub consent: Option<bool>,
    /// What a volunteer says was wrong.
    pub confirmed: Option<Vec<FaultId>>,
    /// Its turns.
    pub turns: Vec<Seen>,
}

/// A turn to be read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seen {
    /// Its number.
    pub turn: Turn,
    /// When.
    pub at: Timestamp,
    /// What the rider wrote.
    pub text: Option<String>,
    /// What the rider picked.
    pub picked: Option<String>,
    /// What was understood, one fact each.
    pub understood: Vec<String>,
    /// What nothing claimed, under the knowledge as it is now.
    pub left_over: Vec<String>,
    /// Readings judged, with their verdicts.
    pub verdicts: Vec<String>,
    /// The likeliest faults after it.
    pub suspects: Vec<Suspect>,
    /// Dangers open after it.
    pub hazards: Vec<HazardId>,
    /// The observation that contradicts the others.
    pub conflict: Option<ObservationId>,
    /// The phase after it.
    pub phase: Phase,
    /// What the rider was asked to do.
    pub step: Step,
    /// What was answered, as Markdown.
    pub answer: String,
    /// What volunteers say it meant.
    pub corrections: Vec<Corrected>,
}

/// What a volunteer says a message meant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Corrected {
    /// Observations and their outcomes.
    pub meant: Vec<(ObservationId, OutcomeId)>,
    /// In the volunteer's words.
    pub note: String,
}

/// Puts a conversation in a form to be read.
#[must_use]
pub fn transcript(past: &Past, knowledge: &Knowledge) -> Transcript {
    let log = past.log();
    let terms = past.terms();
    let at = |kept: Option<&Kept>| kept.map_or(Timestamp::UNIX_EPOCH, |kept| kept.at);
    let turns = past.replies.iter();
    Transcript {
        id: past.id.to_string(),
        opened: at(past.kept.first()),
        last: at(past.kept.last()),
        status: past.status,
        system: State::fold(&log).system,
        kit: terms.kit,
        knowledge: terms.knowledge,
        consent: past.consent(),
        confirmed: past.confirmed(),
        turns: turns.map(|said| seen(&log, said, knowledge)).collect(),
    }
}

fn seen(log: &[Logged], said: &Outgoing, knowledge: &Knowledge) -> Seen {
    let of_turn = log.iter().filter(|logged| logged.turn == said.turn);
    let events: Vec<&Event> = of_turn.map(|logged| &logged.event).collect();
    let incoming = events.iter().find_map(|event| match event {
        Event::Heard(incoming) => Some(incoming),
        _ => None,
    });
    let (text, picked) = match incoming {
        Some(Incoming::Text(text)) => (Some(text.clone()), None),
        Some(Incoming::Choose(id)) => (None, Some(id.clone())),
        None => (None, None),
    };
    let reply = &said.reply;
    Seen {
        turn: said.turn,
        at: said.at,
        left_over: text
            .as_deref()
            .map(|text| left_over(log, said.turn, text, knowledge))
            .unwrap_or_default(),
        text,
        picked,
        understood: events
            .iter()
            .filter_map(|event| understood(event))
            .collect(),
        verdicts: reply
            .judgements
            .iter()
            .map(|judged| format!("{}: {}", judged.observation, judged.verdict))
            .collect(),
        suspects: reply.suspects.clone(),
        hazards: reply.hazards.clone(),
        conflict: reply.conflict.clone(),
        phase: reply.phase,
        step: step_of(reply),
        answer: markdown(&reply.lines),
        corrections: corrections(log, said.turn),
    }
}

fn left_over(log: &[Logged], turn: Turn, text: &str, knowledge: &Knowledge) -> Vec<String> {
    let before: Vec<Logged> = log.iter().filter(|l| l.turn < turn).cloned().collect();
    let incoming = Incoming::Text(text.to_owned());
    let heard = hear(&State::fold(&before), &incoming, knowledge);
    let spans = heard.said.left_over.into_iter();
    spans
        .filter_map(|span| text.get(span).map(str::to_owned))
        .collect()
}

fn corrections(log: &[Logged], turn: Turn) -> Vec<Corrected> {
    let all = log.iter().filter_map(|logged| match &logged.event {
        Event::Corrected(Correction {
            turn: of,
            meant,
            note,
        }) if *of == turn => Some(Corrected {
            meant: meant.clone(),
            note: note.clone(),
        }),
        _ => None,
    });
    all.collect()
}
