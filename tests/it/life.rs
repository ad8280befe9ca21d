//! From start to stop: the one line with the address, settings by layers, the log, and an end that a script can rely on.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::process::{Command, ExitStatus};
use std::time::{Duration, Instant};

#[cfg(unix)]
fn signal(shop: &mut Shop, name: &str) {
    let pid = shop.process().id().to_string();
    assert!(Command::new("kill").args(["-s", name, &pid]).status().expect("kill").success());
}

#[track_caller]
fn ends(shop: &mut Shop) -> ExitStatus {
    let began = Instant::now();
    while began.elapsed() < Duration::from_secs(20) {
        if let Some(status) = shop.process().try_wait().expect("a child") {
            return status;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("it did not end");
}

#[cfg(unix)]
#[test]
fn it_ends_well_when_asked_to() {
    for name in ["TERM", "INT"] {
        let mut shop = Shop::open();
        shop.goes_on();
        signal(&mut shop, name);
        assert_eq!(ends(&mut shop).code(), Some(0), "{name}");
    }
}

/// An idle keep-alive connection must not keep it from ending.
#[cfg(unix)]
#[test]
fn it_ends_though_a_connection_is_left_open() {
    let mut shop = Shop::open();
    let mut idle = shop.connect();
    let head = format!("GET /healthz HTTP/1.1\r\nHost: {}\r\n\r\n", shop.address());
    idle.write_all(head.as_bytes()).unwrap();
    let mut some = [0; 64];
    assert!(idle.read(&mut some).unwrap() > 0);
    signal(&mut shop, "TERM");
    assert_eq!(ends(&mut shop).code(), Some(0));
}

#[test]
fn many_ask_at_once_and_all_get_their_own_answer() {
    let shop = Shop::open();
    std::thread::scope(|scope| {
        for worker in 0..16 {
            let shop = &shop;
            scope.spawn(move || {
                for turns in 20..30 {
                    let mut params = sample();
                    params["winding"] = json!({ "turns_per_layer": [turns + worker, turns] });
                    let answer = shop.answer("coil.design", &params);
                    assert_eq!(answer["turns"], 2 * turns + worker);
                }
            });
        }
    });
}

#[test]
fn the_same_question_has_the_same_answer_to_the_last_digit() {
    let (one, other) = (Shop::open(), Shop::open());
    let ask = |shop: &Shop| shop.answer("coil.design", &sample()).to_string();
    let first = ask(&one);
    assert_eq!(first, ask(&one));
    assert_eq!(first, ask(&other));
}

#[test]
fn health_is_told_without_a_call() {
    let shop = Shop::open();
    let reply = shop.request("GET", "/healthz", &[], b"");
    assert_eq!((reply.status, reply.json()["health"].as_str()), (200, Some("good")));
}

#[test]
fn flags_win_over_the_environment_and_that_over_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.toml");
    std::fs::write(&file, "[limits]\nbatch_calls = 2\nbody_bytes = 5000\n").unwrap();
    let shop = Shop::with(
        &["--config", file.to_str().unwrap()],
        // The flag --listen of the harness wins over this one, which could not be listened on.
        &[("COILWRIGHT__LIMITS__BATCH_CALLS", "3"), ("COILWRIGHT__SERVER__LISTEN", "192.0.2.1:1")],
    );
    let call = json!({ "jsonrpc": "2.0", "id": 1, "method": "wire.show", "params": { "wire": "cu-awg30-single" } });
    let most = shop.post(json!([call, call, call, call]).to_string()).json()["error"]["data"]["allowed"].take();
    assert_eq!(most, 3, "the environment's");
    assert_eq!(shop.post(" ".repeat(5001)).status, 413, "the file's");
}

#[cfg(unix)]
#[test]
fn a_log_that_is_not_read_on_a_terminal_is_json_a_line() {
    let mut command = crate::shop::command(&["serve", "--listen", "127.0.0.1:0"]);
    let folder = tempfile::tempdir().unwrap();
    command.args(["--data", folder.path().to_str().unwrap()]);
    let log = folder.path().join("daemon.log");
    let mut child =
        command.stdout(std::process::Stdio::piped()).stderr(std::fs::File::create(&log).unwrap()).spawn().unwrap();
    let mut line = String::new();
    std::io::BufRead::read_line(&mut std::io::BufReader::new(child.stdout.take().unwrap()), &mut line).unwrap();
    Command::new("kill").arg(child.id().to_string()).status().unwrap();
    assert!(child.wait().unwrap().success());
    let text = std::fs::read_to_string(&log).unwrap();
    let lines: Vec<Value> =
        text.lines().map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {l}"))).collect();
    assert!(lines.iter().any(|l| l["message"] == "serving"), "{text}");
    assert!(lines.iter().all(|l| l["level"].is_string() && l["timestamp"].is_string()), "{text}");
}
