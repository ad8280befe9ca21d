//! A long plan ends when nobody waits for it or the daemon stops, and gives its place back.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::process::Command;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// The daemon ends a plan by itself after this: what ends sooner was ended.
const LONGEST: Duration = Duration::from_secs(30);

/// A shop with far more work than wire, so that a million rounds take long.
fn busy() -> Shop {
    let shop = Shop::open();
    for n in 0..12 {
        let marked = json!({ "value": 61.0 + 7.3 * f64::from(n), "u": 0.4 });
        shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "marked_m": marked }));
    }
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    for n in 0..40 {
        let mut coil = sample();
        coil["winding"]["width_mm"] = json!(8.0 + 0.2 * f64::from(n));
        coil.as_object_mut().expect("params").remove("target");
        let (coils, priority) = (1 + n % 5, 1 + n * 7 % 9);
        let params = json!({ "title": "bass", "coil": coil, "coils": coils, "priority": priority, "before": before });
        shop.done("job.open", &params);
    }
    shop
}

/// A heavy plan on a connection of its own; its answer comes through the channel under `name`.
fn heavy(shop: &Shop, name: usize, told: &std::sync::mpsc::Sender<(usize, Value)>) -> TcpStream {
    let body =
        json!({ "jsonrpc": "2.0", "id": 1, "method": "plan.make", "params": { "rounds": 1_000_000, "proof": "full" } });
    let body = body.to_string();
    let head = format!(
        "POST /rpc HTTP/1.1\r\nContent-Type: application/json\r\nHost: {}\r\nContent-Length: {}\r\n\r\n",
        shop.address(),
        body.len()
    );
    let mut stream = shop.connect();
    stream.set_read_timeout(None).expect("no time limit");
    stream.write_all((head + &body).as_bytes()).expect("the daemon reads");
    let (mut reader, told) = (stream.try_clone().expect("the same connection"), told.clone());
    std::thread::spawn(move || {
        let (mut bytes, mut some) = (Vec::new(), [0; 4096]);
        while let Some(n) = reader.read(&mut some).ok().filter(|n| *n > 0) {
            bytes.extend_from_slice(&some[..n]);
            if let Some(answer) = whole(&bytes) {
                let _ = told.send((name, answer));
                return;
            }
        }
    });
    stream
}

/// The answer, once all of it has come: the connection stays open for more.
fn whole(bytes: &[u8]) -> Option<Value> {
    let text = String::from_utf8_lossy(bytes);
    let (_, body) = text.split_once("\r\n\r\n")?;
    serde_json::from_str(body).ok()
}

/// Two heavy plans at once: one gets the place, the other is told so. Answers the connection of the first, and what it
/// is told at last.
fn one_under_way(shop: &Shop) -> (TcpStream, Receiver<(usize, Value)>) {
    let (told, hear) = channel();
    let mut streams = [0, 1].map(|name| Some(heavy(shop, name, &told)));
    let (refused, answer) = hear.recv().expect("one is refused");
    assert_eq!(answer["error"]["code"], 1201, "of two heavy plans the second is refused: {answer}");
    assert!(answer["error"]["data"]["next_step"].as_str().expect("words").contains("quick"), "{answer}");
    (streams[1 - refused].take().expect("the other one"), hear)
}

/// Whether a full plan (of jobs due long ago: there are none) finds the place free; a quick one is answered at any time.
fn free(shop: &Shop) -> bool {
    let none = |proof: &str| shop.call("plan.make", &json!({ "until_on": "2001-01-01", "proof": proof }));
    assert!(none("quick")["result"].is_object(), "a quick plan needs no place");
    let reply = none("full");
    assert!(reply["result"].is_object() || reply["error"]["code"] == 1201, "{reply}");
    reply["result"].is_object()
}

/// No clock decides what is right here, only whether this run can tell: a machine that slept past the daemon's own limit
/// proves nothing and is asked again.
#[test]
fn a_plan_whose_client_went_away_gives_its_place_back() {
    let shop = busy();
    for _ in 0..3 {
        let began = Instant::now();
        let (waiting, _hear) = one_under_way(&shop);
        waiting.shutdown(Shutdown::Both).expect("the connection is dropped");
        while !free(&shop) {
            std::thread::sleep(Duration::from_millis(20));
        }
        if began.elapsed() < LONGEST {
            return;
        }
    }
    panic!("three times the place came back only after the daemon's own limit");
}

/// Asked to end, the daemon lets the plan under way answer what it has so far.
#[cfg(unix)]
#[test]
fn a_plan_under_way_when_the_daemon_stops_is_answered_as_stopped_early() {
    for _ in 0..3 {
        let mut shop = busy();
        let began = Instant::now();
        let (_waiting, hear) = one_under_way(&shop);
        let pid = shop.process().id().to_string();
        assert!(Command::new("kill").args(["-s", "TERM", &pid]).status().expect("kill").success());
        let (_, answer) = hear.recv().expect("an answer before the end");
        let plan = &answer["result"];
        assert_eq!(plan["stopped_early"], true, "{answer}");
        assert!(plan["sure"].as_str().expect("words").contains("stopped early"), "{plan}");
        assert!(plan["rounds"].as_u64() < Some(1_000_000) && plan["value"].as_f64() > Some(0.0), "{plan}");
        assert!(plan["risk_pct"]["computed"].as_f64() <= plan["risk_pct"]["promised"].as_f64(), "{plan}");
        let ended = shop.process().wait().expect("it ends");
        assert!(ended.success(), "{ended}");
        if began.elapsed() < LONGEST {
            return;
        }
    }
    panic!("three times the plan was answered only after the daemon's own limit");
}
