//! The one port: `/rpc` for JSON-RPC by POST and WebSocket, `/healthz` for whoever watches.

use crate::door::{Door, door};
use crate::envelope;
use crate::guard::{Names, guard};
use crate::rpc::CallsLayer;
use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{any, get};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use http_body_util::{BodyExt, Full};
use jsonrpsee::server::{Methods, StopHandle, TowerServiceBuilder};
use serde_json::json;
use std::time::Duration;
use tower::Service;
use tower::layer::util::{Identity, Stack};

/// What the routes share.
#[derive(Clone)]
pub struct Port {
    pub service: TowerServiceBuilder<Stack<CallsLayer, Identity>, Identity>,
    pub stop: StopHandle,
    /// Bytes of a body that are taken.
    pub body_limit: usize,
}

/// How much of a too-large body is read and thrown away, and for how long, so that its sender gets to see the answer.
const DRAIN_BYTES: usize = 32 << 20;
const DRAIN_TIME: Duration = Duration::from_secs(5);
/// How long a sender may take over a body: the bench's tablet may be at the far end of the shop.
const BODY_TIME: Duration = Duration::from_secs(20);

/// All routes, each behind the guard.
pub fn router(port: Port, names: Names, let_in: Door) -> Router {
    Router::new()
        .route("/rpc", any(rpc))
        .layer(from_fn_with_state(let_in, door))
        .route("/healthz", get(healthz))
        .fallback(nothing_here)
        .with_state(port)
        // Last, so that it covers every route above and the fallback.
        .layer(from_fn_with_state(names, guard))
}

async fn healthz() -> Response {
    json_response(StatusCode::OK, json!({ "health": "good" }).to_string())
}

async fn nothing_here() -> Response {
    (StatusCode::NOT_FOUND, "nothing here: JSON-RPC is at POST /rpc, health at /healthz\n").into_response()
}

async fn rpc(State(port): State<Port>, request: Request) -> Response {
    let upgrade = request.headers().contains_key(header::UPGRADE);
    if request.method() != Method::POST && !upgrade {
        let allow = [(header::ALLOW, "POST")];
        return (StatusCode::METHOD_NOT_ALLOWED, allow, "POST a JSON-RPC request here, or open a WebSocket\n")
            .into_response();
    }
    if upgrade {
        return pass(&port, request).await;
    }
    if !is_json(request.headers()) {
        return (StatusCode::UNSUPPORTED_MEDIA_TYPE, "send Content-Type: application/json\n").into_response();
    }
    let (head, body) = request.into_parts();
    let body = match read(body, port.body_limit).await {
        Ok(body) => body,
        Err(Unread::TooLarge) => return too_large(port.body_limit),
        Err(Unread::Broken) => return (StatusCode::BAD_REQUEST, "the body broke off\n").into_response(),
    };
    if let Some((status, e)) = envelope::fault(&body) {
        return json_error(status, &e);
    }
    let answer = pass(&port, Request::from_parts(head, Body::new(Full::new(body)))).await;
    no_content_for_notifications(answer).await
}

/// Hands a request to jsonrpsee. The service is built for each: the connection's id is drawn when it is built.
async fn pass(port: &Port, request: Request) -> Response {
    let mut service = port.service.clone().build(Methods::new(), port.stop.clone());
    match service.call(request).await {
        Ok(answer) => answer.map(Body::new),
        Err(e) => (StatusCode::INTERNAL_SERVER_ERROR, format!("{e}\n")).into_response(),
    }
}

enum Unread {
    TooLarge,
    Broken,
}

/// Reads a body up to `limit` bytes. Of a larger one the rest is drained within bounds: an answer sent while the other
/// side is still sending would be lost with the connection.
async fn read(mut body: Body, limit: usize) -> Result<Bytes, Unread> {
    let mut taken = Vec::new();
    let mut seen = 0usize;
    let mut deadline = tokio::time::Instant::now() + BODY_TIME;
    while let Some(frame) = match tokio::time::timeout_at(deadline, body.frame()).await {
        Ok(frame) => frame,
        Err(_) if seen > limit => None,
        Err(_) => return Err(Unread::Broken),
    } {
        let Ok(data) = frame.map_err(|_| Unread::Broken)?.into_data() else { continue };
        if seen <= limit && seen + data.len() > limit {
            deadline = tokio::time::Instant::now() + DRAIN_TIME;
        }
        seen += data.len();
        if seen <= limit {
            taken.extend_from_slice(&data);
        } else if seen > DRAIN_BYTES {
            break;
        }
    }
    if seen > limit { Err(Unread::TooLarge) } else { Ok(taken.into()) }
}

fn is_json(headers: &HeaderMap) -> bool {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
    kind.split(';').next().is_some_and(|k| k.trim().eq_ignore_ascii_case("application/json"))
}

/// A body of notifications only has nothing to answer: jsonrpsee sends `null`, HTTP has a status for it.
async fn no_content_for_notifications(answer: Response) -> Response {
    let (mut head, body) = answer.into_parts();
    let Ok(body) = body.collect().await.map(|b| b.to_bytes()) else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    if head.status == StatusCode::OK && matches!(&body[..], b"" | b"null") {
        return StatusCode::NO_CONTENT.into_response();
    }
    head.headers.remove(header::CONTENT_LENGTH);
    Response::from_parts(head, Body::from(body))
}

fn too_large(limit: usize) -> Response {
    let e = RpcError::new(code::TOO_MUCH, ErrorKind::WrongRequest, format!("the body is larger than {limit} bytes"))
        .allowed(limit)
        .next("send less at a time");
    let mut answer = json_error(StatusCode::PAYLOAD_TOO_LARGE, &e);
    answer.headers_mut().insert(header::CONNECTION, header::HeaderValue::from_static("close"));
    answer
}

/// An error outside any call, in JSON-RPC's envelope.
pub fn json_error(status: StatusCode, e: &RpcError) -> Response {
    json_response(status, json!({ "jsonrpc": "2.0", "id": null, "error": e }).to_string())
}

fn json_response(status: StatusCode, body: String) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], body).into_response()
}
