//! Bodies that are no request, or one that goes against the conventions: by position, without an answer wanted, twice.

use super::{Wanted, is};
use crate::shop::{Shop, sample};
use serde_json::{Value, json};

const WRONG: &str = "wrong_request";

pub fn all(shop: &Shop) {
    no_json(shop);
    no_requests(shop);
    no_methods(shop);
    by_position(shop);
    notifications(shop);
    mixed_batch(shop);
    named_twice(shop);
    deep(shop);
    wrong_verbs_and_types(shop);
}

#[test]
fn a_body_that_is_no_json_is_400_and_says_where() {
    let shop = Shop::open();
    no_json(&shop);
    shop.goes_on();
}

fn no_json(shop: &Shop) {
    for body in ["hello", "", "{", "{\"jsonrpc\":\"2.0\"", "[1,", "{}{}", "\u{feff}{}", "'single'", "\u{0}"] {
        let reply = shop.post(body);
        assert_eq!(reply.status, 400, "{body:?}: {}", reply.body);
        let envelope = reply.json();
        assert_eq!((&envelope["jsonrpc"], &envelope["id"]), (&json!("2.0"), &Value::Null), "{body:?}");
        let wanted =
            Wanted { code: -32700, kind: WRONG, pointer: None, says: &["no JSON", "line"], next: &["JSON-RPC"] };
        is(&envelope["error"], &wanted);
    }
    // Bytes that are no text.
    let reply = shop.post(b"{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"\xff\xfe\"}");
    assert_eq!(reply.status, 400, "{}", reply.body);
    assert_eq!(reply.json()["error"]["code"], -32700);
}

#[test]
fn json_that_is_no_request_is_told_so() {
    let shop = Shop::open();
    no_requests(&shop);
    shop.goes_on();
}

fn no_requests(shop: &Shop) {
    for body in [
        "{}",
        "[]",
        r#"{"id":1,"method":"shop.status"}"#,
        r#"{"jsonrpc":"1.0","id":1,"method":"shop.status"}"#,
        r#"{"jsonrpc":"2.0","id":1}"#,
        r#"{"jsonrpc":"2.0","id":1,"method":5}"#,
        // Ids of a kind that no answer could carry back: they are not notifications.
        r#"{"jsonrpc":"2.0","id":{},"method":"shop.status"}"#,
        r#"{"jsonrpc":"2.0","id":true,"method":"shop.status"}"#,
        r#"{"jsonrpc":"2.0","id":1,"id":2,"method":"shop.status"}"#,
    ] {
        let reply = shop.post(body);
        assert_eq!(reply.status, 200, "{body}: {}", reply.body);
        is(
            &reply.json()["error"],
            &Wanted { code: -32600, kind: WRONG, pointer: None, says: &[], next: &["JSON-RPC"] },
        );
    }
    // No object and no list: not JSON-RPC by any reading.
    for body in ["5", "\"x\"", "null", "true"] {
        let reply = shop.post(body);
        assert_eq!(reply.status, 400, "{body}: {}", reply.body);
        let error = reply.json()["error"].take();
        assert!(error["code"] == -32700 || error["code"] == -32600, "{error}");
    }
}

#[test]
fn an_id_comes_back_as_it_was_sent() {
    let shop = Shop::open();
    for id in [json!(0), json!(7), json!(u64::MAX), json!("☃ é \u{1F9F5}"), json!(""), json!("x".repeat(10_000))] {
        let body =
            json!({ "jsonrpc": "2.0", "id": id, "method": "wire.show", "params": { "wire": "cu-awg30-single" } });
        let reply = shop.post(body.to_string()).json();
        assert_eq!(reply["id"], id);
        assert_eq!(reply["result"]["wire"], "cu-awg30-single");
    }
    // Numbers that are not taken as ids must not pass for notifications either: the caller waits.
    for id in ["-1", "1.5", "1e3", "18446744073709551616"] {
        let reply = shop.post(format!(r#"{{"jsonrpc":"2.0","id":{id},"method":"shop.status"}}"#));
        assert_eq!(reply.status, 200, "{id}: {}", reply.body);
        let envelope = reply.json();
        assert!(!envelope["result"].is_null() || envelope["error"]["code"] == -32600, "{id}: {envelope}");
    }
    shop.goes_on();
}

#[test]
fn an_unknown_method_is_answered_with_the_nearest() {
    let shop = Shop::open();
    no_methods(&shop);
    shop.goes_on();
}

fn no_methods(shop: &Shop) {
    for (method, near) in
        [("coil.desing", "`coil.design`"), ("wire.lst", "`wire.list`"), ("zzz", "rpc.discover"), ("", "rpc.discover")]
    {
        let error = shop.error(method, &json!({}));
        let says = &["no method"];
        is(&error, &Wanted { code: -32601, kind: WRONG, pointer: None, says, next: &[near, "rpc.discover"] });
    }
}

#[test]
fn params_by_position_are_refused() {
    let shop = Shop::open();
    by_position(&shop);
    shop.goes_on();
}

fn by_position(shop: &Shop) {
    for (method, params) in [
        ("wire.show", json!(["cu-awg30-single"])),
        ("coil.design", json!([sample()])),
        ("shop.status", json!([])),
        ("rpc.discover", json!([1])),
    ] {
        let error = shop.error(method, &params);
        is(&error, &Wanted { code: -32602, kind: WRONG, pointer: Some(""), says: &["by name"], next: &["name"] });
    }
}

#[test]
fn a_body_of_notifications_only_is_204_and_empty() {
    let shop = Shop::open();
    notifications(&shop);
    shop.goes_on();
}

fn notifications(shop: &Shop) {
    let reading = json!({ "jsonrpc": "2.0", "method": "shop.status" });
    let unknown = json!({ "jsonrpc": "2.0", "method": "no.such" });
    for body in [reading.clone(), unknown.clone(), json!([reading]), json!([reading, unknown, reading])] {
        let reply = shop.post(body.to_string());
        assert_eq!((reply.status, reply.body.as_str()), (204, ""), "{body}: {}", reply.head);
    }
}

#[test]
fn a_batch_answers_each_call_and_each_fault_by_its_id() {
    let shop = Shop::open();
    mixed_batch(&shop);
    shop.goes_on();
}

fn mixed_batch(shop: &Shop) {
    let batch = json!([
        { "jsonrpc": "2.0", "id": 1, "method": "wire.show", "params": { "wire": "cu-awg30-single" } },
        { "jsonrpc": "2.0", "method": "shop.status" },
        { "jsonrpc": "2.0", "id": "b", "method": "no.such" },
        7,
        { "jsonrpc": "2.0", "id": 3, "method": "wire.show", "params": { "wire": "nope" } },
    ]);
    let reply = shop.post(batch.to_string()).json();
    let answers = reply.as_array().unwrap_or_else(|| panic!("a list: {reply}"));
    let of = |id: Value| answers.iter().find(|a| a["id"] == id).unwrap_or_else(|| panic!("no {id} in {reply}"));
    assert_eq!(answers.len(), 4, "{reply}");
    assert_eq!(of(json!(1))["result"]["wire"], "cu-awg30-single");
    assert_eq!(of(json!("b"))["error"]["code"], -32601);
    assert_eq!(of(json!(3))["error"]["code"], 1101);
    is(&of(Value::Null)["error"], &Wanted { code: -32600, kind: WRONG, pointer: None, says: &[], next: &["JSON-RPC"] });
}

#[test]
fn a_member_that_stands_twice_is_refused() {
    let shop = Shop::open();
    named_twice(&shop);
    shop.goes_on();
}

fn named_twice(shop: &Shop) {
    for (params, pointer, name) in [
        (r#"{"wire":"a","wire":"b"}"#, "", "`wire`"),
        (r#"{"wire":{"conductor":"copper","bare_mm":0.2,"bare_mm":0.3,"overall_mm":0.4}}"#, "/wire", "`bare_mm`"),
        (
            r#"{"wire":"cu-awg30-single","former":{"material":"aluminium-foil","wall_mm":{"value":1,"value":2,"u":0}}}"#,
            "/former/wall_mm",
            "`value`",
        ),
    ] {
        let reply = shop.post(format!(r#"{{"jsonrpc":"2.0","id":1,"method":"coil.design","params":{params}}}"#));
        let says = &[name, "twice"][..];
        is(
            &reply.json()["error"],
            &Wanted { code: -32602, kind: WRONG, pointer: Some(pointer), says, next: &["keep"] },
        );
    }
}

#[test]
fn json_nested_without_end_is_refused_without_a_crash() {
    let shop = Shop::open();
    deep(&shop);
    shop.goes_on();
}

fn deep(shop: &Shop) {
    // Below, at and above the 128 levels at which a JSON parser commonly gives up.
    for levels in [100, 127, 128, 129, 1000, 100_000] {
        for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
            let nested = format!("{}1{}", open.repeat(levels), close.repeat(levels));
            let reply =
                shop.post(format!(r#"{{"jsonrpc":"2.0","id":1,"method":"coil.design","params":{{"wire":{nested}}}}}"#));
            assert!([200, 400].contains(&reply.status), "{levels}: {}", reply.status);
            let error = reply.json()["error"].take();
            assert!([-32602, -32700].contains(&error["code"].as_i64().unwrap()), "{levels}: {error}");
            // As the whole body, too.
            let reply = shop.post(nested);
            assert!([200, 400].contains(&reply.status), "{levels}: {}", reply.status);
            assert!(reply.body.contains("\"error\""), "{levels}: {}", reply.body);
        }
    }
}

#[test]
fn other_verbs_and_content_types_are_refused_before_the_body_is_read() {
    let shop = Shop::open();
    wrong_verbs_and_types(&shop);
    shop.goes_on();
}

fn wrong_verbs_and_types(shop: &Shop) {
    let call = br#"{"jsonrpc":"2.0","id":1,"method":"shop.status"}"#;
    for verb in ["GET", "PUT", "DELETE", "OPTIONS", "PATCH"] {
        let reply = shop.request(verb, "/rpc", &[], b"");
        assert_eq!(reply.status, 405, "{verb}");
        assert!(reply.head.to_ascii_lowercase().contains("allow: post"), "{verb}: {}", reply.head);
        assert!(reply.body.contains("POST") && reply.body.contains("WebSocket"), "{}", reply.body);
    }
    for kind in ["text/plain", "application/jsonx", "application/x-www-form-urlencoded", "", "multipart/form-data"] {
        let reply = shop.request("POST", "/rpc", &[("Content-Type", kind)], call);
        assert_eq!(reply.status, 415, "{kind}");
        assert!(reply.body.contains("application/json"), "{}", reply.body);
    }
    assert_eq!(shop.request("POST", "/rpc", &[], call).status, 415, "no content type");
    for kind in ["application/json", "application/json; charset=utf-8", "Application/JSON"] {
        assert_eq!(shop.request("POST", "/rpc", &[("Content-Type", kind)], call).status, 200, "{kind}");
    }
    let reply = shop.request("GET", "/nowhere", &[], b"");
    assert_eq!(reply.status, 404);
    assert!(reply.body.contains("/rpc"), "{}", reply.body);
}
