//! A rider who picks at random, and the conversation it has, watched from the first reply to the last.

use crate::rules::Rules;
use crate::watch::{Did, Watch};
use fastrand::Rng;
use floatbowl::conversation::event::{Event, Incoming, Logged, Terms};
use floatbowl::conversation::{State, advance, open};
use floatbowl::knowledge::Knowledge;
use floatbowl::reply::{Means, NextKind, Phase, Reply};

/// One plain report of each danger.
pub const DANGERS: [(&str, &str); 12] = [
    ("fire", "the bike is on fire"),
    ("fuel-leak", "fuel is leaking out of the hose"),
    ("vapour-indoors", "my garage reeks of petrol"),
    ("ignition-source", "I'm smoking next to it while draining"),
    ("hot-engine-fuel", "I spilled petrol on the hot engine"),
    ("electrical-smoke", "smoke from under the seat"),
    ("battery-danger", "the battery is bulging"),
    ("fuel-on-person", "I siphoned by mouth and swallowed petrol"),
    ("bypassed-protection", "I bridged the fuse with foil"),
    ("bad-container", "I drained the petrol into a milk jug"),
    ("unsafe-ride", "I'm going to ride it home leaking"),
    ("unsupported-bike", "it is a diesel truck"),
];

/// A conversation under watch.
#[derive(Clone)]
pub struct Talk<'a> {
    knowledge: &'a Knowledge,
    rules: &'a Rules,
    pub state: State,
    pub reply: Reply,
    pub watch: Watch,
}

impl<'a> Talk<'a> {
    pub fn begin(knowledge: &'a Knowledge, rules: &'a Rules, terms: &Terms) -> Self {
        let (events, reply) = open(terms, knowledge);
        let mut talk = Self {
            knowledge,
            rules,
            state: State::fold(&[]),
            reply,
            watch: Watch::default(),
        };
        talk.keep(events);
        talk
    }

    /// Goes on from a state that was built beforehand.
    pub fn resume(mut self, state: State, watch: Watch) -> Self {
        self.state = state;
        self.watch = watch;
        self
    }

    pub fn send(&mut self, incoming: &Incoming) {
        let did = did(&self.reply, incoming);
        self.watch.heard(self.rules, &did);
        let (events, reply) = advance(&self.state, incoming, self.knowledge);
        self.reply = reply;
        self.keep(events);
        self.watch.saw(self.rules, &self.reply);
    }

    fn keep(&mut self, events: Vec<Event>) {
        for event in events {
            let turn = self.reply.turn;
            self.state.apply(Logged { turn, event });
        }
    }

    pub fn is_over(&self) -> bool {
        matches!(self.reply.phase, Phase::Closed | Phase::HandedOver)
    }
}

fn did(reply: &Reply, incoming: &Incoming) -> Did {
    let Incoming::Choose(id) = incoming else {
        return Did::Talked;
    };
    if let Some(gate) = id.strip_prefix("not-") {
        return Did::Denied(gate.to_owned());
    }
    let choice = reply.choices.iter().find(|choice| choice.id == *id);
    choice.map_or(Did::Answered, |choice| Did::Meant(choice.means))
}

/// What a rider at random says next: mostly on with it, now and then anything on offer.
pub fn next(reply: &Reply, chance: &mut Rng) -> Incoming {
    let forward = chance.u8(..10) > 0;
    let outcomes: Vec<&str> = reply
        .asks
        .iter()
        .flat_map(|ask| &ask.outcomes)
        .map(|(id, _)| id.as_str())
        .collect();
    if reply.step.kind == NextKind::Observe && forward && !outcomes.is_empty() {
        return Incoming::Choose(outcomes[chance.usize(..outcomes.len())].to_owned());
    }
    let of = |means: &[Means]| {
        let wanted = reply
            .choices
            .iter()
            .filter(|choice| means.contains(&choice.means));
        wanted.map(|choice| choice.id.clone()).collect::<Vec<_>>()
    };
    let mut ids = match (forward, reply.step.kind) {
        (true, NextKind::Prove) => of(&[Means::No, Means::No, Means::Yes]),
        (true, NextKind::Ask | NextKind::Repair | NextKind::Refit) => {
            of(&[Means::Yes, Means::Done])
        }
        _ => Vec::new(),
    };
    if ids.is_empty() {
        ids = reply
            .choices
            .iter()
            .map(|choice| choice.id.clone())
            .collect();
        // Ending it all is on offer in every reply; taken each time, nothing would be reached.
        ids.retain(|id| !["stop", "person"].contains(&id.as_str()) || chance.u8(..8) == 0);
    }
    if ids.is_empty() {
        return Incoming::Text("what have we got so far".to_owned());
    }
    Incoming::Choose(ids[chance.usize(..ids.len())].clone())
}
