//! The harness: a daemon of a test's own on a free port, and the ways to ask it. It ends with the test.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;

/// The binary under test.
pub const BINARY: &str = env!("CARGO_BIN_EXE_coilwright");

/// Longest wait for anything. The slowest answer asked for here takes a second in a debug build.
const PATIENCE: Duration = Duration::from_secs(60);

/// Top folder of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The binary with `args`, free of what the environment of the one who tests may say.
pub fn command(args: &[&str]) -> Command {
    let mut command = Command::new(BINARY);
    command.args(args).stdin(Stdio::null());
    for (name, _) in std::env::vars_os() {
        if name.to_string_lossy().starts_with("COILWRIGHT") {
            command.env_remove(name);
        }
    }
    command
}

/// Starts a daemon on `data`; answers its process and its address.
fn start(data: &Path, flags: &[&str], environment: &[(&str, &str)]) -> (Child, String) {
    let mut args = vec!["serve", "--listen", "127.0.0.1:0", "--data", data.to_str().expect("a path of text")];
    args.extend(flags);
    let mut command = command(&args);
    command.env("COILWRIGHT__LOG__FILTER", "error").envs(environment.iter().copied()).stdout(Stdio::piped());
    let mut child = command.spawn().expect("the binary starts");
    let mut line = String::new();
    BufReader::new(child.stdout.take().expect("piped")).read_line(&mut line).expect("one line of text");
    let address = line.trim().strip_prefix("coilwright answers at http://").map(str::to_owned);
    let Some(address) = address else {
        let _ = child.kill();
        let ended = child.wait();
        panic!("the daemon said {line:?} and ended with {ended:?}");
    };
    (child, address)
}

/// A running daemon.
pub struct Shop {
    child: Child,
    address: String,
    data: TempDir,
}

impl Shop {
    /// Starts one with the settings it has if nobody says anything.
    pub fn open() -> Shop {
        Shop::with(&[], &[])
    }

    /// Starts one with more flags and environment.
    pub fn with(flags: &[&str], environment: &[(&str, &str)]) -> Shop {
        let data = tempfile::tempdir().expect("a folder");
        let (child, address) = start(data.path(), flags, environment);
        Shop { child, address, data }
    }

    /// Kills the daemon as a power cut would and starts another on the same folder; `meanwhile` sees the folder at rest.
    pub fn killed_and_opened(&mut self, meanwhile: impl FnOnce(&Path)) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        meanwhile(self.data.path());
        (self.child, self.address) = start(self.data.path(), &[], &[]);
    }

    /// Host and port, e.g. `127.0.0.1:40123`.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// e.g. `http://127.0.0.1:40123`.
    pub fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Its data folder.
    pub fn data(&self) -> &Path {
        self.data.path()
    }

    /// Its process.
    pub fn process(&mut self) -> &mut Child {
        &mut self.child
    }

    /// The result of a call.
    #[track_caller]
    pub fn answer(&self, method: &str, params: &Value) -> Value {
        let mut reply = self.call(method, params);
        assert!(reply["error"].is_null(), "{method} {params}: {}", reply["error"]);
        reply["result"].take()
    }

    /// The error of a call.
    #[track_caller]
    pub fn error(&self, method: &str, params: &Value) -> Value {
        let mut reply = self.call(method, params);
        assert!(reply["result"].is_null(), "{method} {params} was answered: {}", reply["result"]);
        reply["error"].take()
    }

    /// Result or error of a call, in its envelope.
    #[track_caller]
    pub fn call(&self, method: &str, params: &Value) -> Value {
        let request = json!({ "jsonrpc": "2.0", "id": "q", "method": method, "params": params });
        let reply = self.post(request.to_string());
        assert_eq!(reply.status, 200, "{method} {params}: {}", reply.body);
        let envelope = reply.json();
        assert_eq!((&envelope["jsonrpc"], &envelope["id"]), (&json!("2.0"), &json!("q")), "{envelope}");
        envelope
    }

    /// The admin's token, from the data folder.
    pub fn token(&self) -> String {
        let text = std::fs::read_to_string(self.data().join("token")).expect("a token was made");
        text.trim().to_owned()
    }

    /// The result of a call by the admin, who may write.
    #[track_caller]
    pub fn done(&self, method: &str, params: &Value) -> Value {
        let mut reply = self.call_as(&self.token(), method, params);
        assert!(reply["error"].is_null(), "{method} {params}: {}", reply["error"]);
        reply["result"].take()
    }

    /// The error of a call by the admin.
    #[track_caller]
    pub fn refused(&self, method: &str, params: &Value) -> Value {
        let mut reply = self.call_as(&self.token(), method, params);
        assert!(reply["result"].is_null(), "{method} {params} was done: {}", reply["result"]);
        reply["error"].take()
    }

    /// The envelope of a call with a token.
    #[track_caller]
    pub fn call_as(&self, token: &str, method: &str, params: &Value) -> Value {
        let body = json!({ "jsonrpc": "2.0", "id": "q", "method": method, "params": params }).to_string();
        let bearer = format!("Bearer {token}");
        let headers = [("Content-Type", "application/json"), ("Authorization", bearer.as_str())];
        self.request("POST", "/rpc", &headers, body.as_bytes()).json()
    }

    /// A body posted to `/rpc` as JSON.
    #[track_caller]
    pub fn post(&self, body: impl AsRef<[u8]>) -> Reply {
        self.request("POST", "/rpc", &[("Content-Type", "application/json")], body.as_ref())
    }

    /// Any request; `Host` is the daemon's own unless it is among the headers.
    #[track_caller]
    pub fn request(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Reply {
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
        if !headers.iter().any(|(name, _)| name.eq_ignore_ascii_case("host")) {
            head.push_str(&format!("Host: {}\r\n", self.address));
        }
        for (name, value) in headers {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
        self.raw(&[(head + "\r\n").as_bytes(), body])
    }

    /// Bytes as they are, all of them sent before the answer is read.
    #[track_caller]
    pub fn raw(&self, pieces: &[&[u8]]) -> Reply {
        let mut stream = self.connect();
        for piece in pieces {
            stream.write_all(piece).expect("the daemon reads to the end");
        }
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes).expect("an answer, and then the end of the connection");
        Reply::read(&bytes)
    }

    /// A connection of one's own.
    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.address).expect("the daemon listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("a time limit");
        stream.set_write_timeout(Some(PATIENCE)).expect("a time limit");
        stream
    }

    /// A command of the binary that asks this daemon.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = command(args);
        command.env("COILWRIGHT_URL", self.url());
        command
    }

    /// Whether the daemon is as good as new: the coil of the sample is still answered with its figures.
    #[track_caller]
    pub fn goes_on(&self) {
        let dcr = self.answer("coil.design", &sample())["dcr_ohm"]["value"].as_f64().expect("a number");
        assert!((dcr - 5.799).abs() < 0.0005, "{dcr} Ω");
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer to an HTTP request.
pub struct Reply {
    /// e.g. 200.
    pub status: u16,
    /// Status line and headers.
    pub head: String,
    /// The body.
    pub body: String,
}

impl Reply {
    #[track_caller]
    fn read(bytes: &[u8]) -> Reply {
        let text = String::from_utf8_lossy(bytes);
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or_else(|| panic!("no answer but {text:?}"));
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or_else(|| panic!("{head}"));
        assert!(!head.to_ascii_lowercase().contains("transfer-encoding"), "answers tell their length: {head}");
        Reply { status, head: head.into(), body: body.into() }
    }

    /// The body as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }
}

/// Params of `coil.design` with every member that the conventions name: a 51 mm coil of two layers.
pub fn sample() -> Value {
    json!({
        "wire": "cu-awg30-single",
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 51.0, "wall_mm": 0.12, "height_mm": 38, "slit_mm": 1.0, "shims_mm": [0.05] },
        "winding": { "layers": 2, "width_mm": 15.0 },
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 50.50, "bore_mm": 53.00, "plate_mm": 8.0, "min_inner_mm": 0.20, "min_outer_mm": 0.25 },
        "target": { "dcr_ohm": 5.8, "tolerance_pct": 3, "rated_ohm": 8 },
        "bench_c": 23, "hot_c": 180, "offset_mm": 0,
        "assume": { "pitch_factor": 1.02, "nesting": 0.90, "resistance_excess_pct": 1.0, "elongation_pct": 0.2, "glue_mm": 0.01, "skin_mm": 0.02, "wrap_mm": 0, "alternate_layer_turns": "one_less" },
    })
}

/// `params` with the member at `pointer` set to `value`, made if it is not there.
#[track_caller]
pub fn with(mut params: Value, pointer: &str, value: Value) -> Value {
    let (above, name) = pointer.rsplit_once('/').expect("a pointer");
    let above = params.pointer_mut(above).unwrap_or_else(|| panic!("nothing at {above}"));
    above[name] = value;
    params
}
