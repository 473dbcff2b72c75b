//! What volunteers do: who may read, what is marked, what is learned, what comes out otherwise.

use floatbowl::conversation::event::{Correction, Event, Incoming, Logged, Terms};
use floatbowl::conversation::{State, advance, open, resume};
use floatbowl::desk::{Desk, Dialogue, Given, Message};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::id::{FaultId, SystemId};
use floatbowl::reply::Reply;
use floatbowl::review::came::understood;
use floatbowl::review::case::Case;
use floatbowl::review::learning::{
    Act, Counts, act, count, posterior, put_in_force, reverting, table,
};
use floatbowl::review::page::page;
use floatbowl::review::queue::{Mark, marks, may_read};
use floatbowl::review::replay::{Matter, Said, changes};
use floatbowl::review::transcript::{Past, transcript};
use floatbowl::store::name::{Address, ConversationId, Status};
use floatbowl::store::setting::{Openness, Setting};
use floatbowl::store::{Note, Store};
use jiff::Timestamp;
use std::sync::LazyLock;

static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);

struct Assistant;

impl Dialogue for Assistant {
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply) {
        open(terms, &KNOWLEDGE)
    }

    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply) {
        advance(&State::fold(log), incoming, &KNOWLEDGE)
    }

    fn resume(&self, log: &[Logged]) -> Reply {
        resume(&State::fold(log), &KNOWLEDGE)
    }
}

fn terms() -> Terms {
    Terms {
        system: Some("pump-carb".into()),
        knowledge: KNOWLEDGE.revision.clone(),
        ..Terms::default()
    }
}

/// A kept conversation in which these things were said.
async fn held(said: &[&str]) -> (Store, Past) {
    let desk = Desk::new(Store::in_memory().unwrap(), Assistant, Given::by_system());
    for text in said {
        let message = Message {
            address: Address::new("here"),
            rider: None,
            id: None,
            incoming: Incoming::Text((*text).to_owned()),
        };
        desk.take(message, &terms()).await.unwrap();
    }
    let store = desk.store().clone();
    let id = store.all().await.unwrap()[0];
    let past = past(&store, id).await;
    (store, past)
}

async fn past(store: &Store, id: ConversationId) -> Past {
    Past::load(store, id).await.unwrap().unwrap()
}

async fn note(store: &Store, past: &Past, event: Event) {
    let turn = past.kept.last().unwrap().logged.turn;
    let note = Note {
        conversation: past.id,
        at: Timestamp::UNIX_EPOCH,
        after: u32::try_from(past.kept.len()).unwrap(),
        events: vec![Logged { turn, event }],
    };
    store.note(note).await.unwrap();
}

#[test]
fn a_volunteer_reads_what_the_rider_or_else_the_group_allows() {
    use Openness::{Everything, HandedOver, Nothing};
    for (consent, open, handed_over, closed) in [
        (Some(true), Nothing, true, true),
        (Some(true), Everything, true, true),
        (Some(false), Nothing, false, false),
        (Some(false), HandedOver, false, false),
        (Some(false), Everything, false, false),
        (None, Nothing, false, false),
        (None, HandedOver, true, false),
        (None, Everything, true, true),
    ] {
        let setting = Setting {
            open,
            ..Setting::default()
        };
        assert_eq!(may_read(consent, Status::HandedOver, &setting), handed_over);
        assert_eq!(may_read(consent, Status::Closed, &setting), closed);
    }
    assert_eq!(Setting::default().open, HandedOver);
    assert_eq!(Setting::default().retention_days, 180);
}

#[tokio::test]
async fn what_deserves_a_look_is_marked_and_what_was_understood_stands_beside_it() {
    let (_, past) = held(&[
        "cranks but will not start",
        "there is petrol dripping on the hot exhaust",
        "colourless green ideas sleep furiously",
    ])
    .await;
    let transcript = transcript(&past, &KNOWLEDGE);
    let marks = marks(&past, &transcript);
    assert!(marks.contains(&Mark::NotUnderstood), "{marks:?}");
    assert!(marks.contains(&Mark::Hazard), "{marks:?}");
    assert!(!marks.contains(&Mark::Long), "{marks:?}");
    let turns = &transcript.turns;
    assert_eq!(turns.len(), 4);
    let understood = turns[1].understood.join("\n");
    assert!(
        understood.contains("cranks-no-start = cranks-no-start-yes"),
        "{understood}"
    );
    assert_eq!(
        turns[3].left_over,
        ["colourless green ideas sleep furiously"]
    );
    let page = page(&transcript, &marks);
    for part in [
        "> there is petrol dripping",
        "- dangers: ",
        "- not understood: colourless green",
        "- suspects: ",
    ] {
        assert!(page.contains(part), "{part} is not in\n{page}");
    }
}

/// What a volunteer reads is words and ids, never the program's own names for things.
#[test]
fn what_was_understood_is_said_in_words() {
    use floatbowl::conversation::event::{Declined, HandOver, Target};
    let declined = |reason, target| Event::Declined { target, reason };
    for (event, words) in [
        (
            declined(Declined::Unsure, Target::Observation("pump-sound".into())),
            "unsure: pump-sound",
        ),
        (
            declined(Declined::Cannot, Target::Repair("tap-closed".into())),
            "cannot: repair of tap-closed",
        ),
        (
            Event::HandedOver(HandOver::ShopOnly("pump-worn".into())),
            "handed over: only a shop may repair pump-worn",
        ),
        (
            Event::HandedOver(HandOver::Hazard("fuel-leak".into())),
            "handed over: only a shop may settle fuel-leak",
        ),
    ] {
        assert_eq!(understood(&event).as_deref(), Some(words));
    }
}

#[tokio::test]
async fn a_reading_that_is_asked_about_again_stands_in_the_transcript() {
    let (_, past) = held(&[
        "cranks but will not start",
        "nothing changed, everything works",
        "yes",
        "I have a multimeter",
        "the battery reads 126 V at rest",
    ])
    .await;
    let seen = transcript(&past, &KNOWLEDGE);
    let last = seen.turns.last().unwrap().understood.join("; ");
    assert!(
        last.contains("asked back: ") && last.contains("126 V"),
        "{last}"
    );
}

#[tokio::test]
async fn corrections_and_confirmations_are_added_and_change_nothing_else() {
    let (store, before) = held(&["cranks but will not start"]).await;
    let state = State::fold(&before.log());
    let correction = Correction {
        turn: 1,
        meant: vec![("cranks-no-start".into(), "cranks-no-start-yes".into())],
        note: "as said".to_owned(),
    };
    note(&store, &before, Event::Corrected(correction)).await;
    let between = past(&store, before.id).await;
    note(
        &store,
        &between,
        Event::Confirmed(vec!["circuit-fuse-blown".into()]),
    )
    .await;
    let after = past(&store, before.id).await;
    assert_eq!(after.confirmed(), Some(vec!["circuit-fuse-blown".into()]));
    assert_eq!(after.kept[..before.kept.len()], before.kept);
    let folded = State::fold(&after.log());
    assert_eq!(
        (folded.phase(), folded.entries),
        (state.phase(), state.entries)
    );
    let seen = transcript(&after, &KNOWLEDGE);
    assert_eq!(seen.turns[1].corrections[0].note, "as said");
    assert!(store.verify().await.unwrap().problems.is_empty());
}

/// Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4: of 980 births 437 were girls; with a
/// uniform prior the posterior mean is 0.446 and the central 95 % interval 0.415 to 0.477 (from
/// memory).
#[test]
fn counting_gives_the_published_interval() {
    let [mean, low, high] = posterior(2.0, 0.5, (437, 980.0));
    for (is, published) in [(mean, 0.446), (low, 0.415), (high, 0.477)] {
        assert!((is - published).abs() < 0.0005, "{is} and not {published}");
    }
}

/// Laplace's rule of succession: after n of n, the next with probability (n + 1) / (n + 2).
#[test]
fn counting_follows_the_rule_of_succession() {
    let [mean, ..] = posterior(2.0, 0.5, (8, 8.0));
    assert!((mean - 0.9).abs() < 1e-12, "{mean}");
}

fn system() -> SystemId {
    SystemId::from("pump-carb")
}

#[tokio::test]
async fn only_what_a_rider_allowed_and_a_volunteer_confirmed_is_counted() {
    let fault = FaultId::from("circuit-fuse-blown");
    for (consent, confirm, expected) in [
        (Some(true), true, 1),
        (Some(false), true, 0),
        (None, true, 0),
        (Some(true), false, 0),
    ] {
        let (store, mut now) = held(&["cranks but will not start"]).await;
        if let Some(yes) = consent {
            note(&store, &now, Event::Consented(yes)).await;
            now = past(&store, now.id).await;
        }
        if confirm {
            note(&store, &now, Event::Confirmed(vec![fault.clone()])).await;
            now = past(&store, now.id).await;
        }
        let mut counts = Counts::new();
        count(&mut counts, &now, Some(&system()));
        let counted = counts.values().flat_map(|of| of.values()).sum::<u32>();
        assert_eq!(counted, expected, "{consent:?} {confirm}");
    }
}

fn counts(fault: &str, number: u32) -> Counts {
    let of = [(FaultId::from(fault), number)].into();
    [(system(), of)].into()
}

#[test]
fn a_table_moves_the_counted_up_the_others_down_and_keeps_the_sum() {
    let fault = KNOWLEDGE.model(&system()).unwrap().faults[0].id.clone();
    let rows = table(&counts(fault.as_str(), 4), &KNOWLEDGE);
    let sum = |of: fn(&floatbowl::review::learning::Row) -> f64| rows.iter().map(of).sum::<f64>();
    assert!((sum(|row| row.before) - sum(|row| row.after)).abs() < 1e-9);
    for row in &rows {
        assert_eq!(row.after > row.before, row.fault == fault, "{row:?}");
        assert!(row.low <= row.after && row.after <= row.high, "{row:?}");
    }
}

fn priors(knowledge: &Knowledge) -> Vec<f64> {
    let model = knowledge.model(&system()).unwrap();
    model.faults.iter().map(|fault| fault.prior).collect()
}

fn in_force(acts: &[Act]) -> Knowledge {
    let mut knowledge = KNOWLEDGE.clone();
    put_in_force(&mut knowledge, acts);
    knowledge
}

#[test]
fn a_moderators_act_can_be_taken_back_step_by_step() {
    let now = Timestamp::UNIX_EPOCH;
    let faults = &KNOWLEDGE.model(&system()).unwrap().faults;
    let of = |at: usize| act(&table(&counts(faults[at].id.as_str(), 5), &KNOWLEDGE), now);
    let mut acts = vec![of(0)];
    let first = in_force(&acts);
    assert_ne!(priors(&first), priors(&KNOWLEDGE));
    assert_ne!(first.revision, KNOWLEDGE.revision);
    acts.push(of(1));
    assert_ne!(priors(&in_force(&acts)), priors(&first));
    acts.push(reverting(&acts, now).unwrap());
    assert_eq!(priors(&in_force(&acts)), priors(&first));
    acts.push(reverting(&acts, now).unwrap());
    assert_eq!(in_force(&acts).revision, KNOWLEDGE.revision);
    assert_eq!(priors(&in_force(&acts)), priors(&KNOWLEDGE));
    assert_eq!(reverting(&acts, now), None);
}

#[tokio::test]
async fn nothing_comes_out_otherwise_until_the_knowledge_changes() {
    let (_, past) = held(&[
        "the fuel pump is silent and it cranks but will not start",
        "no",
    ])
    .await;
    let was = Said::of(&past);
    assert_eq!(changes(&was, &was.again(&KNOWLEDGE)), vec![]);
    // A fault that everybody has from now on.
    let mut common = KNOWLEDGE.clone();
    let model = common
        .models
        .iter_mut()
        .find(|model| model.system == system());
    let last = was.suspects.last().unwrap().fault.clone();
    let faults = &mut model.unwrap().faults;
    faults
        .iter_mut()
        .find(|fault| fault.id == last)
        .unwrap()
        .prior = 0.5;
    let found = changes(&was, &was.again(&common));
    let suspect = found.iter().find(|change| change.matter == Matter::Suspect);
    let suspect = suspect.expect("another suspect leads");
    assert!(suspect.is.starts_with(last.as_str()), "{suspect}");
    // A danger that is no longer known.
    let (_, past) = held(&["there is petrol dripping on the hot exhaust"]).await;
    let was = Said::of(&past);
    let mut deaf = KNOWLEDGE.clone();
    deaf.hazards.clear();
    let found = changes(&was, &was.again(&deaf));
    assert_eq!(found[0].matter, Matter::Hazard, "{}", found[0]);
    assert_eq!(found[0].is, "nothing");
}

#[tokio::test]
async fn a_case_says_the_same_after_it_was_written_and_read() {
    let (_, past) = held(&["cranks but will not start", "no", "stop", "yes"]).await;
    let case = Case::of("an invented rider", &Said::of(&past), Some(vec![]));
    let read = Case::read(&case.text()).unwrap();
    assert_eq!(read, case);
    assert_eq!(read.changes(&KNOWLEDGE), vec![]);
    assert_eq!(read.renewed(&KNOWLEDGE), case);
    assert!(Case::read("{}").is_err());
    // The answer to the question of consent is none of the case's business.
    assert!(!case.text().contains("share"), "{}", case.text());
    let words: Vec<_> = case
        .turns
        .iter()
        .filter_map(|turn| turn.text.clone())
        .collect();
    assert_eq!(words, ["cranks but will not start", "no", "stop"]);
}
