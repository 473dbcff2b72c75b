//! Each of the twelve dangers at each turn of many conversations: the stop leads, and work waits.

use crate::riders::{DANGERS, Talk, next};
use crate::{RULES, long, slices};
use fastrand::Rng;
use floatbowl::conversation::event::{Incoming, Terms};
use floatbowl::knowledge::Knowledge;
use floatbowl::reply::wording::choice::IT_IS_OVER;
use floatbowl::reply::{Choice, Line, Means, NextKind, Phase};
use std::sync::atomic::{AtomicU64, Ordering};

/// More turns than any of these conversations is followed for.
const MOST_TURNS: usize = 60;
/// What a rider may say who has not understood that work has stopped.
const INSISTS: [&str; 4] = [
    "what next?",
    "no",
    "the pump shows 1.2 ohms",
    "the battery reads 12.5 V",
];

#[test]
fn every_danger_at_every_turn_leads_and_stops_all_work() {
    let knowledge = slices::slices();
    let conversations = if long() { 1000 } else { 4 };
    let (next_seed, inserted) = (AtomicU64::new(0), AtomicU64::new(0));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        let work = || {
            loop {
                let seed = next_seed.fetch_add(1, Ordering::Relaxed);
                if seed >= conversations {
                    break;
                }
                let slice = &knowledge[usize::try_from(seed).expect("small") % knowledge.len()];
                inserted.fetch_add(in_danger(slice, seed), Ordering::Relaxed);
            }
        };
        let threads: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        for thread in threads {
            thread.join().expect("no rule is broken");
        }
    });
    let inserted = inserted.into_inner();
    println!("{inserted} dangers inserted");
    assert!(inserted > conversations * 12 * 5, "only {inserted}");
}

/// One conversation, struck by every danger at every turn; how many were inserted.
fn in_danger(knowledge: &Knowledge, seed: u64) -> u64 {
    let mut chance = Rng::with_seed(seed);
    let mut talk = begin(knowledge, &mut chance);
    let mut inserted = 0;
    for _ in 0..MOST_TURNS {
        for (danger, words) in DANGERS {
            strike(&talk, danger, words);
            inserted += 1;
        }
        if talk.is_over() {
            break;
        }
        let said = next(&talk.reply, &mut chance);
        talk.send(&said);
        let broken = &talk.watch.broken;
        assert!(broken.is_empty(), "seed {seed}: {broken:?}");
    }
    inserted
}

pub fn begin<'a>(knowledge: &'a Knowledge, chance: &mut Rng) -> Talk<'a> {
    let model = &knowledge.models[chance.usize(..knowledge.models.len())];
    let kit = knowledge.kit.iter().map(|kit| kit.id.clone()).collect();
    let terms = Terms {
        system: Some(model.system.clone()),
        kit: chance.bool().then_some(kit),
        round_trip_minutes: if chance.u8(..4) == 0 { 120.0 } else { 0.0 },
        ..Terms::default()
    };
    Talk::begin(knowledge, &RULES, &terms)
}

/// Reports the danger here, and sees that work stands still until it is over.
fn strike(before: &Talk<'_>, danger: &str, words: &str) {
    let mut talk = before.clone();
    talk.send(&Incoming::Text(words.to_owned()));
    stopped(&talk, danger);
    for word in INSISTS {
        talk.send(&Incoming::Text(word.to_owned()));
        stopped(&talk, danger);
    }
    for _ in 0..DANGERS.len() {
        if talk.reply.hazards.is_empty() {
            break;
        }
        let over = talk
            .reply
            .choices
            .iter()
            .find(|choice| choice.means == Means::Yes);
        let over = over.expect("a way to say that it is over").id.clone();
        talk.send(&Incoming::Choose(over));
    }
    let step = talk.reply.step.kind;
    let gated = !matches!(step, NextKind::Repair | NextKind::Prove);
    assert!(
        talk.reply.hazards.is_empty() && gated,
        "{danger}: straight back to {step:?}"
    );
    assert!(
        talk.watch.broken.is_empty(),
        "{danger}: {:?}",
        talk.watch.broken
    );
}

fn stopped(talk: &Talk<'_>, danger: &str) {
    let reply = &talk.reply;
    assert!(
        reply.hazards.iter().any(|open| open.as_str() == danger),
        "{danger} is not open: {:?}",
        reply.hazards
    );
    assert_eq!(reply.phase, Phase::Halted, "{danger}");
    assert!(
        matches!(reply.lines.first(), Some(Line::Danger(_))),
        "{danger}: {:?}",
        reply.lines
    );
    let yes = |choice: &&Choice| choice.means == Means::Yes;
    let safe: Vec<&Choice> = reply.choices.iter().filter(yes).collect();
    assert!(
        safe.len() == 1 && safe[0].words == IT_IS_OVER,
        "{danger}: {:?}",
        reply.choices
    );
    assert!(
        reply.asks.is_empty() && reply.step.kind == NextKind::Ask,
        "{danger}: {:?}",
        reply.step
    );
}
