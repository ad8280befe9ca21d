//! Who is let in: the token of a request becomes its caller.

use crate::caller::{Caller, Tokens};
use crate::http::json_error;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use std::net::SocketAddr;

/// What the door goes by.
#[derive(Clone)]
pub struct Door {
    pub tokens: Tokens,
    /// Whether reading on loopback needs a token too.
    pub reading_needs_token: bool,
}

/// Lets a request through with its caller. Without a token it may read, if it comes over loopback.
pub async fn door(
    State(door): State<Door>,
    ConnectInfo(peer): ConnectInfo<SocketAddr>,
    mut request: Request,
    next: Next,
) -> Response {
    match caller(&door, request.headers(), peer) {
        Ok(caller) => {
            request.extensions_mut().insert(caller);
            next.run(request).await
        }
        Err(e) => {
            tracing::warn!(%peer, "a request was turned away: {}", e.data.detail);
            let mut answer = json_error(StatusCode::UNAUTHORIZED, &e);
            answer.headers_mut().insert(header::WWW_AUTHENTICATE, header::HeaderValue::from_static("Bearer"));
            answer
        }
    }
}

fn caller(door: &Door, headers: &HeaderMap, peer: SocketAddr) -> Result<Caller, RpcError> {
    let refused = |detail: &str| {
        Err(RpcError::new(code::UNAUTHORISED, ErrorKind::Refused, detail)
            .next("send `Authorization: Bearer …` with the token in the data folder's file `token`"))
    };
    match headers.get(header::AUTHORIZATION) {
        None if peer.ip().is_loopback() && !door.reading_needs_token => Ok(Caller::unknown()),
        None => refused("this request needs a token, and none was given"),
        Some(value) => {
            let token = value
                .to_str()
                .ok()
                .and_then(|v| v.split_once(' '))
                .filter(|(kind, _)| kind.eq_ignore_ascii_case("Bearer"));
            match token.and_then(|(_, token)| door.tokens.caller(token.trim())) {
                Some(caller) => Ok(caller),
                None => refused("this token is not known here"),
            }
        }
    }
}
