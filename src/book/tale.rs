//! Example conversations: invented riders of invented bikes, played through the conversation itself.
//!
//! A rider tells the complaint, then answers whatever is asked with what the bike's faults most often
//! show. Nothing is written down beforehand but the complaint and the faults.

use super::html::Html;
use crate::conversation::event::{Event, Incoming, Logged, Terms};
use crate::conversation::{State, advance, open};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{KitId, SystemId};
use crate::knowledge::model::{FaultIx, Model};
use crate::reply::{Line, Means, NextKind, Phase, Reply};
use serde::Deserialize;

/// More messages than a story worth reading has.
const MOST_TURNS: usize = 60;

/// A rider and what is wrong with the bike.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Plot {
    title: String,
    bike: String,
    complaint: Vec<String>,
    faults: Vec<String>,
    kit: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Plots {
    plot: Vec<Plot>,
}

/// A conversation from the greeting to the end.
#[derive(Debug, Clone)]
pub struct Tale {
    /// What it is about.
    pub title: String,
    /// What was said and what was answered, in order; the greeting answers nothing.
    pub turns: Vec<(String, Vec<Line>)>,
    /// The faults repaired in it.
    pub repaired: Vec<String>,
}

/// All the stories, played under this knowledge.
///
/// # Panics
/// Where the file of plots, which is part of the program, does not read; a test plays them all.
#[must_use]
pub fn tales(knowledge: &Knowledge) -> Vec<Tale> {
    let plots: Plots = toml::from_str(include_str!("tales.toml")).expect("the plots read");
    let plots = plots.plot.iter();
    plots
        .filter_map(|plot| Some(Player::new(knowledge, plot)?.play(plot)))
        .collect()
}

struct Player<'a> {
    knowledge: &'a Knowledge,
    model: &'a Model,
    present: Vec<FaultIx>,
    state: State,
    reply: Reply,
    turns: Vec<(String, Vec<Line>)>,
}

impl<'a> Player<'a> {
    /// None where the knowledge has no such bike or fault.
    fn new(knowledge: &'a Knowledge, plot: &Plot) -> Option<Self> {
        let bike = knowledge.bikes.get(&plot.bike)?;
        let system: SystemId = bike.system.clone();
        let model = knowledge.model(&system)?;
        let present = plot
            .faults
            .iter()
            .map(|id| model.fault(id))
            .collect::<Option<Vec<_>>>()?;
        let kit = plot.kit.iter().map(|id| KitId::from(id.as_str())).collect();
        let terms = Terms {
            system: Some(system),
            kit: Some(kit),
            bike: Some(plot.bike.clone()),
            ..Terms::default()
        };
        let (events, reply) = open(&terms, knowledge);
        let mut player = Self {
            knowledge,
            model,
            present,
            state: State::fold(&[]),
            turns: vec![(String::new(), reply.lines.clone())],
            reply,
        };
        player.keep(events);
        Some(player)
    }

    fn play(mut self, plot: &Plot) -> Tale {
        for message in &plot.complaint {
            self.say(&Incoming::Text(message.clone()), message.clone());
        }
        while self.turns.len() < MOST_TURNS
            && !matches!(self.reply.phase, Phase::Closed | Phase::HandedOver)
        {
            let (incoming, words) = self.answer();
            self.say(&incoming, words);
        }
        Tale {
            title: plot.title.clone(),
            turns: self.turns,
            repaired: self
                .state
                .repaired
                .iter()
                .map(ToString::to_string)
                .collect(),
        }
    }

    fn say(&mut self, incoming: &Incoming, words: String) {
        let (events, reply) = advance(&self.state, incoming, self.knowledge);
        self.turns.push((words, reply.lines.clone()));
        self.reply = reply;
        self.keep(events);
    }

    fn keep(&mut self, events: Vec<Event>) {
        for event in events {
            let turn = self.reply.turn;
            self.state.apply(Logged { turn, event });
        }
    }

    /// What the rider picks, and its words.
    fn answer(&mut self) -> (Incoming, String) {
        match self.reply.step.kind {
            NextKind::Observe => self
                .observed()
                .unwrap_or_else(|| self.pick(&[Means::Yes, Means::Unsure])),
            NextKind::Repair => {
                let fault = self
                    .reply
                    .step
                    .id
                    .as_deref()
                    .and_then(|id| self.model.fault(id));
                self.present.retain(|present| Some(*present) != fault);
                self.pick(&[Means::Done])
            }
            NextKind::Prove if !self.present.is_empty() => self.pick(&[Means::No]),
            NextKind::Ask if self.reply.step.id.as_deref() == Some("background") => {
                self.pick(&[Means::No])
            }
            _ => self.pick(&[Means::Yes, Means::Done, Means::Unsure]),
        }
    }

    /// The likeliest result of what is asked for, with what is wrong with this bike.
    fn observed(&self) -> Option<(Incoming, String)> {
        if self
            .reply
            .choices
            .iter()
            .any(|choice| choice.means == Means::Yes)
        {
            return None;
        }
        let ask = self.reply.asks.first()?;
        let check =
            &self.model.observations[self.model.observation(ask.observation.as_str())?.at()];
        let cause = check
            .causes
            .iter()
            .find(|cause| self.present.contains(&cause.fault));
        let shares = cause.map_or(&check.normal, |cause| &cause.outcomes);
        let best = (0..shares.len()).max_by(|a, b| shares[*a].total_cmp(&shares[*b]))?;
        let (id, words) = ask.outcomes.get(best)?;
        Some((Incoming::Choose(id.to_string()), words.clone()))
    }

    fn pick(&self, means: &[Means]) -> (Incoming, String) {
        let wanted = means.iter().find_map(|means| {
            let mut choices = self.reply.choices.iter();
            choices.find(|choice| choice.means == *means)
        });
        match wanted {
            Some(choice) => (Incoming::Choose(choice.id.clone()), choice.words.clone()),
            None => (Incoming::Text("stop".to_owned()), "stop".to_owned()),
        }
    }
}

/// The chapter of stories.
pub(super) fn chapter(tales: &[Tale]) -> Html {
    let told = tales.iter().zip(1..).map(|(tale, number)| {
        let turns = tale.turns.iter().flat_map(|(said, lines)| {
            let rider = (!said.is_empty())
                .then(|| Html::element("p", &[("class", "rider")], [Html::text(said)]));
            let reply = Html::element("div", &[("class", "reply")], lines.iter().map(line));
            rider.into_iter().chain([reply])
        });
        Html::entry(
            ("tale", &number.to_string()),
            &tale.title,
            turns.collect::<Vec<_>>(),
        )
    });
    let note = Html::paragraph(
        "The riders and their bikes are invented; the conversations are the program's own, played from the complaint to the end.",
    );
    Html::all([note].into_iter().chain(told))
}

fn line(line: &Line) -> Html {
    match line {
        Line::Danger(words) => Html::element("p", &[("class", "ask danger")], [Html::text(words)]),
        Line::Caution(words) => Html::element(
            "p",
            &[("class", "small")],
            [Html::text("Caution: "), Html::text(words)],
        ),
        Line::Instruction(words) | Line::Question(words) => {
            Html::element("p", &[("class", "ask")], [Html::text(words)])
        }
        Line::Receipt(words) | Line::Judgement(words) | Line::Plain(words) => {
            Html::paragraph(words)
        }
        Line::Steps(steps) => Html::steps(steps),
    }
}
