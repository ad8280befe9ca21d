//! Requests from where none should come: Host and Origin are compared on every route, before anything else.

use crate::shop::Shop;

const ROUTES: [(&str, &str); 5] =
    [("POST", "/rpc"), ("GET", "/rpc"), ("GET", "/healthz"), ("GET", "/nowhere"), ("GET", "/rpc/../healthz?x=1")];

const CALL: &[u8] = br#"{"jsonrpc":"2.0","id":1,"method":"shop.status"}"#;

pub fn all(shop: &Shop) {
    foreign_hosts(shop);
    foreign_origins(shop);
}

#[track_caller]
fn turned_away(shop: &Shop, headers: &[(&str, &str)], status: u16, says: &str) {
    for (verb, route) in ROUTES {
        let mut all = vec![("Content-Type", "application/json")];
        all.extend(headers);
        let reply = shop.request(verb, route, &all, CALL);
        assert_eq!(reply.status, status, "{verb} {route} {headers:?}: {}", reply.body);
        assert!(reply.body.contains(says), "{}", reply.body);
        assert!(!reply.body.contains("health"), "nothing is told: {}", reply.body);
        assert!(!reply.head.to_ascii_lowercase().contains("access-control"), "{}", reply.head);
    }
}

#[test]
fn a_foreign_host_is_turned_away_from_every_route() {
    let shop = Shop::open();
    foreign_hosts(&shop);
    shop.goes_on();
}

fn foreign_hosts(shop: &Shop) {
    let address = shop.address().to_owned();
    let port = address.rsplit(':').next().unwrap();
    for host in [
        "evil.example".to_owned(),
        format!("evil.example:{port}"),
        // Ours as a prefix, as a suffix, as a user, and without or with another port.
        format!("{address}.evil.example"),
        format!("127.0.0.1.evil.example:{port}"),
        format!("evil.example.127.0.0.1:{port}"),
        format!("127.0.0.1@evil.example:{port}"),
        format!("evil@{address}"),
        "127.0.0.1".to_owned(),
        format!("{address}0"),
        format!("0x7f000001:{port}"),
        format!("127.1:{port}"),
        String::new(),
        "://".to_owned(),
    ] {
        turned_away(shop, &[("Host", &host)], 421, "server.names");
    }
    for host in [&address, &format!("localhost:{port}"), &format!("LocalHost:{port}"), &format!("[::1]:{port}")] {
        let reply = shop.request("GET", "/healthz", &[("Host", host)], b"");
        assert_eq!(reply.status, 200, "{host}: {}", reply.body);
    }
}

#[test]
fn a_foreign_origin_is_turned_away_from_every_route() {
    let shop = Shop::open();
    foreign_origins(&shop);
    shop.goes_on();
}

fn foreign_origins(shop: &Shop) {
    let address = shop.address().to_owned();
    let port = address.rsplit(':').next().unwrap();
    for origin in [
        "http://evil.example".to_owned(),
        format!("http://evil.example:{port}"),
        format!("http://{address}.evil.example"),
        format!("http://127.0.0.1.evil.example:{port}"),
        format!("http://localhost.evil.example:{port}"),
        format!("http://{address}0"),
        format!("http://{address}@evil.example"),
        format!("http://evil.example@{address}"),
        format!("https://{address}"),
        "http://127.0.0.1".to_owned(),
        "http://localhost".to_owned(),
        "null".to_owned(),
        "file://".to_owned(),
        String::new(),
        address.clone(),
    ] {
        turned_away(shop, &[("Origin", &origin)], 403, "origin");
    }
    for origin in [format!("http://{address}"), format!("http://localhost:{port}")] {
        let headers = [("Content-Type", "application/json"), ("Origin", &origin)];
        assert_eq!(shop.request("POST", "/rpc", &headers, CALL).status, 200, "{origin}");
    }
}

#[test]
fn a_header_that_stands_twice_is_turned_away() {
    let shop = Shop::open();
    let own = format!("http://{}", shop.address());
    turned_away(&shop, &[("Host", shop.address()), ("Host", "evil.example")], 421, "server.names");
    turned_away(&shop, &[("Origin", &own), ("Origin", "http://evil.example")], 403, "origin");
    shop.goes_on();
}

#[test]
fn names_of_the_settings_are_let_in_and_only_those() {
    let shop = Shop::with(&[], &[("COILWRIGHT__SERVER__NAMES", "bench.local,shop.local:8080")]);
    let port = shop.address().rsplit(':').next().unwrap().to_owned();
    let healthy = |host: &str| shop.request("GET", "/healthz", &[("Host", host)], b"").status;
    assert_eq!(healthy(&format!("bench.local:{port}")), 200);
    assert_eq!(healthy("shop.local:8080"), 200);
    assert_eq!(healthy("bench.local:8080"), 421);
    assert_eq!(healthy(&format!("shop.local:{port}")), 421);
    assert_eq!(healthy(&format!("xbench.local:{port}")), 421);
}
