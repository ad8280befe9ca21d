//! Whether a body is a request at all: looked at before it is run, so that the refusal has the shop's form.
//!
//! jsonrpsee takes a call whose id it cannot carry (`1.5`, `{}`, twice) for a notification: its sender would wait in vain.

use coilwright_proto::error::{ErrorKind, RpcError, code};
use http::StatusCode;
use serde::Deserialize;
use serde_json::value::RawValue;

/// What a request consists of, by the specification.
#[derive(Deserialize)]
struct Head<'a> {
    jsonrpc: &'a str,
    #[serde(borrow)]
    method: &'a RawValue,
    #[serde(borrow, default)]
    id: Option<&'a RawValue>,
}

/// What keeps `body` from being run as a request or a batch, and with which status that is answered. Entries of a batch
/// are left to the batch, but for ids that could not be answered.
pub fn fault(body: &[u8]) -> Option<(StatusCode, RpcError)> {
    let whole = match std::str::from_utf8(body)
        .map_err(|e| e.to_string())
        .and_then(|text| serde_json::from_str::<&RawValue>(text).map_err(|e| e.to_string()))
    {
        Ok(whole) => whole.get(),
        Err(why) => return Some((StatusCode::BAD_REQUEST, not_json(&why))),
    };
    match whole.as_bytes().first() {
        Some(b'{') => head_fault(whole).map(|e| (StatusCode::OK, e)),
        Some(b'[') => {
            let entries: Vec<&RawValue> = serde_json::from_str(whole).unwrap_or_default();
            if entries.is_empty() {
                return Some((StatusCode::OK, no_request("an empty batch")));
            }
            entries.iter().find_map(|e| id_fault(e.get())).map(|e| (StatusCode::OK, e))
        }
        _ => Some((StatusCode::BAD_REQUEST, not_json("neither an object nor a list"))),
    }
}

/// What is wrong with one request.
fn head_fault(text: &str) -> Option<RpcError> {
    match serde_json::from_str::<Head>(text) {
        Err(e) => Some(no_request(e.to_string().split(" at line ").next().unwrap_or_default())),
        Ok(h) if h.jsonrpc != "2.0" => Some(no_request("`jsonrpc` must be \"2.0\"")),
        Ok(h) if !h.method.get().starts_with('"') => Some(no_request("`method` must be text")),
        Ok(h) => h.id.filter(|id| !can_be_answered(id.get())).map(|id| unanswerable(id.get())),
    }
}

fn id_fault(entry: &str) -> Option<RpcError> {
    #[derive(Deserialize)]
    struct Id<'a> {
        #[serde(borrow, default)]
        id: Option<&'a RawValue>,
    }
    if !entry.starts_with('{') {
        return None;
    }
    match serde_json::from_str::<Id>(entry) {
        Ok(Id { id }) => id.filter(|id| !can_be_answered(id.get())).map(|id| unanswerable(id.get())),
        Err(e) => Some(no_request(e.to_string().split(" at line ").next().unwrap_or_default())),
    }
}

fn can_be_answered(id: &str) -> bool {
    id.starts_with('"') || id == "null" || id.parse::<u64>().is_ok()
}

fn unanswerable(id: &str) -> RpcError {
    let shown: String = id.chars().take(60).collect();
    no_request(&format!("the id {shown} cannot be answered: text, or a whole number from 0 up, is"))
}

fn no_request(why: &str) -> RpcError {
    RpcError::new(code::INVALID_REQUEST, ErrorKind::WrongRequest, format!("this is no request: {why}"))
        .next("send a JSON-RPC 2.0 request: {\"jsonrpc\": \"2.0\", \"id\": 1, \"method\": …, \"params\": {…}}, or a list of them")
}

fn not_json(why: &str) -> RpcError {
    RpcError::new(code::PARSE, ErrorKind::WrongRequest, format!("the body is no JSON-RPC, or no JSON: {why}"))
        .next("send one JSON-RPC 2.0 request, or a list of them")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(body: &str, wanted: Option<(u16, i32)>) {
        let met = fault(body.as_bytes()).map(|(status, e)| (status.as_u16(), e.code));
        assert_eq!(met, wanted, "{body}");
    }

    #[test]
    fn requests_notifications_and_batches_pass() {
        check(r#"{"jsonrpc":"2.0","id":1,"method":"a","params":{"id":1.5}}"#, None);
        check(r#" {"jsonrpc":"2.0","method":"a"} "#, None);
        check(r#"{"jsonrpc":"2.0","id":null,"method":"\u0061"}"#, None);
        check(r#"[{"jsonrpc":"2.0","id":"x","method":"a"},7]"#, None);
    }

    #[test]
    fn what_could_not_be_answered_is_no_request() {
        for id in ["1.5", "-1", "{}", "[]", "true", "1,\"id\":2"] {
            let call = format!(r#"{{"jsonrpc":"2.0","id":{id},"method":"a"}}"#);
            check(&call, Some((200, -32600)));
            check(&format!("[{call}]"), Some((200, -32600)));
        }
        check("{}", Some((200, -32600)));
        check("[]", Some((200, -32600)));
        check("5", Some((400, -32700)));
        check("{", Some((400, -32700)));
    }
}
