//! Every step of every system under every combination of answers to the conditions it needs.

use crate::riders::Talk;
use crate::rules::{Rules, Step};
use crate::watch::Watch;
use crate::{KNOWLEDGE, RULES, long, slices};
use floatbowl::conversation::State;
use floatbowl::conversation::event::{
    Declined, Event, Found, Incoming, Logged, Target, Terms, Topic,
};
use floatbowl::conversation::gates::{Clearance, clearance};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::id::{GateId, SystemId};
use floatbowl::knowledge::model::{Model, ObservationKind};
use floatbowl::reply::NextKind;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How a condition stands: the rider said yes, no, or has not been asked since it last mattered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stands {
    Yes,
    No,
    Open,
}

const ALL: [Stands; 3] = [Stands::Yes, Stands::No, Stands::Open];

/// Every observation, repair and proof of a system.
fn targets(model: &Model) -> Vec<(Target, Step)> {
    let rules: &Rules = &RULES;
    let checks = model.observations.iter().filter_map(|seen| {
        let step = rules.checks.get(seen.id.as_str())?;
        Some((Target::Observation(seen.id.clone()), step.clone()))
    });
    let repairs = model.faults.iter().filter_map(|fault| {
        let step = rules.repairs.get(fault.id.as_str())?;
        Some((Target::Repair(fault.id.clone()), step.clone()))
    });
    let proofs = model.faults.iter().map(|fault| {
        let mut proof = rules.proof.clone();
        proof.energises = true;
        (Target::Proof(fault.id.clone()), proof)
    });
    checks.chain(repairs).chain(proofs).collect()
}

/// Every combination of how these conditions stand.
fn combinations(gates: &[String], of: &[Stands]) -> impl Iterator<Item = Vec<(String, Stands)>> {
    let count = of
        .len()
        .pow(u32::try_from(gates.len()).expect("a few conditions"));
    (0..count).map(move |number| {
        let mut left = number;
        gates
            .iter()
            .map(|gate| {
                let stands = of[left % of.len()];
                left /= of.len();
                (gate.clone(), stands)
            })
            .collect()
    })
}

fn answered(gate: &str, stands: Stands) -> Event {
    let gate = GateId::from(gate);
    match stands {
        Stands::Yes => Event::GateAnswered { gate, holds: true },
        Stands::No => Event::GateAnswered { gate, holds: false },
        Stands::Open => Event::GateReopened(gate),
    }
}

fn folded(events: impl IntoIterator<Item = Event>) -> State {
    let logged = |event| Logged { turn: 0, event };
    State::fold(&events.into_iter().map(logged).collect::<Vec<_>>())
}

/// A permit is given if every condition was confirmed, and only then; one denied bars the step.
#[test]
fn a_permit_takes_every_condition_of_every_step_of_every_system() {
    let of: &[Stands] = if long() { &ALL } else { &ALL[..2] };
    let mut combined = 0_u64;
    for model in &KNOWLEDGE.models {
        for (target, step) in targets(model) {
            let mut needs = RULES.needs(&step, &BTreeSet::new(), true);
            needs.extend(step.gates.clone());
            let needs: Vec<String> = needs.into_iter().collect();
            let open = combinations(&needs, &[Stands::Open]);
            for answers in combinations(&needs, of).chain(open) {
                let state = folded(answers.iter().map(|(gate, stands)| answered(gate, *stands)));
                holds(&state, &target, &answers);
                combined += 1;
            }
        }
    }
    println!("{combined} combinations");
    assert!(combined > 100_000, "only {combined}");
}

fn holds(state: &State, target: &Target, answers: &[(String, Stands)]) {
    let any = |wanted: Stands| answers.iter().any(|(_, stands)| *stands == wanted);
    let right = match clearance(state, &KNOWLEDGE, target) {
        Clearance::Granted(permit) => {
            permit.target() == target && !any(Stands::No) && !any(Stands::Open)
        }
        Clearance::Blocked(gates) => !gates.is_empty() && any(Stands::No),
        Clearance::Ask(gates) => !gates.is_empty() && any(Stands::Open) && !any(Stands::No),
    };
    assert!(
        right,
        "{target:?} with {answers:?}: {:?}",
        clearance(state, &KNOWLEDGE, target)
    );
}

/// The turn itself honours the permits: each step in turn is the only one left to ask for.
#[test]
fn the_conversation_asks_for_no_step_without_its_permit() {
    let slices = slices::slices();
    let jobs = jobs(&slices);
    let next = AtomicUsize::new(0);
    let work = || {
        let mut tally = Tally::default();
        while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
            tally.try_all(job);
        }
        tally
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let tallies: Vec<Tally> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().expect("no rule is broken"))
            .collect()
    });
    tallies
        .into_iter()
        .fold(Tally::default(), Tally::and)
        .suffices();
}

/// A step of a system, in knowledge small enough that it is worth asking for.
struct Job<'a> {
    knowledge: &'a Knowledge,
    model: &'a Model,
    target: Target,
    step: Step,
}

/// Every step of every system, once.
fn jobs(slices: &[Knowledge]) -> Vec<Job<'_>> {
    let mut known: BTreeSet<(SystemId, Target)> = BTreeSet::new();
    let mut jobs = Vec::new();
    for knowledge in slices {
        for model in &knowledge.models {
            for (target, step) in targets(model) {
                if known.insert((model.system.clone(), target.clone())) {
                    jobs.push(Job {
                        knowledge,
                        model,
                        target,
                        step,
                    });
                }
            }
        }
    }
    jobs
}

/// What was tried, and what was asked for.
#[derive(Default)]
struct Tally {
    turns: u64,
    tried: BTreeSet<Target>,
    reached: BTreeSet<Target>,
}

impl Tally {
    fn try_all(&mut self, job: &Job<'_>) {
        let (target, model) = (&job.target, job.model);
        self.tried.insert(target.clone());
        let needs = RULES.needs(&job.step, &BTreeSet::new(), false);
        for answers in answers(&needs.into_iter().collect::<Vec<_>>()) {
            let talk = alone(job.knowledge, model, target, &answers);
            let broken = &talk.watch.broken;
            assert!(broken.is_empty(), "{target:?} {answers:?}: {broken:?}");
            self.turns += talk.watch.turns;
            if talk.reply.step.kind != NextKind::Ask && on_table(&talk, target) {
                let granted = answers.iter().all(|(_, stands)| *stands == Stands::Yes);
                assert!(granted, "{target:?} is asked for with {answers:?}");
                self.reached.insert(target.clone());
            }
        }
    }

    fn and(mut self, other: Self) -> Self {
        self.turns += other.turns;
        self.tried.extend(other.tried);
        self.reached.extend(other.reached);
        self
    }

    /// Most steps were asked for. A shop's work never is, and a check that tells nothing here is not
    /// worth its minutes.
    fn suffices(&self) {
        let steps = &self.tried;
        for (kind, per_cent) in [("repair", 90), ("proof", 90), ("observation", 40)] {
            let of_kind = |target: &&Target| kind_of(target) == kind && !is_shop(target);
            let all = steps.iter().filter(of_kind).count();
            let asked = steps.iter().filter(of_kind);
            let asked = asked
                .filter(|target| self.reached.contains(*target))
                .count();
            println!("{} turns, {kind}: {asked} of {all} asked for", self.turns);
            assert!(
                100 * asked >= per_cent * all,
                "{kind}: only {asked} of {all}"
            );
        }
    }
}

fn kind_of(target: &Target) -> &'static str {
    match target {
        Target::Observation(_) => "observation",
        Target::Repair(_) => "repair",
        Target::Proof(_) => "proof",
    }
}

fn is_shop(target: &Target) -> bool {
    match target {
        Target::Repair(id) | Target::Proof(id) => {
            let repair = RULES.repairs.get(id.as_str());
            // What is not known here is a shop's work too, and stands in no file.
            repair.is_none_or(|repair| repair.shop)
        }
        Target::Observation(_) => false,
    }
}

/// All confirmed, all open, and each alone denied or open; every combination in the long run.
fn answers(needs: &[String]) -> Vec<Vec<(String, Stands)>> {
    if long() {
        return combinations(needs, &ALL[..2])
            .chain(combinations(needs, &[Stands::Open]))
            .collect();
    }
    let all = |stands: Stands| {
        needs
            .iter()
            .map(|gate| (gate.clone(), stands))
            .collect::<Vec<_>>()
    };
    let mut answers = vec![all(Stands::Yes), all(Stands::Open)];
    for at in 0..needs.len() {
        for stands in [Stands::No, Stands::Open] {
            let mut one = all(Stands::Yes);
            one[at].1 = stands;
            answers.push(one);
        }
    }
    answers
}

/// One turn of a conversation in which every other step of its kind has been declined; a check is
/// worth nothing unless the repairs it decides between are left.
fn alone<'a>(
    knowledge: &'a Knowledge,
    model: &Model,
    target: &Target,
    answers: &[(String, Stands)],
) -> Talk<'a> {
    let terms = Terms {
        system: Some(model.system.clone()),
        kit: Some(knowledge.kit.iter().map(|kit| kit.id.clone()).collect()),
        ..Terms::default()
    };
    let said = |gate: &str| {
        answers
            .iter()
            .find(|(id, _)| id == gate)
            .map(|(_, stands)| *stands)
    };
    let gates = knowledge.gates.iter().map(|gate| {
        let id = gate.id.as_str();
        answered(id, said(id).unwrap_or(Stands::Yes))
    });
    let settled = [Topic::Complaint, Topic::Background].map(Event::Settled);
    let others = targets(model).into_iter().map(|(other, _)| other);
    let is_check = |target: &Target| matches!(target, Target::Observation(_));
    let others = others
        .filter(|other| other != target && (is_check(other) || !is_check(target)))
        .map(|target| Event::Declined {
            target,
            reason: Declined::Cannot,
        });
    let words = model
        .observations
        .iter()
        .filter(|seen| !RULES.checks.contains_key(seen.id.as_str()));
    let words = words.map(|seen| Event::Declined {
        target: Target::Observation(seen.id.clone()),
        reason: Declined::Cannot,
    });
    let proof = match target {
        Target::Proof(fault) => Some(Event::Repaired(fault.clone())),
        Target::Observation(_) | Target::Repair(_) => None,
    };
    let told = evidence(model, target);
    let events = [Event::Opened(terms.clone())]
        .into_iter()
        .chain(settled)
        .chain(gates);
    let state = folded(events.chain(told).chain(others).chain(words).chain(proof));
    let confirmed = knowledge.gates.iter().map(|gate| gate.id.to_string());
    let confirmed = confirmed.filter(|gate| said(gate).is_none_or(|stands| stands == Stands::Yes));
    let watch = Watch::with(confirmed.collect());
    let mut talk = Talk::begin(knowledge, &RULES, &terms).resume(state, watch);
    talk.send(&Incoming::Text("what have we got so far".to_owned()));
    talk
}

/// What makes the step worth asking for: for a repair all that its fault shows, for a check what
/// riders tell of the first fault it can find.
fn evidence(model: &Model, target: &Target) -> Vec<Event> {
    let fault = match target {
        Target::Observation(id) => {
            let at = model.observation(id.as_str()).expect("of this system");
            model.observations[at.at()].causes[0].fault
        }
        Target::Repair(id) | Target::Proof(id) => model.fault(id.as_str()).expect("of this system"),
    };
    let seen = model.observations.iter().filter_map(|seen| {
        let told = !RULES.checks.contains_key(seen.id.as_str());
        let shown = &seen
            .causes
            .iter()
            .find(|cause| cause.fault == fault)?
            .outcomes;
        let best = (0..shown.len()).max_by(|a, b| shown[*a].total_cmp(&shown[*b]))?;
        let wanted = told || matches!(target, Target::Repair(_));
        (wanted && seen.kind != ObservationKind::Proof).then(|| {
            Event::Found(Found {
                observation: seen.id.clone(),
                weights: vec![(seen.outcomes[best].id.clone(), 1.0)],
                strength: 1.0,
                measured: None,
                asked: false,
            })
        })
    });
    seen.collect()
}

fn on_table(talk: &Talk<'_>, target: &Target) -> bool {
    let step = &talk.reply.step;
    match target {
        Target::Observation(id) => talk.reply.asks.iter().any(|ask| ask.observation == *id),
        Target::Repair(id) => {
            step.kind == NextKind::Repair && step.id.as_deref() == Some(id.as_str())
        }
        Target::Proof(id) => {
            step.kind == NextKind::Prove && step.id.as_deref() == Some(id.as_str())
        }
    }
}
