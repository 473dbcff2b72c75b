//! Every limit: something that breaks it, and a word its breach must contain.

use serde_json::{Value, json};

use super::{Scene, message, with_button};
use crate::fake::call::File;
use crate::fake::check::message::Stage;
use crate::fake::check::{Findings, command, message as message_check, modal, thread};

fn with(field: &str, value: Value) -> Value {
    let mut body = message("x");
    body[field] = value;
    body
}

fn rows(parts: &Value) -> Value {
    with("components", json!([{"type": 1, "components": parts}]))
}

fn button(fields: &Value) -> Value {
    let mut one = json!({"type": 2, "style": 1, "label": "a", "custom_id": "a"});
    crate::fake::world::merge(&mut one, fields);
    one
}

fn select(fields: &Value) -> Value {
    let mut one = json!({"type": 3, "custom_id": "s", "options": [{"label": "a", "value": "a"}]});
    crate::fake::world::merge(&mut one, fields);
    rows(&json!([one]))
}

fn assert_says(found: &Findings, wanted: &str) {
    let all = found.refused.iter().chain(&found.rude);
    let all: Vec<_> = all.collect();
    assert!(
        all.len() == 1 && all[0].contains(wanted),
        "wanted one breach with {wanted:?}, got {all:?}"
    );
}

fn long(count: usize) -> Value {
    json!("x".repeat(count))
}

fn message_says(body: &Value, wanted: &str) {
    assert_says(&message_check::check(body, &[], Stage::New), wanted);
}

#[test]
fn content_and_mentions() {
    message_says(&with("content", long(2001)), "content has 2001");
    message_says(&message(""), "empty message");
    message_says(&json!({"content": "x"}), "without allowed_mentions");
    message_says(&with("nonce", long(26)), "nonce");
    let described = json!([{"id": 0, "description": long(1025)}]);
    message_says(
        &with("attachments", described),
        "description of an attachment",
    );
    let mentions = [
        (json!({"parse": ["everyone"]}), "everyone"),
        (json!({"parse": ["roles"]}), "roles"),
        (json!({"parse": [], "roles": ["7"]}), "roles"),
        (json!({"parse": [], "users": ["7"]}), "does not name"),
    ];
    for (allowed, wanted) in mentions {
        message_says(&with("allowed_mentions", allowed), wanted);
    }
}

#[test]
fn embeds() {
    let field = json!({"name": "a", "value": "b"});
    let cases = [
        (json!(vec![json!({"title": "a"}); 11]), "embeds"),
        (json!([{"title": long(257)}]), "embed title"),
        (json!([{"description": long(4097)}]), "embed description"),
        (json!([{"fields": vec![field; 26]}]), "embed fields"),
        (
            json!(vec![json!({"description": long(2001)}); 3]),
            "6003 characters together",
        ),
    ];
    for (embeds, wanted) in cases {
        message_says(&with("embeds", embeds), wanted);
    }
}

#[test]
fn buttons() {
    let link = json!({"type": 2, "style": 5, "label": "a", "url": "https://a.invalid"});
    let row = json!({"type": 1, "components": [link]});
    message_says(&with("components", json!(vec![row; 6])), "component rows");
    let numbered = |n: i32| button(&json!({"custom_id": n.to_string()}));
    let six: Vec<_> = (0..6).map(numbered).collect();
    message_says(&rows(&json!(six)), "6 buttons in a row");
    let twice = json!([button(&json!({})), button(&json!({}))]);
    message_says(&rows(&twice), "twice in one message");
    let cases = [
        (json!({"label": long(81)}), "button label"),
        (json!({"custom_id": long(101)}), "custom_id has 101"),
        (json!({"custom_id": ""}), "custom_id has 0"),
        (
            json!({"style": 5, "url": "https://a.invalid"}),
            "link button",
        ),
    ];
    for (fields, wanted) in cases {
        message_says(&rows(&json!([button(&fields)])), wanted);
    }
}

#[test]
fn selects() {
    let option = |n: i32| json!({"label": "a", "value": n.to_string()});
    let many: Vec<_> = (0..26).map(option).collect();
    let cases = [
        (json!({"options": many}), "26 options"),
        (json!({"placeholder": long(151)}), "placeholder"),
        (json!({"max_values": 2}), "takes 1 to 2"),
        (
            json!({"options": [{"label": long(101), "value": "a"}]}),
            "option label",
        ),
        (
            json!({"options": [{"label": "a", "value": "a", "description": long(101)}]}),
            "option description",
        ),
    ];
    for (fields, wanted) in cases {
        message_says(&select(&fields), wanted);
    }
}

#[test]
fn a_picture_needs_a_description() {
    let file = File {
        index: 0,
        name: "a.png".into(),
        media: None,
        bytes: vec![1],
    };
    assert_says(
        &message_check::check(&message("x"), &[file], Stage::New),
        "no description",
    );
}

#[test]
fn good_messages_pass() {
    for body in [message("x"), with_button("x", "a"), select(&json!({}))] {
        let found = message_check::check(&body, &[], Stage::New);
        assert!(
            found.refused.is_empty() && found.rude.is_empty(),
            "{found:?}"
        );
    }
    let mut rung = message("hello <@7>");
    rung["allowed_mentions"] = json!({"users": ["7"]});
    assert!(message_check::check(&rung, &[], Stage::New).rude.is_empty());
}

fn input(fields: &Value) -> Value {
    let mut one = json!({"type": 4, "custom_id": "v", "style": 1, "label": "Value"});
    crate::fake::world::merge(&mut one, fields);
    json!({"type": 1, "components": [one]})
}

#[test]
fn modals() {
    let shown =
        |title: &str, parts: Value| json!({"title": title, "custom_id": "m", "components": parts});
    let label = json!({"type": 18, "label": "x".repeat(46), "component": {"type": 4, "custom_id": "v", "style": 1}});
    let many: Vec<_> = (0..6)
        .map(|n| input(&json!({"custom_id": n.to_string()})))
        .collect();
    let cases = [
        (
            shown(&"x".repeat(46), json!([input(&json!({}))])),
            "modal title",
        ),
        (shown("a", json!([])), "0 components"),
        (shown("a", json!(many)), "6 components"),
        (
            shown("a", json!([input(&json!({"label": "x".repeat(46)}))])),
            "input label",
        ),
        (
            shown(
                "a",
                json!([input(&json!({"placeholder": "x".repeat(101)}))]),
            ),
            "placeholder",
        ),
        (
            shown("a", json!([input(&json!({"value": "x".repeat(4001)}))])),
            "input value",
        ),
        (shown("a", json!([label])), "label has 46"),
    ];
    for (body, wanted) in cases {
        assert_says(&modal::check(&body), wanted);
    }
    let good = modal::check(&shown("a", json!([input(&json!({}))])));
    assert!(good.refused.is_empty(), "{good:?}");
}

#[test]
fn commands() {
    let slash = |fields: &Value| {
        let mut one = json!({"name": "why", "description": "d"});
        crate::fake::world::merge(&mut one, fields);
        json!([one])
    };
    let option = |n: usize| json!({"type": 3, "name": format!("o{n}"), "description": "d"});
    let many: Vec<_> = (0..101)
        .map(|n| json!({"name": format!("c{n}"), "description": "d"}))
        .collect();
    let cases = [
        (slash(&json!({"name": "Why"})), "name"),
        (slash(&json!({"name": "a b"})), "name"),
        (slash(&json!({"description": ""})), "description"),
        (
            slash(&json!({"options": (0..26).map(option).collect::<Vec<_>>()})),
            "options",
        ),
        (json!(many), "101 commands"),
        (
            json!([{"name": "Start here", "type": 3, "description": "no"}]),
            "context menu",
        ),
        (
            json!([{"name": "a", "description": "d"}, {"name": "a", "description": "d"}]),
            "twice",
        ),
    ];
    for (body, wanted) in cases {
        assert_says(&command::check(&body), wanted);
    }
    assert!(
        command::check(&json!([{"name": "Start here", "type": 3}]))
            .refused
            .is_empty()
    );
}

#[test]
fn threads() {
    let forum = json!({"available_tags": [{"id": "1"}]});
    let cases = [
        (json!({"name": ""}), "thread name"),
        (json!({"name": "x".repeat(101)}), "thread name"),
        (
            json!({"name": "a", "auto_archive_duration": 61}),
            "auto_archive_duration",
        ),
        (
            json!({"name": "a", "applied_tags": ["2"]}),
            "does not exist",
        ),
        (
            json!({"name": "a", "applied_tags": ["1", "1", "1", "1", "1", "1"]}),
            "applied_tags",
        ),
    ];
    for (body, wanted) in cases {
        assert_says(&thread::check(&body, &forum, true), wanted);
    }
}

#[tokio::test]
async fn a_breach_is_told_and_refused() {
    let scene = Scene::new().await;
    let path = format!("/channels/{}/messages", scene.channel);
    let (status, body) = scene
        .post(&path, json!({"content": "x".repeat(2001)}))
        .await;
    assert_eq!((status, &body["code"]), (400, &json!(50_035)));
    assert_eq!(scene.fake.take_breaches().len(), 2);
}

#[tokio::test]
async fn a_third_rename_is_too_many() {
    let scene = Scene::new().await;
    let from = scene.fake.say(scene.channel, scene.rider, "x");
    scene.fake.start_thread(from, scene.rider, "a");
    let rename = async |name: &str| {
        let path = format!("/channels/{from}");
        scene
            .send(reqwest::Method::PATCH, &path, json!({"name": name}))
            .await
            .0
    };
    assert_eq!(
        (rename("b").await, rename("c").await, rename("d").await),
        (200, 200, 429)
    );
    assert_eq!(scene.fake.take_breaches().len(), 1);
}
