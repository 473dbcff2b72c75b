//! What every storage engine must do, run on each of them; a new engine joins by one `#[values]`.

use floatbowl::store::embedded::Embedded;
use floatbowl::store::engine::{Applied, Batch, Engine, Op, Tree};
use floatbowl::store::memory::Memory;
use floatbowl::store::problem::StoreError;
use proptest::prelude::*;
use rstest::rstest;
use std::path::Path;
use tempfile::TempDir;

type Make = fn(&Path) -> Box<dyn Engine>;
type Rows = Vec<(Vec<u8>, Vec<u8>)>;

fn memory(_: &Path) -> Box<dyn Engine> {
    Box::new(Memory::default())
}

fn embedded(folder: &Path) -> Box<dyn Engine> {
    Box::new(Embedded::open(&folder.join("data")).unwrap())
}

fn made(make: Make) -> (Box<dyn Engine>, TempDir) {
    let folder = tempfile::tempdir().unwrap();
    (make(folder.path()), folder)
}

fn add(tree: Tree, key: &[u8], value: &[u8]) -> Op {
    Op::Add(tree, key.to_vec(), value.to_vec())
}

fn put(tree: Tree, key: &[u8], value: &[u8]) -> Op {
    Op::Put(tree, key.to_vec(), value.to_vec())
}

fn remove(tree: Tree, key: &[u8]) -> Op {
    Op::Remove(tree, key.to_vec())
}

fn apply(engine: &mut dyn Engine, ops: Vec<Op>) -> Applied {
    engine.apply(&Batch(ops)).unwrap()
}

fn rows(engine: &dyn Engine, tree: Tree, prefix: &[u8]) -> Rows {
    let mut rows = Vec::new();
    let mut visit = |key: &[u8], value: &[u8]| {
        rows.push((key.to_vec(), value.to_vec()));
        Ok(())
    };
    engine.scan(tree, prefix, &mut visit).unwrap();
    rows
}

fn keys(engine: &dyn Engine, tree: Tree, prefix: &[u8]) -> Vec<Vec<u8>> {
    let rows = rows(engine, tree, prefix);
    rows.into_iter().map(|(key, _)| key).collect()
}

#[rstest]
fn a_batch_over_all_trees_is_in_place_at_once(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    let ops = Tree::ALL.map(|tree| add(tree, b"key", tree.name().as_bytes()));
    assert_eq!(apply(&mut *engine, ops.to_vec()), Applied::Whole);
    engine.sync().unwrap();
    for tree in Tree::ALL {
        let value = engine.get(tree, b"key").unwrap();
        assert_eq!(value.as_deref(), Some(tree.name().as_bytes()));
    }
}

#[rstest]
fn a_key_that_exists_refuses_the_whole_batch(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    apply(&mut *engine, vec![add(Tree::Events, b"b", b"first")]);
    let ops = vec![
        put(Tree::Replies, b"r", b"new"),
        add(Tree::Events, b"a", b"new"),
        add(Tree::Events, b"b", b"second"),
        remove(Tree::Events, b"b"),
    ];
    let refused = Applied::Refused(Tree::Events, b"b".to_vec());
    assert_eq!(apply(&mut *engine, ops), refused);
    engine.sync().unwrap();
    let kept = vec![(b"b".to_vec(), b"first".to_vec())];
    assert_eq!(rows(&*engine, Tree::Events, b""), kept);
    assert_eq!(engine.get(Tree::Replies, b"r").unwrap(), None);
    let next = vec![add(Tree::Events, b"c", b"")];
    assert_eq!(apply(&mut *engine, next), Applied::Whole);
}

#[rstest]
fn one_batch_cannot_add_a_key_twice(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    let twice = vec![add(Tree::Events, b"a", b"1"), add(Tree::Events, b"a", b"2")];
    let refused = Applied::Refused(Tree::Events, b"a".to_vec());
    assert_eq!(apply(&mut *engine, twice), refused);
    assert_eq!(engine.get(Tree::Events, b"a").unwrap(), None);
}

#[rstest]
fn changes_of_a_batch_happen_in_order(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    apply(&mut *engine, vec![add(Tree::Events, b"a", b"1")]);
    let ops = vec![
        remove(Tree::Events, b"a"),
        add(Tree::Events, b"a", b"2"),
        put(Tree::Events, b"a", b"3"),
        put(Tree::Events, b"b", b"4"),
        remove(Tree::Events, b"b"),
    ];
    assert_eq!(apply(&mut *engine, ops), Applied::Whole);
    let expected = vec![(b"a".to_vec(), b"3".to_vec())];
    assert_eq!(rows(&*engine, Tree::Events, b""), expected);
}

#[rstest]
fn removing_what_is_not_there_is_nothing(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    let ops = vec![remove(Tree::Outbox, b"a")];
    assert_eq!(apply(&mut *engine, ops), Applied::Whole);
}

#[rstest]
fn scans_are_by_prefix_and_in_order_of_bytes(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    let shuffled: [&[u8]; 7] = [
        b"\xff\xff",
        b"a\xff",
        b"a",
        b"\x00",
        b"b",
        b"\xff",
        b"a\x00",
    ];
    let ops = shuffled.map(|key| add(Tree::Events, key, b""));
    apply(&mut *engine, ops.to_vec());
    let mut sorted = shuffled.map(<[u8]>::to_vec).to_vec();
    sorted.sort();
    assert_eq!(keys(&*engine, Tree::Events, b""), sorted);
    let with_a: [&[u8]; 3] = [b"a", b"a\x00", b"a\xff"];
    assert_eq!(keys(&*engine, Tree::Events, b"a"), with_a);
    let with_ff: [&[u8]; 2] = [b"\xff", b"\xff\xff"];
    assert_eq!(keys(&*engine, Tree::Events, b"\xff"), with_ff);
    assert!(keys(&*engine, Tree::Events, b"c").is_empty());
    assert!(keys(&*engine, Tree::Replies, b"").is_empty());
}

#[rstest]
fn the_last_of_a_prefix_is_found(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    let ops = [b"a1", b"a2", b"b0"].map(|key| add(Tree::Addresses, key, key));
    apply(&mut *engine, ops.to_vec());
    let last = |prefix: &[u8]| engine.last(Tree::Addresses, prefix).unwrap();
    assert_eq!(last(b"a"), Some((b"a2".to_vec(), b"a2".to_vec())));
    assert_eq!(last(b""), Some((b"b0".to_vec(), b"b0".to_vec())));
    assert_eq!(last(b"c"), None);
}

#[rstest]
fn a_visitor_can_end_a_scan(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    let ops = [b"a", b"b", b"c"].map(|key| add(Tree::Events, key, b""));
    apply(&mut *engine, ops.to_vec());
    let mut seen = 0;
    let ended = engine.scan(Tree::Events, b"", &mut |key, _| {
        seen += 1;
        if key == b"b" {
            return Err(StoreError::Stopped);
        }
        Ok(())
    });
    assert_eq!((ended, seen), (Err(StoreError::Stopped), 2));
}

#[rstest]
fn large_values_come_back_whole(#[values(memory, embedded)] make: Make) {
    let (mut engine, _folder) = made(make);
    for size in [0, 1, 4096, 1 << 17, 1 << 21] {
        let key = u64::try_from(size).unwrap().to_be_bytes();
        let value: Vec<u8> = (0..=250).cycle().take(size).collect();
        apply(&mut *engine, vec![add(Tree::Replies, &key, &value)]);
        engine.sync().unwrap();
        assert_eq!(engine.get(Tree::Replies, &key).unwrap(), Some(value));
    }
}

#[test]
fn what_was_synced_is_there_after_opening_again() {
    let folder = tempfile::tempdir().unwrap();
    for round in 0_u8..5 {
        let mut engine = embedded(folder.path());
        let before: Vec<Vec<u8>> = (0..round).map(|n| vec![n]).collect();
        assert_eq!(keys(&*engine, Tree::Events, b""), before);
        apply(&mut *engine, vec![add(Tree::Events, &[round], b"x")]);
        engine.sync().unwrap();
    }
}

fn any_op() -> impl Strategy<Value = Op> {
    let tree = (0..Tree::ALL.len()).prop_map(|n| Tree::ALL[n]);
    let key = proptest::collection::vec(0_u8..3, 0..3);
    let value = proptest::collection::vec(any::<u8>(), 0..4);
    (tree, key, value, 0..3).prop_map(|(tree, key, value, what)| match what {
        0 => Op::Add(tree, key, value),
        1 => Op::Put(tree, key, value),
        _ => Op::Remove(tree, key),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn all_engines_agree_on_any_batches(
        batches in proptest::collection::vec(proptest::collection::vec(any_op(), 0..6), 0..12)
    ) {
        let (mut one, _folder) = made(memory);
        let (mut other, _other_folder) = made(embedded);
        for ops in batches {
            prop_assert_eq!(apply(&mut *one, ops.clone()), apply(&mut *other, ops));
        }
        other.sync().unwrap();
        for tree in Tree::ALL.into_iter().filter(|tree| *tree != Tree::Meta) {
            prop_assert_eq!(rows(&*one, tree, b""), rows(&*other, tree, b""));
        }
    }
}
