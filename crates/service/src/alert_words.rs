//! Alerts on the wire, shared by the list and the shop's status.

use coilwright_proto::alert::AlertItem;
use coilwright_shop::alert::Alert;

/// One alert.
pub fn item(a: &Alert) -> AlertItem {
    AlertItem {
        alert: a.id.clone(),
        kind: a.kind.word().into(),
        text: a.text.clone(),
        next_step: a.next_step.clone(),
        seen: a.seen.is_some(),
        spool: a.spool.map(|s| s.to_string()),
        job: a.job.map(|j| j.to_string()),
        seen_seq: a.seen,
    }
}
