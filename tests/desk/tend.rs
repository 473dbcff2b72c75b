//! Time and consent at the desk: one reminder, a close that is none, a question asked once.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::conversation::event::{Event, Incoming};
use floatbowl::desk::{Answer, Desk, Given, Message, asks_consent};
use floatbowl::reply::{Line, Phase, Reply};
use floatbowl::store::name::{Address, ConversationId, Group, Status};
use floatbowl::store::setting::Setting;
use floatbowl::store::{Outgoing, Store};
use jiff::Timestamp;
use rstest::rstest;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

/// A desk whose clock the test sets, in hours.
struct World {
    desk: Desk<Counting>,
    hours: Arc<AtomicI64>,
}

impl World {
    fn new() -> Self {
        let hours = Arc::new(AtomicI64::new(0));
        let clock = Arc::clone(&hours);
        let given = Given {
            clock: Box::new(move || {
                let hours = clock.load(Ordering::SeqCst);
                Timestamp::from_second(1_700_000_000 + 3600 * hours).unwrap()
            }),
            ..given(1)
        };
        let desk = Desk::new(Store::in_memory().unwrap(), Counting, given);
        Self { desk, hours }
    }

    async fn take(&self, message: Message) -> Vec<Outgoing> {
        match self.desk.take(message, &terms()).await.unwrap() {
            Answer::New(outgoing) => outgoing,
            Answer::Repeat(outgoing) => panic!("{outgoing:?} was said before"),
        }
    }

    async fn tend_at(&self, hours: i64) -> Vec<Outgoing> {
        self.hours.store(hours, Ordering::SeqCst);
        self.desk.tend().await.unwrap().outgoing
    }

    async fn status(&self) -> Status {
        let status = self.desk.store().status(ConversationId(1)).await;
        status.unwrap().unwrap()
    }
}

fn first_words(reply: &Reply) -> &str {
    match &reply.lines[0] {
        Line::Plain(text) => text,
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_silent_rider_is_reminded_once_and_put_to_rest_after_two_weeks() {
    let world = World::new();
    world.take(message("a", None, "dead")).await;
    assert_eq!(world.tend_at(71).await, vec![]);
    let reminder = world.tend_at(72).await;
    assert_eq!(reminder.len(), 1);
    assert!(first_words(&reminder[0].reply).starts_with("We have not heard from you"));
    assert_eq!(reminder[0].address, Address::new("a"));
    assert_eq!((reminder[0].turn, reminder[0].reply.turn), (2, 2));
    for hours in [73, 144, 200, 14 * 24 - 1] {
        assert_eq!(world.tend_at(hours).await, vec![], "after {hours} h");
    }
    let rest = world.tend_at(14 * 24).await;
    assert_eq!(rest.len(), 1);
    assert!(first_words(&rest[0].reply).starts_with("I am closing this for now"));
    assert_eq!(rest[0].reply.phase, Phase::Closed);
    assert_eq!(world.status().await, Status::Resting);
    assert_eq!(world.tend_at(15 * 24).await, vec![]);
    // Written to again, it goes on where it stopped.
    let next = world.take(message("a", None, "back")).await;
    assert_eq!((next.len(), next[0].turn), (1, 4));
    assert_eq!(next[0].conversation, ConversationId(1));
    assert_eq!(world.status().await, Status::Unfinished);
    // And time begins anew.
    assert_eq!(world.tend_at(15 * 24 + 71).await, vec![]);
    assert_eq!(world.tend_at(15 * 24 + 72).await.len(), 1);
}

#[tokio::test]
async fn reminders_and_rests_wait_in_the_outbox_like_any_reply() {
    let world = World::new();
    for sent in world.take(message("a", None, "dead")).await {
        world.desk.sent(&sent).await.unwrap();
    }
    let reminder = world.tend_at(72).await;
    assert_eq!(world.desk.unsent().await.unwrap(), reminder);
    assert!(
        world
            .desk
            .store()
            .verify()
            .await
            .unwrap()
            .problems
            .is_empty()
    );
}

#[tokio::test]
async fn a_group_that_wants_no_reminders_gets_none() {
    let world = World::new();
    world.take(message("c/g/a", None, "dead")).await;
    let setting = Setting {
        nudge: false,
        ..Setting::default()
    };
    world
        .desk
        .store()
        .set(Group::new("c/g"), setting)
        .await
        .unwrap();
    assert_eq!(world.tend_at(100).await, vec![]);
    assert_eq!(world.tend_at(14 * 24).await.len(), 1);
}

#[tokio::test]
async fn one_that_has_ended_or_was_left_for_another_is_not_disturbed() {
    let world = World::new();
    world.take(message("a", None, "bye")).await;
    world.take(message("b", None, "dead")).await;
    world
        .desk
        .open(&Address::new("b"), None, &terms())
        .await
        .unwrap();
    let reminders = world.tend_at(72).await;
    let whose: Vec<_> = reminders.iter().map(|said| said.conversation).collect();
    assert_eq!(whose, [ConversationId(3)]);
}

async fn consent(world: &World) -> Vec<bool> {
    let kept = world.desk.store().load(ConversationId(1)).await.unwrap();
    let given = kept.iter().filter_map(|kept| match kept.logged.event {
        Event::Consented(yes) => Some(yes),
        _ => None,
    });
    given.collect()
}

#[rstest]
#[case(Incoming::Choose("share-yes".to_owned()), vec![true])]
#[case(Incoming::Choose("share-no".to_owned()), vec![false])]
#[case(Incoming::Text("Yes!".to_owned()), vec![true])]
#[case(Incoming::Text("no thanks".to_owned()), vec![false])]
#[case(Incoming::Text("yes, but what about the pump?".to_owned()), vec![])]
#[case(Incoming::Text("hm".to_owned()), vec![])]
#[tokio::test]
async fn only_a_plain_yes_is_consent(#[case] answer: Incoming, #[case] expected: Vec<bool>) {
    let world = World::new();
    let last = world.take(message("a", None, "bye")).await;
    let question = &last.last().unwrap().reply;
    assert!(asks_consent(question));
    let answer = Message {
        incoming: answer,
        ..message("a", None, "")
    };
    let next = world.take(answer).await;
    assert!(!asks_consent(&next[0].reply), "it is asked once");
    assert_eq!(consent(&world).await, expected);
    let bye = world.take(message("a", None, "bye")).await;
    assert!(!asks_consent(&bye[0].reply), "it is asked once");
    // A late yes is none: the question is not on the table any more.
    world.take(message("a", None, "yes")).await;
    assert_eq!(consent(&world).await, expected);
}
