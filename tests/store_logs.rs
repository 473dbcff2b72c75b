//! What is noted down for whoever runs the program never holds a word, a reading or a name of a rider.
//!
//! Everything that any crate notes, at the finest level, is caught over whole conversations, and over
//! everything that can be done with them and go wrong.

#[path = "store_logs/caught.rs"]
mod caught;

use floatbowl::conversation::event::{Event, Incoming, Logged, Terms};
use floatbowl::conversation::{State, advance, open, resume};
use floatbowl::desk::{Answer, Desk, Dialogue, Given, Message};
use floatbowl::knowledge::Knowledge;
use floatbowl::reply::Reply;
use floatbowl::store::name::{Address, MessageId, Rider};
use floatbowl::store::salvage::salvage;
use floatbowl::store::{Store, StoreError};
use std::fs;
use std::io::{Cursor, Read};
use std::path::Path;
use std::sync::LazyLock;
use tokio::task::spawn_blocking;

static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(Knowledge::embedded);

/// What must never be found: words, a reading, and the channel's own names.
const SENTINELS: [&str; 6] = [
    "zebrafinch",
    "12.3757",
    "rider-4711",
    "thread-0815",
    "message-2342",
    "guild-6174",
];

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

fn message(number: usize, text: &str) -> Message {
    Message {
        address: Address::new("channel/guild-6174/thread-0815"),
        rider: Some(Rider::new("channel/rider-4711")),
        id: Some(MessageId::new(&format!("channel/message-2342-{number}"))),
        incoming: Incoming::Text(text.to_owned()),
    }
}

fn terms() -> Terms {
    Terms {
        system: Some("pump-carb".into()),
        knowledge: KNOWLEDGE.revision.clone(),
        ..Terms::default()
    }
}

/// A conversation with readings, a danger, words that nobody understands, and consent; each message is
/// delivered twice.
async fn talk(desk: &Desk<Assistant>) {
    let said = [
        "my zebrafinch of a bike cranks but will not start, the pump is silent",
        "no",
        "yes all of that",
        "I have a multimeter and a zebrafinch",
        "the battery reads 12.3757 V after it rested all night",
        "zebrafinch zebrafinch",
        "petrol drips on the hot exhaust of my zebrafinch",
        "it is over now, all dry, nothing drips any more",
        "stop",
        "yes",
    ];
    for (number, text) in said.into_iter().enumerate() {
        let answer = desk.take(message(number, text), &terms()).await.unwrap();
        if let Answer::New(outgoing) = answer {
            for outgoing in &outgoing {
                desk.sent(outgoing).await.unwrap();
            }
        }
        let again = desk.take(message(number, text), &terms()).await.unwrap();
        assert!(matches!(again, Answer::Repeat(_)));
    }
}

async fn restore(store: &Store, bytes: Vec<u8>) -> Result<(), StoreError> {
    let open =
        move || -> std::io::Result<Box<dyn Read>> { Ok(Box::new(Cursor::new(bytes.clone()))) };
    store.bring_back(open).await.map(drop)
}

/// Everything that goes wrong with what is kept; what is said about it may be noted by a channel.
async fn go_wrong(desk: &Desk<Assistant>, folder: &Path) -> Vec<String> {
    let store = desk.store();
    let mut said = Vec::new();
    let mut note = |result: Result<(), StoreError>| {
        let error = result.unwrap_err();
        said.push(format!("{error:?} {error}"));
    };
    let mut backup = Vec::new();
    store.back_up(&mut backup).await.unwrap();
    let plain = String::from_utf8(zstd::decode_all(&backup[..]).unwrap()).unwrap();
    assert!(plain.contains("zebrafinch") && plain.contains("12.3757"));
    let other = Store::in_memory().unwrap();
    for spoilt in [
        plain[..plain.len() / 2].to_owned(),
        plain.replacen("\"at\":", "\"at\":\"zebrafinch\",\"a\":", 1),
        plain.replacen("\"heard\":", "\"zebrafinch\":", 1),
        plain.replacen("\"turn\":1", "\"turn\":\"12.3757\"", 1),
    ] {
        note(restore(&other, spoilt.into_bytes()).await);
    }
    note(Store::open(folder).map(drop));
    let note_again = floatbowl::store::Note {
        conversation: store.all().await.unwrap()[0],
        at: jiff::Timestamp::UNIX_EPOCH,
        after: 1,
        events: vec![Logged {
            turn: 0,
            event: Event::Heard(Incoming::Text("zebrafinch".to_owned())),
        }],
    };
    note(store.note(note_again).await);
    said
}

#[tokio::test]
async fn no_word_reading_or_name_of_a_rider_is_ever_noted() {
    let caught = caught::everything();
    tracing::warn!("a note by this test");
    log::trace!("another one");
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("data");
    let desk = Desk::new(Store::open(&folder).unwrap(), Assistant, Given::by_system());
    talk(&desk).await;
    let errors = go_wrong(&desk, &folder).await;
    desk.tend().await.unwrap();
    drop(desk);

    // Once more after a crash, then with damage, then salvaged, then forgotten.
    fs::remove_file(folder.join("seal")).unwrap();
    drop(Store::open(&folder).unwrap());
    let whole = fs::read(folder.join("turns/db")).unwrap();
    let mut flipped = whole.clone();
    flipped[20_000] ^= 1;
    fs::write(folder.join("turns/db"), flipped).unwrap();
    let refused = Store::open(&folder).map(drop).unwrap_err().to_string();
    let (damaged, new) = (folder.clone(), outer.path().join("new"));
    let salvaged = spawn_blocking(move || salvage(&damaged, &new).map(drop));
    salvaged.await.unwrap().unwrap();
    fs::write(folder.join("turns/db"), whole).unwrap();
    let desk = Desk::new(Store::open(&folder).unwrap(), Assistant, Given::by_system());
    assert!(desk.store().verify().await.unwrap().problems.is_empty());
    let parting = message(99, "forget me, my zebrafinch and rider-4711");
    desk.take(parting, &terms()).await.unwrap();
    assert!(desk.store().all().await.unwrap().is_empty());
    drop(desk);

    let caught = caught.all();
    for own in ["a note by this test", "another one"] {
        assert!(caught.contains(own), "{own:?} was not caught");
    }
    assert!(caught.lines().count() > 1000, "little was caught");
    let noted = [caught, errors.join("\n"), refused].join("\n");
    for sentinel in SENTINELS {
        let found = noted.lines().find(|line| line.contains(sentinel));
        assert_eq!(found, None, "{sentinel} is in it");
    }
}
