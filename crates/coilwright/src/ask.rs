//! Asking the daemon: one JSON-RPC call over HTTP.

use crate::exit::End;
use coilwright_proto::error::RpcError;
use serde_json::{Value, json};
use std::io::IsTerminal;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::Duration;

/// Where the daemon is reached.
pub struct Client {
    url: String,
    token: Option<String>,
    agent: ureq::Agent,
}

/// Why there is no answer.
pub enum NoAnswer {
    /// The daemon said no.
    Error(Box<RpcError>),
    /// It could not be asked.
    Unreachable(String),
}

/// Longest wait for an answer.
const PATIENCE: Duration = Duration::from_secs(120);
/// Largest answer that is read.
const LARGEST: u64 = 256 << 20;

impl Client {
    /// A client of the daemon at `url`, e.g. `http://127.0.0.1:7348`, with the token it writes with.
    pub fn new(url: &str, token: Option<String>) -> Client {
        let agent =
            ureq::Agent::config_builder().http_status_as_error(false).timeout_global(Some(PATIENCE)).build().into();
        Client { url: url.trim_end_matches('/').into(), token, agent }
    }

    /// Calls `method` with `params` by name.
    ///
    /// # Errors
    /// The daemon's error, or why it could not be asked.
    pub fn call(&self, method: &str, params: &Value) -> Result<Value, NoAnswer> {
        let request = json!({ "jsonrpc": "2.0", "id": 1, "method": method, "params": params }).to_string();
        let url = format!("{}/rpc", self.url);
        let unreachable = |why: String| {
            NoAnswer::Unreachable(format!(
                "cannot ask the daemon at {}: {why}; is it running (`coilwright serve`)? Another address goes in --url or COILWRIGHT_URL",
                self.url
            ))
        };
        let mut post = self.agent.post(&url).header("Content-Type", "application/json");
        if let Some(token) = &self.token {
            post = post.header("Authorization", format!("Bearer {token}"));
        }
        let sent = waiting(method, || post.send(request));
        let mut answer = sent.map_err(|e| unreachable(e.to_string()))?;
        let status = answer.status();
        let text =
            answer.body_mut().with_config().limit(LARGEST).read_to_string().map_err(|e| unreachable(e.to_string()))?;
        let mut body: Value =
            serde_json::from_str(&text).map_err(|_| unreachable(format!("{status}: {}", text.trim())))?;
        if let Some(error) = body.get_mut("error").map(Value::take) {
            let e: RpcError = serde_json::from_value(error)
                .map_err(|e| unreachable(format!("an error that is not understood: {e}")))?;
            return Err(NoAnswer::Error(Box::new(e)));
        }
        Ok(body["result"].take())
    }
}

impl NoAnswer {
    /// The daemon's error as it came, one line on standard error, for the next program; a daemon that cannot be asked gave none
    /// and is told in words.
    pub fn report_json(&self) -> End {
        let NoAnswer::Error(e) = self else { return self.report(|_| None) };
        eprintln!("{}", json!(e));
        End::of(e)
    }

    /// Says on standard error what went wrong and what to do, and how the command ends.
    /// `in_order`: how the command is written, for a pointer to what was not understood.
    pub fn report(&self, in_order: impl FnOnce(&str) -> Option<String>) -> End {
        match self {
            NoAnswer::Unreachable(why) => {
                eprintln!("error: {why}");
                End::NotReachable
            }
            NoAnswer::Error(e) => {
                let place = e
                    .data
                    .pointer
                    .as_deref()
                    .filter(|p| !p.is_empty())
                    .map_or(String::new(), |p| format!(" at {}", p.trim_start_matches('/').replace('/', ".")));
                eprintln!("error: {}{place}: {}", e.message, e.data.detail);
                // Only where the daemon has no better word than its own document.
                let unread = e.data.next_step.as_ref().is_some_and(|next| next.contains("rpc.discover"));
                let written = e.data.pointer.as_deref().filter(|_| unread).and_then(in_order);
                match (written, &e.data.next_step) {
                    (Some(order), _) => eprintln!("  next: in this order: {order}"),
                    (None, Some(step)) => eprintln!("  next: {step}"),
                    (None, None) => {}
                }
                End::of(e)
            }
        }
    }
}

/// Does `work`; on a terminal, says every second from the first on that it still goes on.
fn waiting<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    let (done, over) = mpsc::channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let mut seconds = 0;
            while let Err(RecvTimeoutError::Timeout) = over.recv_timeout(Duration::from_secs(1)) {
                seconds += 1;
                eprint!("\r{what}: {seconds} s …");
            }
            if seconds > 0 {
                eprint!("\r\x1b[K");
            }
        });
        let result = work();
        drop(done);
        result
    })
}
