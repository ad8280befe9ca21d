//! `job.list`: the jobs at one look.

use crate::app::App;
use crate::words;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobItem, JobList, JobListAnswer};
use coilwright_shop::job::Job;

pub fn answer(app: &App, asked: JobList) -> Result<JobListAnswer, RpcError> {
    let published = app.store.state();
    let wanted = published.state.jobs().filter(|j| asked.ended.unwrap_or(false) || j.ended.is_none());
    let (page, next_cursor) =
        words::page(wanted, |j| j.id.0, asked.limit, asked.cursor.as_deref(), words::job_id_number)?;
    Ok(JobListAnswer {
        items: page.into_iter().map(item).collect(),
        seq: published.head.seq,
        next_cursor: next_cursor.map(|n| format!("j-{n}")),
    })
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
