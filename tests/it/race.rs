//! Sixteen at once: for the same metres, and against a daemon that is killed under them again and again.
//!
//! `KILLS=100 cargo test --test it -- race` kills a hundred times; without it 25 times, to keep the whole short.

use crate::shop::{Shop, with};
use crate::stock::{head, job, part_used, received, text, value};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

const CLIENTS: usize = 16;

/// A connection that stays open, as a tablet's does.
struct Line {
    stream: BufReader<TcpStream>,
    head: String,
}

impl Line {
    fn to(address: &str, token: &str) -> io::Result<Line> {
        let stream = TcpStream::connect(address)?;
        stream.set_read_timeout(Some(Duration::from_secs(60)))?;
        stream.set_nodelay(true)?;
        let head = format!(
            "POST /rpc HTTP/1.1\r\nHost: {address}\r\nContent-Type: application/json\r\nAuthorization: Bearer {token}\r\n"
        );
        Ok(Line { stream: BufReader::new(stream), head })
    }

    /// The envelope of a call; an error if the daemon went before it answered.
    fn call(&mut self, method: &str, params: &Value) -> io::Result<Value> {
        let body = json!({ "jsonrpc": "2.0", "id": 1, "method": method, "params": params }).to_string();
        let request = format!("{}Content-Length: {}\r\n\r\n{body}", self.head, body.len());
        self.stream.get_mut().write_all(request.as_bytes())?;
        let mut length = 0;
        loop {
            let mut line = String::new();
            if self.stream.read_line(&mut line)? == 0 {
                return Err(io::ErrorKind::UnexpectedEof.into());
            }
            let line = line.trim_end().to_ascii_lowercase();
            if let Some(n) = line.strip_prefix("content-length:") {
                length = n.trim().parse().map_err(io::Error::other)?;
            }
            if line.is_empty() {
                break;
            }
        }
        let mut body = vec![0; length];
        self.stream.read_exact(&mut body)?;
        serde_json::from_slice(&body).map_err(io::Error::other)
    }
}

#[test]
fn sixteen_racing_for_the_same_metres_never_win_more_than_was_there() {
    let shop = Shop::open();
    let spool = received(&shop, &part_used(180.0));
    let show = || shop.answer("spool.show", &json!({ "spool": spool }));
    let free = value(&show(), "/free_m");
    let token = shop.token();
    // Each wants other lengths, so that the last metres go to whoever still fits.
    let won: Vec<(String, f64)> = std::thread::scope(|scope| {
        let clients: Vec<_> = (0..CLIENTS)
            .map(|client| {
                let (spool, token, address) = (&spool, &token, shop.address());
                scope.spawn(move || {
                    let mut line = Line::to(address, token).unwrap();
                    let mut won = Vec::new();
                    let mut wish = 5.0 + client as f64 * 0.37;
                    while wish > 0.05 {
                        let mut reply = line.call("spool.hold", &json!({ "spool": spool, "hold_m": wish })).unwrap();
                        if reply["error"].is_null() {
                            won.push((text(&reply["result"], "hold"), wish));
                        } else {
                            let error = reply["error"].take();
                            assert_eq!(
                                (&error["code"], &error["data"]["reason"]),
                                (&json!(1100), &json!("not_free")),
                                "{error}"
                            );
                            wish /= 2.0;
                        }
                    }
                    won
                })
            })
            .collect();
        clients.into_iter().flat_map(|c| c.join().unwrap()).collect()
    });
    let sum: f64 = won.iter().map(|w| w.1).sum();
    assert!(sum <= free + 1e-9, "{sum} m were promised of {free} m");
    assert!(sum > free - 0.2, "{sum} m of {free} m: what is free is given out to the last");
    let after = show();
    assert!((value(&after, "/held_m") - sum).abs() < 1e-9);
    let held: BTreeMap<String, f64> =
        after["holds"].as_array().unwrap().iter().map(|h| (text(h, "hold"), value(h, "/hold_m"))).collect();
    assert_eq!(held, won.into_iter().collect(), "each win is one promise, each promise one win");
}

#[test]
fn sixteen_racing_to_start_one_coil_start_it_once() {
    let shop = Shop::open();
    let spools: Vec<String> = (0..CLIENTS).map(|_| received(&shop, &part_used(180.0))).collect();
    shop.done("job.open", &job(1));
    let token = shop.token();
    let started: usize = std::thread::scope(|scope| {
        let clients: Vec<_> = spools
            .iter()
            .map(|spool| {
                let (token, address) = (&token, shop.address());
                scope.spawn(move || {
                    let mut line = Line::to(address, token).unwrap();
                    let reply = line.call("job.start", &json!({ "job": "j-1", "spool": spool })).unwrap();
                    usize::from(reply["error"].is_null())
                })
            })
            .collect();
        clients.into_iter().map(|c| c.join().unwrap()).sum()
    });
    assert_eq!(started, 1);
    let shown = shop.answer("job.show", &json!({ "job": "j-1" }));
    assert_eq!((shown["works"].as_array().unwrap().len(), shown["holds"].as_array().unwrap().len()), (1, 1), "{shown}");
}

/// A request with its key, and its answer if there was one.
struct Asked {
    key: String,
    method: &'static str,
    params: Value,
    answer: Option<Value>,
}

/// One client: receives spools of its own, weighs, promises, gives back, opens and cancels jobs, until the daemon goes.
fn write_on(address: &str, token: &str, name: &str) -> Vec<Asked> {
    let mut asked: Vec<Asked> = Vec::new();
    let Ok(mut line) = Line::to(address, token) else { return asked };
    let mut ask = |method: &'static str, params: Value| -> Option<Value> {
        let key = format!("{name}-{}", asked.len());
        let params = with(params, "/idempotency_key", json!(key));
        let reply = line.call(method, &params);
        let answer = reply.ok().map(|mut envelope| {
            assert!(envelope["error"].is_null(), "{method} {params}: {}", envelope["error"]);
            envelope["result"].take()
        });
        asked.push(Asked { key, method, params, answer: answer.clone() });
        answer
    };
    let mut round = || -> Option<()> {
        let spool = ask("spool.receive", part_used(180.0))?["spool"].take();
        let mut gross = 180.0;
        for _ in 0..3 {
            gross -= 0.01;
            ask("spool.weigh", json!({ "spool": spool, "gross_g": gross, "scale_u_g": 0.06 }))?;
            let hold = ask("spool.hold", json!({ "spool": spool, "hold_m": 20.5 }))?["hold"].take();
            ask("spool.release", json!({ "spool": spool, "hold": hold }))?;
        }
        let job = ask("job.open", job(1))?["job"].take();
        ask("job.cancel", json!({ "job": job, "reason": "a rehearsal" }))?;
        ask("spool.retire", json!({ "spool": spool, "empty": false, "reason": "a rehearsal" }))?;
        Some(())
    };
    while round().is_some() {}
    asked
}

/// All entries after `after` by their key, each checked to stand in sequence; and the last sequence.
fn entries(shop: &Shop, after: u64) -> (BTreeMap<String, Value>, u64) {
    let (mut found, mut last) = (BTreeMap::new(), after);
    loop {
        let page = shop.answer("journal.read", &json!({ "after": last, "limit": 1000 }));
        for entry in page["items"].as_array().unwrap() {
            last += 1;
            assert_eq!(entry["seq"], last);
            let twice = found.insert(text(entry, "key"), entry["answer"].clone());
            assert!(twice.is_none(), "the key of entry {last} stands twice");
        }
        if page["next_cursor"].is_null() {
            return (found, last);
        }
    }
}

#[test]
fn killed_again_and_again_under_sixteen_writers_it_forgets_nothing() {
    let kills: u64 = std::env::var("KILLS").ok().map_or(25, |k| k.parse().expect("KILLS is a number"));
    let mut shop = Shop::open();
    let token = shop.token();
    let mut uptimes = Seeded(0x5EED_2026);
    eprintln!("{kills} kills, seed {:#x}", uptimes.0);
    let mut all: BTreeMap<String, Value> = BTreeMap::new();
    let (mut acknowledged, mut unanswered, mut kept, mut reindexed, mut last) = (0, 0, 0, 0, 0);
    let mut slowest = Duration::ZERO;
    for kill in 1..=kills {
        let uptime = Duration::from_millis(40 + uptimes.next() % 260);
        let address = shop.address().to_owned();
        let asked: Vec<Asked> = std::thread::scope(|scope| {
            let clients: Vec<_> = (0..CLIENTS)
                .map(|client| {
                    let (address, token) = (&address, &token);
                    scope.spawn(move || write_on(address, token, &format!("{kill}-{client}")))
                })
                .collect();
            std::thread::sleep(uptime);
            let began = Instant::now();
            shop.killed_and_opened(|folder| {
                if kill % 10 == 0 {
                    std::fs::remove_dir_all(folder.join("index")).expect("an index");
                    reindexed += 1;
                }
            });
            slowest = slowest.max(began.elapsed());
            clients.into_iter().flat_map(|c| c.join().unwrap()).collect()
        });

        // What was acknowledged is there, once, with the answer that was given. What was not may be.
        let (new, now_last) = entries(&shop, last);
        last = now_last;
        for a in &asked {
            match (&a.answer, new.get(&a.key)) {
                (Some(answer), Some(entry)) => assert_eq!(answer, entry, "kill {kill}: {} {}", a.method, a.params),
                (Some(_), None) => panic!("kill {kill}: {} {} was acknowledged and is gone", a.method, a.params),
                (None, Some(_)) => kept += 1,
                (None, None) => {}
            }
        }
        let keys: std::collections::BTreeSet<&str> = asked.iter().map(|a| a.key.as_str()).collect();
        assert!(new.keys().all(|k| keys.contains(k.as_str())), "nothing is there that nobody asked for");
        acknowledged += asked.iter().filter(|a| a.answer.is_some()).count();
        unanswered += asked.iter().filter(|a| a.answer.is_none()).count();

        // The same key gets the same answer: every one that went unanswered, and some of the others.
        let mut line = Line::to(shop.address(), &token).unwrap();
        let again: Vec<&Asked> =
            asked.iter().enumerate().filter(|(i, a)| a.answer.is_none() || i % 23 == 0).map(|(_, a)| a).collect();
        for a in again {
            let mut reply = line.call(a.method, &a.params).unwrap();
            if let Some(first) = a.answer.as_ref().or(new.get(&a.key)) {
                assert_eq!(&reply["result"].take(), first, "kill {kill}: {} {}", a.method, a.params);
            } else {
                assert!(reply["error"].is_null(), "kill {kill}: {} {}: {}", a.method, a.params, reply["error"]);
            }
        }
        let (late, now_last) = entries(&shop, last);
        last = now_last;
        all.extend(new);
        all.extend(late);
        let verified = shop.answer("journal.verify", &json!({}));
        assert_eq!((&verified["ok"], &verified["head"]), (&json!(true), &json!(last)), "kill {kill}: {verified}");
    }

    // A last kill with nobody writing, the index gone: all answers are the same, and so is the whole journal.
    let before = everything_of_a_few(&shop);
    shop.killed_and_opened(|folder| std::fs::remove_dir_all(folder.join("index")).expect("an index"));
    assert_eq!(everything_of_a_few(&shop), before);
    let (whole, end) = entries(&shop, 0);
    assert_eq!((whole.len() as u64, end), (last, head(&shop)));
    assert_eq!(whole, all, "every entry of every run, once, with its answer");
    eprintln!(
        "{kills} kills: {acknowledged} acknowledged, all there once; {unanswered} unanswered, of which {kept} were kept; \
         {reindexed} times without an index; slowest from kill to first answer {slowest:?}"
    );
    assert!(acknowledged as u64 > kills * CLIENTS as u64, "the clients got to write: {acknowledged}");
}

/// All lists, and a few spools and jobs: the shop has too many to ask for each.
fn everything_of_a_few(shop: &Shop) -> Vec<Value> {
    let mut all = Vec::new();
    for method in ["spool.list", "job.list"] {
        let mut params = json!({ "retired": true, "ended": true, "limit": 1000 });
        params.as_object_mut().unwrap().remove(if method == "job.list" { "retired" } else { "ended" });
        loop {
            let page = shop.answer(method, &params);
            params["cursor"] = page["next_cursor"].clone();
            let end = params["cursor"].is_null();
            all.push(page);
            if end {
                break;
            }
        }
    }
    for id in [1, 2, 5, 17] {
        all.push(shop.call("spool.show", &json!({ "spool": format!("s-{id}") })));
        all.push(shop.call("job.show", &json!({ "job": format!("j-{id}") })));
    }
    all.push(shop.answer("shop.status", &json!({}))["journal"].take());
    all
}

/// Uptimes by a seed: Marsaglia's xorshift.
struct Seeded(u64);

impl Seeded {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}
