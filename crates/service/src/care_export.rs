//! `care.export`: every entry as lines of JSON, or the spools in use as a table.

use crate::app::App;
use crate::stock_table;
use coilwright_proto::care::{CareExport, CareExported, ExportWhat};
use coilwright_proto::error::{ErrorKind, RpcError, code};

/// Lines at once; a read ends by itself at some 4 MiB.
const AT_ONCE: usize = 1000;

pub fn answer(app: &App, asked: CareExport) -> Result<CareExported, RpcError> {
    let published = app.store.state();
    let failed =
        |why: String| RpcError::new(code::INTERNAL, ErrorKind::Failed, why).next("run `coilwright journal verify`");
    if let ExportWhat::Spools = asked.what.unwrap_or(ExportWhat::Entries) {
        if asked.after.is_some() {
            return Err(RpcError::params("/after", "spools are written out whole").next("leave `after` out"));
        }
        let spools: Vec<_> = published.state.spools().filter(|s| s.retired.is_none()).collect();
        let text = stock_table::write(spools.iter().copied()).map_err(failed)?;
        return Ok(CareExported { text, count: spools.len() as u64, seq: published.head.seq, next_cursor: None });
    }
    let lines = app.store.read(asked.after.unwrap_or(0), AT_ONCE).map_err(|e| failed(e.to_string()))?;
    let mut text = String::new();
    for line in &lines {
        let seq = line.head.seq;
        text.push_str(std::str::from_utf8(&line.bytes).map_err(|_| failed(format!("entry {seq} is no text")))?);
        text.push('\n');
    }
    let head = published.head.seq;
    let last = lines.last().map(|l| l.head.seq);
    Ok(CareExported { text, count: lines.len() as u64, seq: head, next_cursor: last.filter(|l| *l < head) })
}
