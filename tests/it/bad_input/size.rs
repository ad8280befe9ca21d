//! More than is taken: bodies of ten megabytes, batches of ten thousand calls, answers without end.

use super::{Wanted, is};
use crate::shop::{Reply, Shop};
use serde_json::{Value, json};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const WRONG: &str = "wrong_request";
const TEN_MEGABYTES: usize = 10_000_000;

pub fn all(shop: &Shop) {
    too_large(&shop.post(large_body()));
    too_large(&chunked(shop));
    too_many_calls(shop);
    too_large_an_answer(shop);
}

fn large_body() -> String {
    let text = "a".repeat(TEN_MEGABYTES);
    format!(r#"{{"jsonrpc":"2.0","id":1,"method":"wire.show","params":{{"wire":"{text}"}}}}"#)
}

#[track_caller]
fn too_large(reply: &Reply) {
    assert_eq!(reply.status, 413, "{}", reply.head);
    let error = reply.json()["error"].take();
    is(&error, &Wanted { code: 1200, kind: WRONG, pointer: None, says: &["larger than"], next: &["less"] });
    assert_eq!(error["data"]["allowed"], 1 << 20, "{error}");
}

#[test]
fn the_sender_of_ten_megabytes_sees_the_413() {
    let shop = Shop::open();
    too_large(&shop.post(large_body()));
    shop.goes_on();
}

#[test]
fn the_sender_of_ten_megabytes_in_chunks_sees_the_413() {
    let shop = Shop::open();
    too_large(&chunked(&shop));
    shop.goes_on();
}

fn chunked(shop: &Shop) -> Reply {
    let host = shop.address();
    let head = format!(
        "POST /rpc HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
    );
    let chunk = format!("{:x}\r\n{}\r\n", 50_000, "a".repeat(50_000));
    let mut pieces = vec![head.as_bytes()];
    pieces.extend(std::iter::repeat_n(chunk.as_bytes(), TEN_MEGABYTES / 50_000));
    pieces.push(b"0\r\n\r\n");
    shop.raw(&pieces)
}

/// curl asks first (`Expect: 100-continue`) and stops sending when it is answered: the most usual sender.
#[test]
fn curl_sees_the_413_both_ways() {
    let shop = Shop::open();
    if Command::new("curl").arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_err() {
        eprintln!("SKIPPED: curl is not installed; the two tests above send the same bytes");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("large.json");
    std::fs::write(&file, large_body()).unwrap();
    for more in [&[][..], &["-H", "Transfer-Encoding: chunked"], &["-H", "Expect:"]] {
        let out = Command::new("curl")
            .args(["-sS", "-o", "-", "-w", "\n%{http_code}", "-H", "Content-Type: application/json"])
            .args(more)
            .arg("--data-binary")
            .arg(format!("@{}", file.display()))
            .arg(format!("{}/rpc", shop.url()))
            .output()
            .unwrap();
        let text = String::from_utf8_lossy(&out.stdout);
        assert!(out.status.success(), "{more:?}: {}", String::from_utf8_lossy(&out.stderr));
        let (body, status) = text.trim_end().rsplit_once('\n').unwrap();
        assert_eq!(status, "413", "{more:?}");
        assert_eq!(serde_json::from_str::<Value>(body).unwrap()["error"]["code"], 1200, "{more:?}");
    }
    shop.goes_on();
}

#[test]
fn a_body_that_announces_more_than_it_sends_is_given_up() {
    let shop = Shop::open();
    let head = format!(
        "POST /rpc HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n",
        shop.address()
    );
    let began = Instant::now();
    let reply = shop.raw(&[head.as_bytes(), b"{\"jsonrpc\""]);
    assert!((400..500).contains(&reply.status), "{}", reply.head);
    assert!(began.elapsed() < Duration::from_secs(30), "{:?}", began.elapsed());
    shop.goes_on();
}

fn batch(calls: usize, call: impl Fn(usize) -> Value) -> String {
    Value::Array((0..calls).map(call).collect()).to_string()
}

#[test]
fn a_batch_of_ten_thousand_is_refused_as_a_whole() {
    let shop = Shop::open();
    too_many_calls(&shop);
    shop.goes_on();
}

fn too_many_calls(shop: &Shop) {
    let show = |id: usize| json!({ "jsonrpc": "2.0", "id": id, "method": "wire.show", "params": { "wire": "cu-awg30-single" } });
    for calls in [10_000, 101] {
        // A body of many short calls stays below the limit of bytes.
        let reply = shop.post(batch(calls, |id| json!({ "jsonrpc": "2.0", "id": id, "method": "shop.status" })));
        assert_eq!(reply.status, 200, "{}", reply.head);
        let error = reply.json()["error"].take();
        let says = format!("a batch of {calls} calls");
        is(&error, &Wanted { code: 1200, kind: WRONG, pointer: None, says: &[&says], next: &["at most 100"] });
        assert_eq!((&error["data"]["met"], &error["data"]["allowed"]), (&json!(calls), &json!(100)), "{error}");
    }
    let answers = shop.post(batch(100, show)).json();
    assert_eq!(answers.as_array().map(Vec::len), Some(100));
}

#[test]
fn answers_larger_than_is_given_are_refused_in_the_same_form() {
    let shop = Shop::open();
    too_large_an_answer(&shop);
    shop.goes_on();
}

fn too_large_an_answer(shop: &Shop) {
    let all = |id: usize| json!({ "jsonrpc": "2.0", "id": id, "method": "wire.list", "params": { "limit": 1000 } });
    let reply = shop.post(batch(100, all));
    assert_eq!(reply.status, 200);
    let envelope = reply.json();
    is(&envelope["error"], &Wanted { code: 1200, kind: WRONG, pointer: None, says: &["answer"], next: &[] });
}

#[test]
fn a_small_limit_of_the_settings_is_kept() {
    let shop = Shop::with(&[], &[("COILWRIGHT__LIMITS__BATCH_CALLS", "2"), ("COILWRIGHT__LIMITS__BODY_BYTES", "2000")]);
    let status = |id: usize| json!({ "jsonrpc": "2.0", "id": id, "method": "shop.status" });
    assert_eq!(shop.post(batch(2, status)).json().as_array().map(Vec::len), Some(2));
    let error = shop.post(batch(3, status)).json()["error"].take();
    is(&error, &Wanted { code: 1200, kind: WRONG, pointer: None, says: &["3 calls"], next: &["at most 2"] });
    assert_eq!(shop.post(" ".repeat(2001)).status, 413);
    shop.goes_on();
}
