//! What plugins propose: derived anew from the newest fact of every spool and job, never kept.

use crate::app::App;
use crate::scripts::asking;
use coilwright_catalog::Proposal;
use coilwright_core::quantity::Length;
use coilwright_proto::shop::ProposalAnswer;
use coilwright_shop::archive::Happened;
use coilwright_shop::fact::{Fact, Subject};
use coilwright_shop::spool::Spool;
use coilwright_shop::state::State;
use coilwright_store::Published;
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// Proposals that are told at once.
const MOST: usize = 50;
/// Longest time that all reactions together take of one asking; that something was left out is told.
const TOGETHER: Duration = Duration::from_millis(500);

/// The last proposals, and for which state and catalog they hold.
#[derive(Default)]
pub struct Kept(Option<(u64, String, Vec<ProposalAnswer>)>);

/// What is proposed now. The same state and catalog give the same proposals, so they are worked out once.
pub fn now(app: &App, published: &Published<State>) -> Vec<ProposalAnswer> {
    let asking = asking(app);
    if !asking.reacts() {
        return Vec::new();
    }
    let mut kept = app.proposals.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let (seq, digest) = (published.head.seq, app.catalog.digest());
    if let Some((of, with, proposals)) = &kept.0
        && (*of, with.as_str()) == (seq, digest)
    {
        return proposals.clone();
    }
    let (state, began) = (&published.state, Instant::now());
    let mut all = Vec::new();
    let spools = state.spools().filter(|s| s.retired.is_none()).map(|s| (Subject::Spool(s.id()), spool(s)));
    let jobs = state.jobs().filter(|j| j.ended.is_none()).map(|j| {
        let told = json!({ "job": { "job": j.id.to_string(), "title": j.title, "wire": j.plan.wire, "coils": j.coils, "good": j.good() } });
        (Subject::Job(j.id), told)
    });
    for (subject, about) in spools.chain(jobs) {
        if all.len() >= MOST || began.elapsed() > TOGETHER {
            all.truncate(MOST);
            all.push(cut(seq));
            break;
        }
        let Ok(entries) = app.store.about(subject, seq) else { continue };
        let Some(newest) = Happened::to(subject, &entries).filter(|h| state.counts(h.seq)).last() else { continue };
        let Some(fact) = word(&newest.fact) else { continue };
        let mut about = about;
        about["fact"] = serde_json::to_value(&newest.fact).unwrap_or_default();
        let told = asking.react(&fact, &about);
        all.extend(told.into_iter().map(|p| proposal(p, subject, newest.seq)));
    }
    kept.0 = Some((seq, digest.to_owned(), all.clone()));
    all
}

/// Tells that not everything was looked at.
fn cut(seq: u64) -> ProposalAnswer {
    ProposalAnswer {
        code: "proposals.cut".into(),
        text: format!(
            "there may be more: plugins propose more than {MOST} things, or take longer than {} ms",
            TOGETHER.as_millis()
        ),
        about: String::from(Subject::Shop),
        seq,
        method: None,
        params: None,
    }
}

fn spool(s: &Spool) -> Value {
    let left = s.remaining().left;
    let free = (left.value - s.held()).max(Length::ZERO);
    json!({ "spool": {
        "spool": s.id().to_string(), "wire": s.wire().key(), "place": s.place,
        "left_m": { "value": left.value.m(), "u": left.u.m() }, "free_m": free.m(),
    } })
}

/// The journal's word for a fact.
fn word(fact: &Fact) -> Option<String> {
    serde_json::to_value(fact).ok()?.get("fact")?.as_str().map(str::to_owned)
}

fn proposal(p: Proposal, about: Subject, seq: u64) -> ProposalAnswer {
    let code = format!("{}.{}", p.plugin, p.code);
    ProposalAnswer { code, text: p.text, about: String::from(about), seq, method: p.method, params: p.params }
}
