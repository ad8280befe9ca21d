//! Who may knock: Host and Origin of every request, compared as what they are, for equality.
//!
//! A page from elsewhere in the user's browser can reach a loopback port. It cannot forge Host or Origin.

use axum::extract::{Request, State};
use axum::http::uri::{Authority, Uri};
use axum::http::{HeaderMap, HeaderName, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::sync::Arc;

/// The authorities (host and port) that a request may be meant for.
#[derive(Debug, Clone)]
pub struct Names(Arc<BTreeSet<(String, u16)>>);

impl Names {
    /// The daemon's own address, its loopback names, and those that the settings add.
    pub fn new(address: SocketAddr, more: &[String]) -> Names {
        let port = address.port();
        let own = [address.ip().to_string(), "localhost".into(), "127.0.0.1".into(), "::1".into()];
        let mut names: BTreeSet<(String, u16)> = own.into_iter().map(|host| (host, port)).collect();
        for name in more {
            names.extend(name.parse::<Authority>().ok().map(|a| host_and_port(&a, port)));
        }
        Names(Arc::new(names))
    }

    fn holds(&self, authority: &Authority) -> bool {
        // A Host without a port means the scheme's own.
        self.0.contains(&host_and_port(authority, 80))
    }
}

fn host_and_port(a: &Authority, default: u16) -> (String, u16) {
    let host = a.host().trim_start_matches('[').trim_end_matches(']').to_ascii_lowercase();
    (host, a.port_u16().unwrap_or(default))
}

/// Lets a request through if its Host is one of ours and its Origin, if it has one, is too.
pub async fn guard(State(names): State<Names>, request: Request, next: Next) -> Response {
    match refusal(&names, request.headers(), request.uri()) {
        Some((status, why)) => {
            tracing::warn!(%status, why, "a request was turned away at the door");
            (status, format!("{why}\n")).into_response()
        }
        None => next.run(request).await,
    }
}

fn refusal(names: &Names, headers: &HeaderMap, uri: &Uri) -> Option<(StatusCode, &'static str)> {
    let host = match (single(headers, header::HOST), uri.authority()) {
        (Ok(Some(text)), _) => text.parse::<Authority>().ok().filter(|a| !a.as_str().contains('@')),
        (Ok(None), Some(a)) => Some(a.clone()),
        _ => None,
    };
    if !host.is_some_and(|a| names.holds(&a)) {
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            "this daemon does not go by that Host; names are added under `server.names` in its settings",
        ));
    }
    match single(headers, header::ORIGIN) {
        Ok(None) => None,
        Ok(Some(text)) if same_origin(names, text) => None,
        _ => Some((StatusCode::FORBIDDEN, "requests from pages of other origins are not taken")),
    }
}

fn same_origin(names: &Names, text: &str) -> bool {
    let Ok(uri) = text.parse::<Uri>() else { return false };
    let bare = uri.query().is_none() && matches!(uri.path(), "" | "/") && !text.ends_with('/');
    uri.scheme_str() == Some("http")
        && bare
        && uri.authority().is_some_and(|a| !a.as_str().contains('@') && names.holds(a))
}

/// The header's one value; an error if it stands more than once or is no text.
fn single(headers: &HeaderMap, name: HeaderName) -> Result<Option<&str>, ()> {
    let mut all = headers.get_all(name).iter();
    match (all.next(), all.next()) {
        (None, _) => Ok(None),
        (Some(value), None) => value.to_str().map(Some).map_err(|_| ()),
        (Some(_), Some(_)) => Err(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    fn turned_away(host: &str, origin: Option<&str>) -> Option<u16> {
        let names = Names::new("127.0.0.1:7348".parse().unwrap(), &["bench.local:7348".into()]);
        let mut headers = HeaderMap::new();
        headers.insert(header::HOST, HeaderValue::from_str(host).unwrap());
        if let Some(o) = origin {
            headers.insert(header::ORIGIN, HeaderValue::from_str(o).unwrap());
        }
        refusal(&names, &headers, &Uri::from_static("/rpc")).map(|(status, _)| status.as_u16())
    }

    #[test]
    fn own_names_pass_and_others_do_not() {
        for host in ["127.0.0.1:7348", "localhost:7348", "LOCALHOST:7348", "[::1]:7348", "bench.local:7348"] {
            assert_eq!(turned_away(host, None), None, "{host}");
        }
        for host in
            ["127.0.0.1", "localhost:7349", "evil.example:7348", "127.0.0.1.evil.example:7348", "a@localhost:7348", ""]
        {
            assert_eq!(turned_away(host, None), Some(421), "{host}");
        }
    }

    #[test]
    fn an_origin_must_be_ours_in_scheme_host_and_port() {
        assert_eq!(turned_away("localhost:7348", Some("http://127.0.0.1:7348")), None);
        for origin in [
            "http://127.0.0.1.evil.example",
            "http://127.0.0.1.evil.example:7348",
            "http://127.0.0.1:73480",
            "https://127.0.0.1:7348",
            "http://127.0.0.1",
            "null",
            "http://evil.example@127.0.0.1:7348",
            "http://127.0.0.1:7348/",
            "file://",
        ] {
            assert_eq!(turned_away("localhost:7348", Some(origin)), Some(403), "{origin}");
        }
    }
}
