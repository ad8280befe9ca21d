//! What a request costs, beside what the road and the disk cost without it. One run, all candidates in short turns, over and
//! over, so that all of them meet the same moods of the machine; six turns of each make a round, five rounds a median.
//!
//! `cargo run --release -p coilwright --example rates -- [FOLDER]` takes about a minute and prints tables in Markdown.
//!
//! 1. `coil.design` against an echo of the same bytes: the echo is a method of the same registry behind the same port. It
//!    is given the same request, and gives back the same answer, made once.
//! 2. `spool.weigh` by 1, 16 and 64 clients, each acknowledged after its sync, against a line of the same length written
//!    into a preallocated file and synced by one thread.
//! 3. The binary, if `cargo build --release` made one: its size, its first answer, its memory when idle.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench has nobody to tell but its reader")]

use coilwright_service::Handler;
use serde_json::value::RawValue;
use serde_json::{Value, json};
use std::collections::HashMap;
use std::fs::{self, File, OpenOptions};
use std::io::{BufRead, BufReader, Read, Seek, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Barrier, OnceLock};
use std::time::{Duration, Instant};

const ROUNDS: usize = 5;
const TURNS: usize = 6;
const TURN: Duration = Duration::from_millis(200);
const CONNECTIONS: [usize; 2] = [1, 32];
const CLIENTS: [usize; 3] = [1, 16, 64];
/// Spools weighed in turn: a real shop's shelf. Each turn takes new ones, so that no history grows without bound.
const SHELF: usize = 30;
const PREALLOCATED: usize = 8 << 20;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "rates-shop".into()));
    fs::create_dir(&folder).expect("name a folder that is not there yet");
    let runtime = tokio::runtime::Runtime::new().expect("threads");
    let data = folder.join("shop");
    let flags = [("store.data", data.display().to_string()), ("server.listen", "127.0.0.1:0".into())];
    let settings = coilwright_service::settings::read(None, HashMap::new(), &flags).expect("settings");
    let echoed: Arc<OnceLock<Box<RawValue>>> = Arc::default();
    let answer = echoed.clone();
    let echo: Handler = Arc::new(move |_, _| Ok(answer.get().expect("set before it is asked").clone()));
    let daemon = runtime
        .block_on(coilwright_service::start(&settings, "bench", move |registry| {
            registry.add_undocumented("bench.echo", echo.clone())
        }))
        .expect("a daemon");
    let token = fs::read_to_string(&daemon.token_file).expect("a token").trim().to_owned();
    let shop = Shop { address: daemon.address, token };

    println!(
        "{} threads of this machine share clients and daemon.\n",
        std::thread::available_parallelism().map_or(0, usize::from)
    );
    designs(&shop, &echoed);
    weighings(&shop, &folder.join("bare"));
    let verified = shop.ask("journal.verify", json!({}));
    assert!(verified["ok"] == true, "the journal does not verify: {verified}");
    runtime.block_on(daemon.stop()).expect("a clean stop");
    the_binary(&folder);
    fs::remove_dir_all(&folder).expect("the bench's own folder");
}

struct Shop {
    address: SocketAddr,
    token: String,
}

impl Shop {
    /// The result of one call.
    fn ask(&self, method: &str, params: Value) -> Value {
        let mut line = Line::to(self);
        let answer = line.call(&body(method, &params));
        let mut envelope: Value = serde_json::from_slice(&answer).expect("JSON");
        assert!(envelope["error"].is_null(), "{method}: {envelope}");
        envelope["result"].take()
    }

    /// For one turn so many connections send `request(connection, number)`, each again as soon as it is answered and `right`
    /// finds nothing wrong with the answer. Connecting is not counted.
    fn turn(
        &self,
        connections: usize,
        request: impl Fn(usize, u64) -> Vec<u8> + Sync,
        right: impl Fn(&[u8]) -> bool + Sync,
    ) -> Tally {
        let (start, ends, done) = (Barrier::new(connections + 1), AtomicBool::new(false), AtomicU64::new(0));
        std::thread::scope(|scope| {
            for connection in 0..connections {
                let (start, ends, done, request, right) = (&start, &ends, &done, &request, &right);
                scope.spawn(move || {
                    let mut line = Line::to(self);
                    start.wait();
                    let mut number = 0;
                    while !ends.load(Ordering::Relaxed) {
                        let answer = line.call(&request(connection, number));
                        assert!(right(&answer), "{}", String::from_utf8_lossy(&answer));
                        done.fetch_add(1, Ordering::Relaxed);
                        number += 1;
                    }
                });
            }
            start.wait();
            let began = Instant::now();
            std::thread::sleep(TURN);
            ends.store(true, Ordering::Relaxed);
            Tally { done: done.load(Ordering::Relaxed) as f64, seconds: began.elapsed().as_secs_f64() }
        })
    }
}

/// What was done in how long.
#[derive(Clone, Copy, Default)]
struct Tally {
    done: f64,
    seconds: f64,
}

impl Tally {
    fn add(&mut self, more: Tally) {
        self.done += more.done;
        self.seconds += more.seconds;
    }
    fn rate(self) -> f64 {
        self.done / self.seconds
    }
}

/// A connection that is kept.
struct Line {
    stream: BufReader<TcpStream>,
    head: String,
}

impl Line {
    fn to(shop: &Shop) -> Line {
        let stream = TcpStream::connect(shop.address).expect("the daemon listens");
        stream.set_nodelay(true).expect("a socket");
        let head = format!(
            "POST /rpc HTTP/1.1\r\nHost: {}\r\nContent-Type: application/json\r\nAuthorization: Bearer {}\r\n",
            shop.address, shop.token
        );
        Line { stream: BufReader::with_capacity(64 << 10, stream), head }
    }

    /// The body of the answer.
    fn call(&mut self, body: &[u8]) -> Vec<u8> {
        let mut request = format!("{}Content-Length: {}\r\n\r\n", self.head, body.len()).into_bytes();
        request.extend_from_slice(body);
        self.stream.get_mut().write_all(&request).expect("sent");
        let (mut length, mut line) = (0, String::new());
        loop {
            line.clear();
            assert!(self.stream.read_line(&mut line).expect("a head") > 0, "the daemon went");
            if let Some(n) = line.to_ascii_lowercase().strip_prefix("content-length:") {
                length = n.trim().parse().expect("a length");
            }
            if line == "\r\n" {
                break;
            }
        }
        let mut answer = vec![0; length];
        self.stream.read_exact(&mut answer).expect("a body");
        answer
    }
}

fn body(method: &str, params: &Value) -> Vec<u8> {
    json!({ "jsonrpc": "2.0", "id": 1, "method": method, "params": params }).to_string().into_bytes()
}

fn coil() -> Value {
    json!({
        "wire": "cu-awg30-single",
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 51.0, "wall_mm": 0.12, "height_mm": 38, "slit_mm": 1.0, "shims_mm": [0.05] },
        "winding": { "layers": 2, "width_mm": 15.0 },
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 50.50, "bore_mm": 53.00, "plate_mm": 8.0, "min_inner_mm": 0.20, "min_outer_mm": 0.25 },
        "target": { "dcr_ohm": 5.8, "tolerance_pct": 3, "rated_ohm": 8 },
        "bench_c": 23, "hot_c": 180,
    })
}

fn designs(shop: &Shop, echoed: &OnceLock<Box<RawValue>>) {
    let (design, echo) = (body("coil.design", &coil()), body("bench.echo", &coil()));
    let answer = Line::to(shop).call(&design);
    // The bytes of the answer as they came, to be given back as they are.
    #[derive(serde::Deserialize)]
    struct Envelope<'a> {
        #[serde(borrow)]
        result: &'a RawValue,
    }
    let envelope: Envelope = serde_json::from_slice(&answer).expect("an answer");
    echoed.set(envelope.result.to_owned()).expect("once");
    assert_eq!(Line::to(shop).call(&echo), answer, "the echo's bytes are the design's");
    let mut rates = [(); CONNECTIONS.len()].map(|()| (Vec::new(), Vec::new()));
    for _ in 0..ROUNDS {
        let mut round = [(Tally::default(), Tally::default()); CONNECTIONS.len()];
        for _ in 0..TURNS {
            for ((designed, echoes), connections) in round.iter_mut().zip(CONNECTIONS) {
                echoes.add(shop.turn(connections, |_, _| echo.clone(), |met| met == answer));
                designed.add(shop.turn(connections, |_, _| design.clone(), |met| met == answer));
            }
        }
        for ((designs, echos), (designed, echoes)) in rates.iter_mut().zip(round) {
            designs.push(designed.rate());
            echos.push(echoes.rate());
        }
    }
    println!(
        "`coil.design`, requests of {} bytes, answers of {} bytes, requests a second (median of {ROUNDS}, smallest–largest):\n",
        design.len(),
        answer.len()
    );
    println!(
        "| connections | echo of the same bytes | coil.design | of the echo | microseconds more |\n|---:|---:|---:|---:|---:|"
    );
    for ((designed, echoes), connections) in rates.iter_mut().zip(CONNECTIONS) {
        let (d, e) = (median(designed), median(echoes));
        println!(
            "| {connections} | {} | {} | {:.0} % | {:.0} |",
            spread(echoes),
            spread(designed),
            100.0 * d / e,
            1e6 / d - 1e6 / e
        );
    }
    println!();
}

fn weighings(shop: &Shop, bare: &Path) {
    let receive = json!({ "wire": "cu-awg31-single", "gross_g": 210.4, "tare_g": { "value": 97.0, "u": 1.0 }, "scale_u_g": 0.06 });
    let weigh = |spool: &str, gross: f64, key: String| {
        body("spool.weigh", &json!({ "spool": spool, "gross_g": gross, "scale_u_g": 0.06, "idempotency_key": key }))
    };
    let shelf = || -> Vec<String> {
        (0..SHELF)
            .map(|_| shop.ask("spool.receive", receive.clone())["spool"].as_str().expect("an id").to_owned())
            .collect()
    };
    // How long a line of such an entry is.
    let first = shelf();
    let asked = weigh(first.first().expect("a shelf"), 210.39, "warm".into());
    Line::to(shop).call(&asked);
    let head = shop.ask("shop.status", json!({}))["journal"]["head"].as_u64().expect("a head");
    let entry = shop.ask("journal.read", json!({ "after": head - 1, "limit": 1 }))["items"][0].take();
    let length = entry.to_string().len() + 1;
    let mut file = preallocated(bare);
    let mut bares = Vec::new();
    let mut rates = [(); CLIENTS.len()].map(|()| (Vec::new(), Vec::new()));
    let head = || shop.ask("shop.status", json!({}))["journal"]["head"].as_u64().expect("a head");
    for round in 0..ROUNDS {
        let mut bare = Tally::default();
        let mut tallies = [(Tally::default(), 0u64, 0u64); CLIENTS.len()];
        for turn in 0..TURNS {
            bare.add(bare_turn(&mut file, length));
            for ((tally, entries, syncs), clients) in tallies.iter_mut().zip(CLIENTS) {
                let (spools, before) = (shelf(), head());
                let done = shop.turn(
                    clients,
                    |client, number| {
                        let spool = &spools[(client + number as usize) % SHELF];
                        // A little less each time, as on a shelf in use: the same weighing once more would count once.
                        let gross = 210.39 - (number % 97) as f64 * 1e-3;
                        weigh(spool, gross, format!("{round}-{turn}-{clients}-{client}-{number}"))
                    },
                    |answer| !answer.windows(8).any(|w| w == b"\"error\":"),
                );
                tally.add(done);
                let (more, groups) = entries_and_syncs(shop, before);
                // The last answers of each client came after the count.
                assert!(
                    more as f64 >= done.done && more as f64 <= done.done + clients as f64,
                    "{more} entries of {}",
                    done.done
                );
                *entries += more;
                *syncs += groups;
            }
        }
        bares.push(bare.rate());
        for ((per_second, per_sync), (tally, entries, syncs)) in rates.iter_mut().zip(tallies) {
            per_second.push(tally.rate());
            per_sync.push(entries as f64 / syncs as f64);
        }
    }
    println!(
        "`spool.weigh` with a key over HTTP, lines of {length} bytes, entries acknowledged a second (median of {ROUNDS}, smallest–largest):\n"
    );
    let bare = median(&mut bares);
    let believed = is_a_floor(&bares, median(&mut rates[0].0));
    let share = |rate: f64| if believed { format!("{:.0} %", 100.0 * rate / bare) } else { "not known".into() };
    println!("| | a second | of bare | entries a sync |\n|---|---:|---:|---:|");
    println!("| write + fdatasync, 1 thread | {} | {} | 1 |", spread(&mut bares), share(bare));
    for ((per_second, per_sync), clients) in rates.iter_mut().zip(CLIENTS) {
        let rate = median(per_second);
        println!("| {clients} clients | {} | {} | {:.1} |", spread(per_second), share(rate), median(per_sync));
    }
    if !believed {
        println!(
            "\nThe bare loop was held up by something else: its rounds differ too much, or one client that waits for a sync of its own was quicker. Nothing is compared with it; run this again on a quiet machine."
        );
    }
    println!();
}

/// Whether the bare loop can be what others are held against. A build beside it was measured to slow it twentyfold and the
/// daemon hardly at all: it sleeps once for each sync and then waits for a processor. One client cannot beat it honestly.
fn is_a_floor(sorted_bares: &[f64], one_client: f64) -> bool {
    let (Some(least), Some(most)) = (sorted_bares.first(), sorted_bares.last()) else { return false };
    *most <= 2.0 * least && one_client <= *least
}

fn entries_and_syncs(shop: &Shop, before: u64) -> (u64, u64) {
    let (mut after, mut entries, mut syncs) = (before, 0, 0);
    loop {
        let page = shop.ask("journal.read", json!({ "after": after, "limit": 1000 }));
        for entry in page["items"].as_array().expect("items") {
            entries += 1;
            syncs += u64::from(entry["group"] == entry["seq"]);
        }
        match page["next_cursor"].as_u64() {
            Some(next) => after = next,
            None => return (entries, syncs),
        }
    }
}

fn preallocated(path: &Path) -> File {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).expect("a file");
    file.write_all(&vec![b'\n'; PREALLOCATED]).and_then(|()| file.sync_all()).expect("room");
    file
}

fn bare_turn(file: &mut File, length: usize) -> Tally {
    let line = vec![b'x'; length];
    let (began, mut count, mut at) = (Instant::now(), 0u64, PREALLOCATED);
    while began.elapsed() < TURN {
        if at + length > PREALLOCATED {
            file.rewind().expect("a file");
            at = 0;
        }
        file.write_all(&line).and_then(|()| file.sync_data()).expect("a disk");
        at += length;
        count += 1;
    }
    Tally { done: count as f64, seconds: began.elapsed().as_secs_f64() }
}

/// The program as it is shipped: beside this example, in the folder above.
fn the_binary(folder: &Path) {
    let example = std::env::current_exe().expect("a path");
    let binary = example.parent().and_then(Path::parent).expect("target/release").join("coilwright");
    if !binary.exists() {
        println!("No binary at {}: `cargo build --release` makes it.", binary.display());
        return;
    }
    let mib = |bytes: u64| bytes as f64 / f64::from(1 << 20);
    let (mut starts, mut rss) = (Vec::new(), Vec::new());
    for round in 0..=ROUNDS {
        let began = Instant::now();
        let mut child = Command::new(&binary)
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(folder.join(format!("start-{round}")))
            .env("COILWRIGHT__LOG__FILTER", "error")
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("piped")).read_line(&mut line).expect("a line");
        let address = line.trim().rsplit('/').next().and_then(|a| a.parse().ok()).expect("an address");
        let shop = Shop {
            address,
            token: fs::read_to_string(folder.join(format!("start-{round}/token"))).expect("a token").trim().into(),
        };
        assert_eq!(shop.ask("shop.status", json!({}))["health"], "good");
        // The first of them finds nothing in the page cache and is not counted.
        if round > 0 {
            starts.push(began.elapsed().as_secs_f64() * 1e3);
        }
        std::thread::sleep(Duration::from_millis(300));
        rss.extend(resident_mib(child.id()));
        child.kill().and_then(|()| child.wait()).expect("it ends");
    }
    println!("| the binary | |\n|---|---:|");
    println!("| size, release build | {:.1} MiB |", mib(fs::metadata(&binary).expect("a file").len()));
    println!("| start on an empty folder to the first answer | {} ms |", spread(&mut starts));
    if !rss.is_empty() {
        println!("| resident memory, idle after one request | {:.1} MiB |", median(&mut rss));
    }
}

/// From /proc, where there is one.
fn resident_mib(process: u32) -> Option<f64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:"))?;
    line.split_whitespace().next()?.parse::<f64>().ok().map(|kib| kib / 1024.0)
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Median, smallest and largest.
fn spread(values: &mut [f64]) -> String {
    let middle = median(values);
    let (least, most) = (values.first().copied().unwrap_or(f64::NAN), values.last().copied().unwrap_or(f64::NAN));
    format!("{middle:.0} ({least:.0}–{most:.0})")
}
