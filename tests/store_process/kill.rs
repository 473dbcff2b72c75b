//! A process killed under load, over and over on the same folder.

use crate::child::RIDERS;
use floatbowl::store::Store;
use floatbowl::store::name::{ConversationId, Status};
use std::collections::{BTreeMap, BTreeSet};
use std::env;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::runtime::Runtime;

type Turns = BTreeSet<(ConversationId, u32)>;

/// What the process acknowledged.
#[derive(Default)]
pub struct Acknowledged {
    pub said: Turns,
    pub sent: Turns,
    /// Conversations that were about to be forgotten.
    pub forgetting: BTreeSet<ConversationId>,
    /// Conversations that were forgotten.
    pub forgotten: BTreeSet<ConversationId>,
    /// The first failure it reported.
    pub error: Option<String>,
}

impl Acknowledged {
    fn hear(&mut self, line: &str) {
        let words: Vec<&str> = line.split(' ').collect();
        let turn = || (words[1].parse().unwrap(), words[2].parse().unwrap());
        match words[0] {
            "said" => assert!(self.said.insert(turn()), "said twice: {line}"),
            "sent" => assert!(self.sent.insert(turn()), "sent twice: {line}"),
            "forgetting" => {
                self.forgetting.insert(turn().0);
            }
            "forgot" => assert!(self.forgotten.insert(turn().0), "forgotten twice: {line}"),
            "error" => {
                self.error.get_or_insert_with(|| line.to_owned());
            }
            other => panic!("{other} from the process"),
        }
    }

    /// Hears a process out, until its output ends.
    pub fn listen(&mut self, child: &mut Child) {
        let out = child.stdout.take().unwrap();
        for line in BufReader::new(out).lines() {
            self.hear(&line.unwrap());
        }
    }
}

/// The time until the kill: by the clock, so that every run kills elsewhere; now while the folder
/// is being opened, now while riders write.
fn moment(round: u32) -> Duration {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    let longest = if round.is_multiple_of(3) {
        100_000
    } else {
        400_000
    };
    Duration::from_micros(u64::from(now.subsec_nanos() ^ (round * 7919)) % longest)
}

pub fn nothing_acknowledged_is_lost() {
    let kills = env::var("FLOATBOWL_KILLS").map_or(20, |n| n.parse().expect("a number of kills"));
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("data");
    let mut acknowledged = Acknowledged::default();
    for round in 0..kills {
        let mut child = Command::new(env::current_exe().unwrap())
            .args(["talk", folder.to_str().unwrap()])
            .arg((u64::from(round + 1) << 32).to_string())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        thread::scope(|scope| {
            let out = child.stdout.take();
            let acknowledged = &mut acknowledged;
            scope.spawn(move || {
                for line in BufReader::new(out.unwrap()).lines() {
                    acknowledged.hear(&line.unwrap());
                }
            });
            thread::sleep(moment(round));
            child.kill().unwrap();
        });
        let ended = child.wait().unwrap();
        assert_eq!(ended.code(), None, "it ended by itself: {ended}");
        // Every other round the next process finds the folder as the kill left it.
        if round % 2 == 1 || round + 1 == kills {
            check(&folder, &acknowledged);
        }
    }
    assert!(!acknowledged.said.is_empty(), "it never got to speak");
    println!(
        "{kills} kills, {} turns acknowledged, none missing; {} conversations forgotten, none left ... ok",
        acknowledged.said.len(),
        acknowledged.forgotten.len()
    );
}

/// Reads everything back and compares it with what was acknowledged.
pub fn check(folder: &Path, acknowledged: &Acknowledged) {
    let store = Store::open(folder).unwrap();
    let verdict = Runtime::new().unwrap().block_on(store.verify()).unwrap();
    assert_eq!(verdict.problems, Vec::<String>::new());
    Runtime::new().unwrap().block_on(async {
        let mut kept: BTreeMap<ConversationId, u32> = BTreeMap::new();
        for conversation in store.with_status(Status::Unfinished).await.unwrap() {
            let events = store.load(conversation).await.unwrap();
            let turns: Vec<u32> = events.iter().map(|kept| kept.logged.turn).collect();
            let last = *turns.last().unwrap();
            // One event opens, two a turn follow: nothing missing, nothing twice, no half turn.
            let whole = std::iter::once(0).chain((1..=last).flat_map(|turn| [turn, turn]));
            assert_eq!(turns, whole.collect::<Vec<_>>(), "{conversation}");
            for turn in 0..=last {
                let said = store.said(conversation, turn).await.unwrap();
                assert!(said.is_some(), "no reply {turn} in {conversation}");
            }
            kept.insert(conversation, last);
        }
        assert!(kept.len() <= RIDERS, "a rider was greeted twice");
        for conversation in &acknowledged.forgotten {
            assert!(
                !kept.contains_key(conversation),
                "{conversation} is still there"
            );
        }
        for (conversation, turn) in &acknowledged.said {
            // Forgetting may have been done and not acknowledged; then all of it is gone.
            if acknowledged.forgetting.contains(conversation) && !kept.contains_key(conversation) {
                continue;
            }
            let last = kept.get(conversation);
            assert!(last >= Some(turn), "turn {turn} of {conversation} is lost");
        }
        let unsent: Turns = store
            .unsent()
            .await
            .unwrap()
            .iter()
            .map(|unsent| (unsent.conversation, unsent.turn))
            .collect();
        assert!(
            unsent.is_disjoint(&acknowledged.sent),
            "would be sent twice"
        );
        let unsaid = acknowledged.said.difference(&acknowledged.sent);
        let uncertain: Turns = unsaid.copied().collect();
        for (conversation, last) in &kept {
            for turn in 0..=*last {
                let key = (*conversation, turn);
                let accounted = acknowledged.sent.contains(&key)
                    || unsent.contains(&key)
                    || uncertain.contains(&key);
                assert!(
                    accounted,
                    "reply {turn} of {conversation} would never be sent"
                );
            }
        }
    });
}
