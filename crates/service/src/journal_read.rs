//! `journal.read`: entries as they stand in the journal.

use crate::app::App;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::journal::{JournalRead, JournalReadAnswer};
use serde_json::value::RawValue;

const DEFAULT_LIMIT: u32 = 100;
const MOST: u32 = 1000;

pub fn answer(app: &App, asked: JournalRead) -> Result<JournalReadAnswer, RpcError> {
    let limit = asked.limit.unwrap_or(DEFAULT_LIMIT);
    if !(1..=MOST).contains(&limit) {
        return Err(RpcError::params("/limit", format!("1 to {MOST} entries at a time"))
            .met(limit)
            .allowed(format!("1 to {MOST}"))
            .next("ask for fewer and go on with `after` set to the answer's `next_cursor`"));
    }
    let failed =
        |why: String| RpcError::new(code::INTERNAL, ErrorKind::Failed, why).next("run `coilwright journal verify`");
    let lines = app.store.read(asked.after.unwrap_or(0), limit as usize).map_err(|e| failed(e.to_string()))?;
    let head = app.store.state().head.seq;
    let last = lines.last().map(|l| l.head.seq);
    let items = lines.into_iter().map(|line| {
        let seq = line.head.seq;
        let text = String::from_utf8(line.bytes).map_err(|_| failed(format!("entry {seq} is no text")))?;
        RawValue::from_string(text).map_err(|e| failed(format!("entry {seq} is no JSON: {e}")))
    });
    Ok(JournalReadAnswer { items: items.collect::<Result<_, _>>()?, head, next_cursor: last.filter(|l| *l < head) })
}
