//! The service: one file per request, the registry that runs and documents them, and the one port they are reached by.

pub mod app;
pub mod caller;
mod coil_design;
mod discover;
mod door;
mod envelope;
mod former_list;
mod guard;
mod http;
mod job_cancel;
mod job_change;
mod job_close;
mod job_gate;
mod job_list;
mod job_open;
mod job_progress;
mod job_record;
mod job_show;
mod job_start;
mod job_step;
mod job_words;
mod journal_read;
mod journal_undo;
mod journal_verify;
mod registry;
mod rpc;
mod serve;
pub mod settings;
mod sheet_section;
mod shop_figures;
mod shop_set;
mod shop_status;
mod spool_hold;
mod spool_list;
mod spool_measure;
mod spool_move;
mod spool_receive;
mod spool_release;
mod spool_retire;
mod spool_show;
mod spool_weigh;
mod told;
mod view;
mod wire_list;
mod wire_show;
mod words;
mod writing;

pub use registry::{Handler, Registry};
pub use serve::{Daemon, ServeError, start};

use app::App;
use std::sync::Arc;

/// All built-in methods with what answers them.
pub fn registry(app: Arc<App>) -> Registry {
    let mut r = Registry::new(app);
    r.reads(shop_status::answer);
    r.reads(shop_figures::answer);
    r.writes(shop_set::answer);
    r.reads(wire_list::answer);
    r.reads(wire_show::answer);
    r.reads(former_list::answer);
    r.reads(coil_design::answer);
    r.reads(sheet_section::answer);
    r.writes(spool_receive::answer);
    r.writes(spool_weigh::answer);
    r.writes(spool_measure::answer);
    r.writes(spool_move::answer);
    r.writes(spool_hold::answer);
    r.writes(spool_release::answer);
    r.writes(spool_retire::answer);
    r.reads(spool_list::answer);
    r.reads(spool_show::answer);
    r.writes(job_open::answer);
    r.writes(job_change::answer);
    r.writes(job_cancel::answer);
    r.reads(job_list::answer);
    r.reads(job_show::answer);
    r.reads(job_gate::answer);
    r.writes(job_start::answer);
    r.writes(job_progress::answer);
    r.writes(job_record::answer);
    r.writes(job_step::answer);
    r.writes(job_close::answer);
    r.reads(journal_read::answer);
    r.reads(journal_verify::answer);
    r.writes(journal_undo::answer);
    r
}
