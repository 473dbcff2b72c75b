//! The desk over a small dialogue: one turn at a time, once per message, kept before it is shown.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::conversation::event::{Event, Incoming, Logged, Terms};
use floatbowl::desk::{Answer, Desk, Dialogue, Message};
use floatbowl::reply::{Line, Reply};
use floatbowl::store::name::{Address, ConversationId, Status};
use floatbowl::store::{Outgoing, Store};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tokio::runtime::Runtime;

fn desk(store: &Store) -> Desk<Counting> {
    Desk::new(store.clone(), Counting, given(1))
}

fn new(answer: Answer) -> Vec<Outgoing> {
    match answer {
        Answer::New(outgoing) => outgoing,
        Answer::Repeat(outgoing) => panic!("{outgoing:?} was said before"),
    }
}

async fn take<D: Dialogue>(desk: &Desk<D>, message: Message) -> Answer {
    desk.take(message, &terms()).await.unwrap()
}

/// The plain lines of a reply.
fn text(reply: &Reply) -> String {
    let plain = reply.lines.iter().filter_map(|line| match line {
        Line::Plain(text) => Some(text.as_str()),
        _ => None,
    });
    plain.collect::<Vec<_>>().join(" / ")
}

fn texts(outgoing: &[Outgoing]) -> Vec<String> {
    outgoing.iter().map(|o| text(&o.reply)).collect()
}

#[tokio::test]
async fn the_first_message_is_greeted_and_answered_the_second_only_answered() {
    let store = Store::in_memory().unwrap();
    let desk = desk(&store);
    let first = new(take(&desk, message("a", None, "dead")).await);
    let second = new(take(&desk, message("a", None, "still")).await);
    assert_eq!(texts(&first), ["Hello. What is wrong?", "1: dead"]);
    assert_eq!(texts(&second), ["2: still"]);
}

#[tokio::test]
async fn a_message_delivered_again_gets_its_first_answer_and_changes_nothing() {
    let store = Store::in_memory().unwrap();
    let desk = desk(&store);
    let dead = || message("a", Some("m/1"), "dead");
    let first = new(take(&desk, dead()).await);
    take(&desk, message("a", Some("m/2"), "more")).await;
    let events = store.load(ConversationId(1)).await.unwrap();
    let again = take(&desk, dead()).await;
    assert_eq!(again, Answer::Repeat(Box::new(first[1].clone())));
    assert_eq!(store.load(ConversationId(1)).await.unwrap(), events);
}

#[tokio::test]
async fn a_message_delivered_many_times_at_once_is_taken_once() {
    let store = Store::in_memory().unwrap();
    let desk = Arc::new(desk(&store));
    let takes = (0..32).map(|_| {
        let desk = Arc::clone(&desk);
        tokio::spawn(async move { take(&desk, message("a", Some("m/1"), "dead")).await })
    });
    let mut fresh = 0;
    for take in takes.collect::<Vec<_>>() {
        fresh += usize::from(matches!(take.await.unwrap(), Answer::New(_)));
    }
    assert_eq!(fresh, 1);
    // Opened, heard, asked.
    assert_eq!(store.load(ConversationId(1)).await.unwrap().len(), 3);
}

#[tokio::test]
async fn an_address_whose_conversation_was_left_for_a_new_one_goes_on_with_the_new_one() {
    let store = Store::in_memory().unwrap();
    let desk = desk(&store);
    let address = Address::new("a");
    take(&desk, message("a", None, "dead")).await;
    let opened = desk.open(&address, None, &terms()).await.unwrap();
    let next = new(take(&desk, message("a", None, "again")).await);
    assert_eq!(next[0].conversation, opened.conversation);
    assert_eq!(texts(&next), ["1: again"]);
    assert_eq!(store.load(ConversationId(1)).await.unwrap().len(), 3);
}

#[tokio::test]
async fn what_was_said_and_not_sent_waits_in_order_and_goes_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    {
        let desk = desk(&Store::open(&path).unwrap());
        for n in 0..12 {
            let answers = new(take(&desk, message("a", None, &format!("m{n}"))).await);
            if n == 0 {
                desk.sent(&answers[0]).await.unwrap();
            }
        }
    }
    let expected: Vec<String> = (0..12).map(|n| format!("{}: m{n}", n + 1)).collect();
    {
        let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(100));
        let unsent = desk.unsent().await.unwrap();
        assert_eq!(texts(&unsent), expected);
        assert!(unsent.iter().all(|o| o.address == Address::new("a")));
        for outgoing in &unsent {
            desk.sent(outgoing).await.unwrap();
        }
    }
    let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(200));
    assert_eq!(desk.unsent().await.unwrap(), vec![]);
}

#[tokio::test]
async fn how_things_stand_survives_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    let address = Address::new("a");
    {
        let desk = desk(&Store::open(&path).unwrap());
        assert_eq!(desk.standing(&address).await.unwrap(), None);
        take(&desk, message("a", None, "dead")).await;
        take(&desk, message("b", None, "bye")).await;
    }
    let desk = Desk::new(Store::open(&path).unwrap(), Counting, given(100));
    let standing = desk.standing(&address).await.unwrap().unwrap();
    assert_eq!(standing.status, Status::Unfinished);
    assert_eq!(text(&standing.reply), "1: dead");
    let other = desk.standing(&Address::new("b")).await.unwrap().unwrap();
    assert_eq!(other.status, Status::Closed);
    let next = new(take(&desk, message("a", None, "and now")).await);
    assert_eq!(texts(&next), ["2: and now"]);
}

/// Lets a test see how many turns are being worked on at once, and where.
struct Watched {
    now: AtomicUsize,
    most: AtomicUsize,
}

impl Dialogue for Watched {
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply) {
        Counting.open(terms)
    }

    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply) {
        let now = 1 + self.now.fetch_add(1, Ordering::SeqCst);
        self.most.fetch_max(now, Ordering::SeqCst);
        std::thread::sleep(std::time::Duration::from_millis(1));
        self.now.fetch_sub(1, Ordering::SeqCst);
        Counting.advance(log, incoming)
    }

    fn resume(&self, log: &[Logged]) -> Reply {
        Counting.resume(log)
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn sixty_four_conversations_run_at_once_and_each_keeps_its_order() {
    const TURNS: u32 = 10;
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&folder.path().join("data")).unwrap();
    let watched = Watched {
        now: AtomicUsize::new(0),
        most: AtomicUsize::new(0),
    };
    let desk = Arc::new(Desk::new(store.clone(), watched, given(1)));
    let riders = (0..64).map(|rider| {
        let desk = Arc::clone(&desk);
        tokio::spawn(async move {
            let address = format!("rider {rider}");
            let mut last = None;
            for turn in 1..=TURNS {
                let said = message(&address, None, &format!("r{rider}"));
                let answers = new(take(&desk, said).await);
                let answer = answers.last().unwrap();
                assert_eq!(text(&answer.reply), format!("{turn}: r{rider}"));
                last = Some(answer.conversation);
            }
            last.unwrap()
        })
    });
    for rider in riders.collect::<Vec<_>>() {
        let conversation = rider.await.unwrap();
        let kept = store.load(conversation).await.unwrap();
        let turns: Vec<u32> = kept.iter().map(|kept| kept.logged.turn).collect();
        let expected: Vec<u32> = std::iter::once(0)
            .chain((1..=TURNS).flat_map(|turn| [turn, turn]))
            .collect();
        assert_eq!(turns, expected);
    }
    assert_eq!(
        store.with_status(Status::Unfinished).await.unwrap().len(),
        64
    );
    let most = desk_dialogue_most(&desk);
    assert!(most > 1, "turns of different riders never ran side by side");
}

fn desk_dialogue_most(desk: &Desk<Watched>) -> usize {
    desk.dialogue().most.load(Ordering::SeqCst)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn messages_of_one_rider_sent_at_once_are_taken_one_by_one() {
    let store = Store::in_memory().unwrap();
    let watched = Watched {
        now: AtomicUsize::new(0),
        most: AtomicUsize::new(0),
    };
    let desk = Arc::new(Desk::new(store.clone(), watched, given(1)));
    let takes = (0..20).map(|n| {
        let desk = Arc::clone(&desk);
        tokio::spawn(async move {
            let answers = new(take(&desk, message("a", None, &format!("m{n}"))).await);
            answers.last().unwrap().turn
        })
    });
    let mut turns = Vec::new();
    for take in takes.collect::<Vec<_>>() {
        turns.push(take.await.unwrap());
    }
    turns.sort_unstable();
    assert_eq!(turns, (1..=20).collect::<Vec<u32>>());
    assert_eq!(desk_dialogue_most(&desk), 1);
}

/// What a channel may do: deliver a message, again and in any order, and one that asks to be forgotten.
#[derive(Debug, Clone)]
enum Delivery {
    Said(u8),
    Forget,
}

fn deliveries() -> impl Strategy<Value = Vec<Delivery>> {
    let one = prop_oneof![
        12 => (0_u8..9).prop_map(Delivery::Said),
        1 => Just(Delivery::Forget),
    ];
    proptest::collection::vec(one, 1..40)
}

/// Delivers a message; the texts of the answers, and whether they are a repetition.
async fn deliver(desk: &Desk<Counting>, id: &str, said: &str) -> (bool, Vec<String>) {
    match take(desk, message("here", Some(id), said)).await {
        Answer::New(all) => (false, texts(&all)),
        Answer::Repeat(one) => (true, vec![text(&one.reply)]),
    }
}

async fn all_are_answered_once(deliveries: Vec<Delivery>) {
    let desk = Desk::new(Store::in_memory().unwrap(), Counting, given(1));
    let mut said: Vec<u8> = Vec::new();
    let mut forgotten: BTreeSet<u8> = BTreeSet::new();
    for (number, delivery) in deliveries.into_iter().enumerate() {
        match delivery {
            Delivery::Said(id) => {
                let (name, text) = (format!("m{id}"), format!("text {id}"));
                let (repeated, answers) = deliver(&desk, &name, &text).await;
                let before = said.iter().position(|known| *known == id);
                let answer = |turn: usize| format!("{turn}: {text}");
                if forgotten.contains(&id) {
                    assert_eq!((repeated, answers), (false, vec![]));
                } else if let Some(at) = before {
                    assert_eq!((repeated, answers), (true, vec![answer(at + 1)]));
                } else {
                    said.push(id);
                    assert!(!repeated);
                    assert_eq!(answers.last(), Some(&answer(said.len())));
                    // The first one is greeted as well.
                    assert_eq!(answers.len(), 1 + usize::from(said.len() == 1));
                }
            }
            Delivery::Forget if said.is_empty() => {}
            Delivery::Forget => {
                let name = format!("forget {number}");
                let (_, answers) = deliver(&desk, &name, "forget me").await;
                assert!(
                    answers[0].starts_with("Erased: 1 conversation, with"),
                    "{answers:?}"
                );
                forgotten.extend(said.drain(..));
                assert_eq!(deliver(&desk, &name, "forget me").await, (false, vec![]));
                assert_eq!(desk.store().all().await.unwrap(), vec![]);
            }
        }
    }
    assert!(desk.store().verify().await.unwrap().problems.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn messages_delivered_again_and_in_any_order_are_answered_once(deliveries in deliveries()) {
        Runtime::new().unwrap().block_on(all_are_answered_once(deliveries));
    }
}
