//! The same calls over a WebSocket.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};
use std::net::TcpStream;
use tungstenite::client::IntoClientRequest;
use tungstenite::{Error, Message, WebSocket};

fn open(shop: &Shop) -> WebSocket<TcpStream> {
    let url = format!("ws://{}/rpc", shop.address());
    tungstenite::client(url, shop.connect()).expect("a WebSocket").0
}

fn ask(socket: &mut WebSocket<TcpStream>, request: &Value) -> Value {
    socket.send(Message::text(request.to_string())).expect("sent");
    loop {
        if let Message::Text(text) = socket.read().expect("an answer") {
            return serde_json::from_str(&text).expect("JSON");
        }
    }
}

fn call(id: u32, method: &str, params: Value) -> Value {
    json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params })
}

#[test]
fn a_call_is_answered_as_over_http() {
    let shop = Shop::open();
    let mut socket = open(&shop);
    let answer = ask(&mut socket, &call(7, "coil.design", sample()));
    assert_eq!(answer["id"], 7);
    assert_eq!(answer["result"], shop.answer("coil.design", &sample()));
    let answer =
        ask(&mut socket, &call(8, "coil.design", json!({ "wire": { "conductor": "copper", "bare_mn": 0.2 } })));
    assert_eq!(answer["error"]["data"]["pointer"], "/wire/bare_mn");
}

#[test]
fn a_batch_is_answered_and_a_large_one_refused() {
    let shop = Shop::open();
    let mut socket = open(&shop);
    let show = |id| call(id, "wire.show", json!({ "wire": "cu-awg30-single" }));
    let answers = ask(&mut socket, &json!([show(1), call(2, "no.such", json!({})), show(3)]));
    let codes: Vec<&Value> = answers.as_array().unwrap().iter().map(|a| &a["error"]["code"]).collect();
    assert_eq!(codes, [&Value::Null, &json!(-32601), &Value::Null], "{answers}");
    let refused = ask(&mut socket, &Value::Array((0..10_000).map(|id| call(id, "shop.status", json!({}))).collect()));
    assert_eq!(refused["error"]["code"], 1200, "{refused}");
    assert_eq!(ask(&mut socket, &show(4))["id"], 4, "the socket goes on");
    shop.goes_on();
}

#[test]
fn a_notification_is_not_answered() {
    let shop = Shop::open();
    let mut socket = open(&shop);
    socket.send(Message::text(r#"{"jsonrpc":"2.0","method":"shop.status"}"#)).unwrap();
    let answer = ask(&mut socket, &call(1, "wire.show", json!({ "wire": "cu-awg30-single" })));
    assert_eq!(answer["id"], 1, "the first answer is that of the call: {answer}");
}

#[test]
fn what_is_no_json_is_told_so_and_the_socket_goes_on() {
    let shop = Shop::open();
    let mut socket = open(&shop);
    socket.send(Message::text("hello")).unwrap();
    let Message::Text(text) = socket.read().unwrap() else { panic!("no text") };
    let answer: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(answer["error"]["code"], -32700, "{answer}");
    assert_eq!(ask(&mut socket, &call(2, "wire.show", json!({ "wire": "cu-awg30-single" })))["id"], 2);
}

#[test]
fn pages_of_other_origins_get_no_socket() {
    let shop = Shop::open();
    for origin in ["http://evil.example", "null", &format!("http://{}.evil.example", shop.address())] {
        let mut request = format!("ws://{}/rpc", shop.address()).into_client_request().unwrap();
        request.headers_mut().insert("Origin", origin.parse().unwrap());
        match tungstenite::client(request, shop.connect()) {
            Err(tungstenite::HandshakeError::Failure(Error::Http(reply))) => {
                assert_eq!(reply.status(), 403, "{origin}")
            }
            other => panic!("{origin}: {other:?}"),
        }
    }
    let mut own = format!("ws://{}/rpc", shop.address()).into_client_request().unwrap();
    own.headers_mut().insert("Origin", shop.url().parse().unwrap());
    assert!(tungstenite::client(own, shop.connect()).is_ok());
}

#[test]
fn ten_megabytes_over_a_socket_do_not_harm_the_daemon() {
    let shop = Shop::open();
    let mut socket = open(&shop);
    // The daemon may answer, close, or break off while it is sent.
    let _ = socket.send(Message::text("a".repeat(10_000_000)));
    if let Ok(Message::Text(text)) = socket.read() {
        let answer: Value = serde_json::from_str(&text).unwrap();
        assert!(answer["error"].is_object(), "{answer}");
    }
    shop.goes_on();
}
