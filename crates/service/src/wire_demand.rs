//! What was drawn of a wire in the past, job by job: from all spools of it, used up ones too.

use crate::app::App;
use crate::day;
use coilwright_core::quantity::Length;
use coilwright_proto::error::RpcError;
use coilwright_shop::id::SpoolId;
use coilwright_shop::spool::{Spool, What};
use coilwright_shop::state::State;
use coilwright_store::Published;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// Most spools looked at, the newest first: those of some years in a shop of five.
const MOST_SPOOLS: u64 = 1000;

/// The past of all wires, over one period.
#[derive(Debug, Clone)]
pub struct Past {
    /// The first day that counts.
    pub from: Date,
    /// Days from then on, today among them.
    pub days: u32,
    /// By wire.
    pub of: BTreeMap<String, Drawn>,
}

/// What was drawn of one wire.
#[derive(Debug, Clone, Default)]
pub struct Drawn {
    /// How many draws.
    pub draws: usize,
    /// Metres by job; a draw for no job stands alone.
    pub by_job: BTreeMap<(String, u64), f64>,
}

impl Drawn {
    /// Wire drawn in all.
    pub fn total(&self) -> Length {
        Length::from_m(self.by_job.values().fold(0.0, |sum, m| sum + m))
    }

    /// Mean metres of a job and their standard deviation; of none zero.
    pub fn of_a_job(&self) -> (f64, f64) {
        let n = self.by_job.len() as f64;
        if n < 1.0 {
            return (0.0, 0.0);
        }
        let mean = self.total().m() / n;
        let squares = self.by_job.values().fold(0.0, |sum, m| sum + (m - mean) * (m - mean));
        (mean, if n > 1.0 { (squares / (n - 1.0)).sqrt() } else { 0.0 })
    }
}

/// What was drawn up to a day, that day included, over as many days as asked for or as the shop's memory has.
///
/// # Errors
/// The journal cannot be read.
pub fn past(app: &App, at: &Published<State>, as_of: Date, days: u32) -> Result<Past, RpcError> {
    app.look_at(at, |published| {
        let state = &published.state;
        let last = state.last_spool().0;
        let first = last.saturating_sub(MOST_SPOOLS - 1).max(1);
        let known = (first..=last).filter_map(|n| state.spool(SpoolId(n)));
        Ok(of_spools(&known.collect::<Vec<_>>(), as_of, days))
    })
}

fn of_spools(spools: &[&Spool], as_of: Date, days: u32) -> Past {
    let on = |at: &jiff::Timestamp| at.to_zoned_datetime(TimeZone::UTC).date();
    let asked = day::days_after(as_of, 1 - i32::try_from(days).unwrap_or(i32::MAX));
    let memory = spools.iter().map(|s| on(&s.received_at)).min().unwrap_or(as_of);
    // A day before the first spool came says nothing about the demand.
    let from = asked.max(memory).min(as_of);
    let mut of: BTreeMap<String, Drawn> = BTreeMap::new();
    for s in spools {
        for p in s.past.iter().filter(|p| (from..=as_of).contains(&on(&p.at))) {
            let What::Drawn { drawn_m, job, .. } = &p.what else { continue };
            let drawn = of.entry(s.wire().key().to_owned()).or_default();
            let key = job.map_or_else(|| (String::new(), p.seq), |j| (j.to_string(), 0));
            drawn.draws += 1;
            *drawn.by_job.entry(key).or_default() += drawn_m.value;
        }
    }
    Past { from, days: u32::try_from(day::days_between(from, as_of)).unwrap_or(0) + 1, of }
}
