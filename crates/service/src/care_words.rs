//! What care of a folder found, in the words of the wire.

use coilwright_proto::care::CareBackedUp;
use coilwright_proto::coil::{FindingAnswer, FindingLevel};
use coilwright_proto::journal::JournalVerified;
use coilwright_store::{BackedUp, Verified};

/// What walking the chain found.
pub fn verified(found: Verified) -> JournalVerified {
    let findings = found.findings.into_iter().map(|f| FindingAnswer {
        code: f.code.into(),
        level: if f.grave { FindingLevel::Stop } else { FindingLevel::Note },
        text: format!("{}: {}", f.path.display(), f.text),
        figure: f.seq.map(|s| s as f64),
        limit: None,
    });
    JournalVerified {
        ok: found.ok,
        head: found.head.seq,
        hash: found.head.hash.to_string(),
        findings: findings.collect(),
    }
}

/// How far a backup goes.
pub fn backed_up(done: &BackedUp) -> CareBackedUp {
    CareBackedUp { head: done.head.seq, hash: done.head.hash.to_string(), added: done.added, at: done.at.to_string() }
}
