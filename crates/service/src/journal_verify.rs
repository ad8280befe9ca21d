//! `journal.verify`: whether the chain of all entries holds.

use crate::app::App;
use coilwright_proto::coil::{FindingAnswer, FindingLevel};
use coilwright_proto::error::RpcError;
use coilwright_proto::journal::{JournalVerified, JournalVerify};

pub fn answer(app: &App, _: JournalVerify) -> Result<JournalVerified, RpcError> {
    let v = app.store.verify();
    let findings = v.findings.into_iter().map(|f| FindingAnswer {
        code: f.code.into(),
        level: if f.grave { FindingLevel::Stop } else { FindingLevel::Note },
        text: format!("{}: {}", f.path.display(), f.text),
        figure: f.seq.map(|s| s as f64),
        limit: None,
    });
    Ok(JournalVerified { ok: v.ok, head: v.head.seq, hash: v.head.hash.to_string(), findings: findings.collect() })
}
