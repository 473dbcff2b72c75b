//! A bike with named faults whose rider answers what the model says is likeliest.

use floatbowl::conversation::event::{Incoming, Logged, Terms};
use floatbowl::conversation::{State, advance, open};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::id::SystemId;
use floatbowl::knowledge::model::{FaultIx, Model, ObservationKind};
use floatbowl::reply::{Ask, Line, Means, NextKind, Reply};
use std::fmt::Write as _;
use std::sync::LazyLock;

pub static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);

/// The bike and the conversation about it.
#[derive(Clone)]
pub struct Bike {
    model: &'static Model,
    present: Vec<FaultIx>,
    pub state: State,
    pub reply: Reply,
    pub transcript: String,
}

impl Bike {
    /// A pump-carb bike; `all_kit` tells beforehand that everything is at hand.
    pub fn with(faults: &[&str], all_kit: bool) -> Self {
        let system = SystemId::from("pump-carb");
        let model = KNOWLEDGE.model(&system).unwrap();
        let kit = KNOWLEDGE.kit.iter().map(|kit| kit.id.clone()).collect();
        let terms = Terms {
            system: Some(system),
            kit: all_kit.then_some(kit),
            ..Terms::default()
        };
        let (events, reply) = open(&terms, &KNOWLEDGE);
        let log: Vec<Logged> = events
            .into_iter()
            .map(|event| Logged { turn: 0, event })
            .collect();
        let mut bike = Self {
            model,
            present: faults.iter().map(|id| model.fault(id).unwrap()).collect(),
            state: State::fold(&log),
            reply,
            transcript: String::new(),
        };
        bike.note();
        bike
    }

    pub fn say(&mut self, text: &str) {
        self.send(&Incoming::Text(text.to_owned()));
    }

    pub fn send(&mut self, incoming: &Incoming) {
        let (Incoming::Text(said) | Incoming::Choose(said)) = incoming;
        writeln!(self.transcript, "\n> {said}\n").expect("a string takes all");
        let (events, reply) = advance(&self.state, incoming, &KNOWLEDGE);
        for event in events {
            self.state.apply(Logged {
                turn: reply.turn,
                event,
            });
        }
        self.reply = reply;
        self.note();
    }

    /// Answers whatever is asked.
    pub fn answer(&mut self) {
        let step = self.reply.step.clone();
        let incoming = match (step.kind, self.reply.asks.first().cloned()) {
            (NextKind::Observe, Some(ask)) => self.observe(&ask),
            (NextKind::Prove, _) if !self.present.is_empty() => self.pick(&[Means::No]),
            (NextKind::Repair, _) => {
                let fault = self.model.fault(step.id.as_deref().unwrap());
                self.present.retain(|present| Some(*present) != fault);
                self.pick(&[Means::Done])
            }
            (NextKind::Ask, _) if step.id.as_deref() == Some("background") => {
                self.pick(&[Means::No])
            }
            _ => self.pick(&[Means::Yes, Means::Done, Means::Unsure]),
        };
        self.send(&incoming);
    }

    fn pick(&self, means: &[Means]) -> Incoming {
        let choice = means.iter().find_map(|means| {
            let mut choices = self.reply.choices.iter();
            choices.find(|choice| choice.means == *means)
        });
        let none = || panic!("none of {means:?} on offer\n{}", self.transcript);
        Incoming::Choose(choice.map_or_else(none, |choice| choice.id.clone()))
    }

    /// The likeliest result with the present faults; a number is typed, anything else picked.
    fn observe(&self, ask: &Ask) -> Incoming {
        if self
            .reply
            .choices
            .iter()
            .any(|choice| choice.means == Means::Yes)
        {
            return self.pick(&[Means::Yes]);
        }
        let at = self.model.observation(ask.observation.as_str()).unwrap();
        let check = &self.model.observations[at.at()];
        let cause = check
            .causes
            .iter()
            .find(|cause| self.present.contains(&cause.fault));
        let shares = cause.map_or(&check.normal, |cause| &cause.outcomes);
        let best = (0..shares.len())
            .max_by(|a, b| shares[*a].total_cmp(&shares[*b]))
            .unwrap();
        let outcome = &check.outcomes[best];
        let (ObservationKind::Measurement, Some(quantity)) = (ask.kind, ask.quantity) else {
            return Incoming::Choose(outcome.id.to_string());
        };
        let number = match (outcome.low, outcome.high) {
            (Some(low), Some(high)) => low + 0.5 * (high - low),
            (Some(low), None) => low * 1.2,
            (None, Some(high)) => high * 0.6,
            (None, None) => return Incoming::Text("OL".to_owned()),
        };
        Incoming::Text(format!("{number:.2} {}", quantity.unit()))
    }

    fn note(&mut self) {
        writeln!(self.transcript, "[{:?}]", self.reply.phase).expect("a string takes all");
        for line in &self.reply.lines {
            let (mark, text) = match line {
                Line::Danger(text) => ("DANGER ", text.clone()),
                Line::Caution(text) => ("Caution: ", text.clone()),
                Line::Receipt(text) | Line::Judgement(text) | Line::Plain(text) => {
                    ("", text.clone())
                }
                Line::Instruction(text) => ("Do: ", text.clone()),
                Line::Steps(steps) => ("- ", steps.join("\n- ")),
                Line::Question(text) => ("? ", text.clone()),
            };
            writeln!(self.transcript, "{mark}{text}").expect("a string takes all");
        }
    }
}
