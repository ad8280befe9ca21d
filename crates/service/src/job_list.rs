//! `job.list`: the jobs at one look.

use crate::app::App;
use crate::words;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobItem, JobList, JobListAnswer};
use coilwright_shop::id::JobId;
use coilwright_shop::job::Job;
use coilwright_shop::state::State;
use coilwright_store::Published;

pub fn answer(app: &App, asked: JobList) -> Result<JobListAnswer, RpcError> {
    let published = app.store.state();
    let state = &published.state;
    let (limit, cursor) = (asked.limit, asked.cursor.as_deref());
    let (items, next_cursor) = if asked.ended.unwrap_or(false) {
        let find = |number| app.look_at(&published, |p: &Published<State>| Ok(p.state.job(JobId(number)).map(item)));
        words::page_of_all(state.last_job().0, find, limit, cursor, words::job_id_number)?
    } else {
        let wanted = state.jobs().filter(|j| j.ended.is_none());
        let (page, next) = words::page(wanted, |j| j.id.0, limit, cursor, words::job_id_number)?;
        (page.into_iter().map(item).collect(), next)
    };
    Ok(JobListAnswer { items, seq: published.head.seq, next_cursor: next_cursor.map(|n| format!("j-{n}")) })
}

fn item(j: &Job) -> JobItem {
    JobItem {
        job: j.id.to_string(),
        title: j.title.clone(),
        status: words::status(j.status()),
        coils: j.coils,
        good: j.good(),
        scrapped: j.scrapped(),
        wire: j.plan.wire.clone(),
        need_m: words::figure(j.plan.need_m),
        priority: j.priority,
        rev: j.rev,
        due_on: j.due_on.map(|d| d.to_string()),
    }
}
