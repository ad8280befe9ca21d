//! Alerts: what somebody should look at, derived from the state and the day. Never facts; only that one was seen is.
//!
//! An alert's id is stable: it names the kind, the thing and the entry (or date) it rests on. A new reading that leaves
//! the same trouble makes a new alert, so that one seen last month does not hide today's.

use crate::entry::Seq;
use crate::figures::Origin;
use crate::id::{JobId, SpoolId};
use crate::job::{Job, Status};
use crate::spool::{Spool, What};
use crate::state::State;
use coilwright_core::enough::{Remaining, Word};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A job whose wire nobody promised or planned is at risk this many days before it is due: common practice, no source.
const LOOK_AHEAD_DAYS: i32 = 14;
/// The fitted tare is doubtful from this many standard uncertainties of what was stated.
const TARE_DOUBTFUL: f64 = 2.0;

/// What an alert is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A spool does not hold what is promised or planned of it.
    SpoolShort,
    /// A job may not be done in time.
    JobAtRisk,
    /// The reel's mass is not known, or the readings speak against it.
    TareDoubtful,
    /// Neither weighed nor measured for long.
    NotWeighed,
    /// Too little is left for any waiting job or usual coil.
    StrandedEnd,
}

impl Kind {
    /// All of them, the most pressing first.
    pub const ALL: [Kind; 5] =
        [Kind::SpoolShort, Kind::JobAtRisk, Kind::TareDoubtful, Kind::NotWeighed, Kind::StrandedEnd];

    /// As written on the wire.
    pub fn word(self) -> &'static str {
        match self {
            Kind::SpoolShort => "spool_short",
            Kind::JobAtRisk => "job_at_risk",
            Kind::TareDoubtful => "tare_doubtful",
            Kind::NotWeighed => "not_weighed",
            Kind::StrandedEnd => "stranded_end",
        }
    }
}

/// Something to look at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alert {
    /// The same as long as nothing it rests on changes.
    pub id: String,
    /// What it is about.
    pub kind: Kind,
    /// One sentence with figures.
    pub text: String,
    /// What to do.
    pub next_step: String,
    /// The spool, if it is about one.
    pub spool: Option<SpoolId>,
    /// The job, if it is about one.
    pub job: Option<JobId>,
    /// The entry in which somebody saw it.
    pub seen: Option<Seq>,
}

/// Everything to look at on a day: unseen before seen, the most pressing kinds first, then in order of ids.
pub fn alerts(state: &State, today: Date) -> Vec<Alert> {
    let mut all = Vec::new();
    let promised = promises(state);
    for spool in state.spools().filter(|s| s.retired.is_none()) {
        all.extend(short(state, spool, promised.get(&spool.id()).map_or(&[][..], Vec::as_slice)));
        all.extend(tare_doubtful(spool));
        all.extend(not_weighed(state, spool, today));
        all.extend(stranded(state, spool));
    }
    at_risk(state, today, &promised, &mut all);
    for alert in &mut all {
        alert.seen = state.shop().seen.get(&alert.id).copied();
    }
    all.sort_by(|a, b| {
        (a.seen.is_some(), a.kind, a.spool, a.job, &a.id).cmp(&(b.seen.is_some(), b.kind, b.spool, b.job, &b.id))
    });
    all
}

/// What is promised of a spool to whom: to jobs by hold or accepted plan, whichever is more, and to nobody in particular.
fn promises(state: &State) -> BTreeMap<SpoolId, Vec<(Option<JobId>, f64)>> {
    let mut held: BTreeMap<(SpoolId, Option<JobId>), f64> = BTreeMap::new();
    let mut on_winder: BTreeMap<(SpoolId, Option<JobId>), f64> = BTreeMap::new();
    for spool in state.spools() {
        for hold in spool.holds.values() {
            let to = if hold.coil_no.is_some() { &mut on_winder } else { &mut held };
            *to.entry((spool.id(), hold.job)).or_default() += hold.hold_m;
        }
    }
    for a in state.shop().plan.iter().flat_map(|(_, plan)| &plan.assign) {
        let Some(job) = state.job(a.job).filter(|j| j.ended.is_none() && j.plan.wire == a.wire) else { continue };
        let planned = job.plan.need_m.value * f64::from(a.coils.min(job.to_start()));
        let so_far = held.entry((a.spool, Some(a.job))).or_default();
        *so_far = so_far.max(planned);
    }
    for (key, metres) in on_winder {
        *held.entry(key).or_default() += metres;
    }
    let mut by_spool: BTreeMap<SpoolId, Vec<(Option<JobId>, f64)>> = BTreeMap::new();
    for ((spool, job), metres) in held.into_iter().filter(|(_, metres)| *metres > 0.0) {
        by_spool.entry(spool).or_default().push((job, metres));
    }
    for list in by_spool.values_mut() {
        // The most urgent get theirs first; what is promised to nobody comes last.
        list.sort_by_key(|(job, _)| {
            let due = job.and_then(|j| state.job(j)).and_then(|j| j.due_on);
            (job.is_none(), due.is_none(), due, *job)
        });
    }
    by_spool
}

/// The first promise that the spool no longer covers with the shop's confidence.
fn short(state: &State, spool: &Spool, promised: &[(Option<JobId>, f64)]) -> Option<Alert> {
    let confidence = state.figures().confidence.value;
    let there = spool.remaining();
    let mut sum = 0.0;
    for (job, metres) in promised {
        sum += metres;
        let p = there.probability(Length::from_m(sum));
        if Word::of(p, confidence) == Word::Enough {
            continue;
        }
        let whom = job.map_or_else(|| "a promise to nobody in particular".to_owned(), |j| j.to_string());
        let left = there.left;
        return Some(Alert {
            id: id(
                Kind::SpoolShort,
                &format!("{}-{}", spool.id(), job.map_or("all".into(), |j| j.to_string())),
                &last_reading(spool).to_string(),
            ),
            kind: Kind::SpoolShort,
            text: format!(
                "{} holds {:.2} ± {:.2} m, {sum:.2} m are promised or planned up to {whom}: P(enough) {p:.3}.",
                spool.id(),
                left.value.m(),
                left.u.m()
            ),
            next_step: format!("weigh {} again or measure its resistance; then `plan make`", spool.id()),
            spool: Some(spool.id()),
            job: *job,
            seen: None,
        });
    }
    None
}

fn tare_doubtful(spool: &Spool) -> Option<Alert> {
    let stated = spool.past.iter().rev().find_map(|p| match p.what {
        What::Rewound { tare_g } => Some(tare_g),
        _ => None,
    });
    let stated = stated.unwrap_or(spool.received.tare_g);
    let weighed = spool.past.iter().any(|p| matches!(p.what, What::Weighed { .. }));
    let text = match (stated, spool.known().ok().and_then(|c| c.tare)) {
        // A length that was marked or measured does not need a tare.
        (None, _) if !weighed => return None,
        (None, _) => format!("Nobody knows what the bare reel of {} weighs.", spool.id()),
        (Some(stated), Some(fitted)) => {
            let off = fitted.value.g() - stated.value;
            if off.abs() <= TARE_DOUBTFUL * stated.u || stated.u <= 0.0 {
                return None;
            }
            format!(
                "The readings of {} speak for a reel of {:.2} g, {:.2} ± {:.2} g was stated.",
                spool.id(),
                fitted.value.g(),
                stated.value,
                stated.u
            )
        }
        (Some(_), None) => return None,
    };
    Some(Alert {
        id: id(Kind::TareDoubtful, &spool.id().to_string(), &last_reading(spool).to_string()),
        kind: Kind::TareDoubtful,
        text,
        next_step: "measure the resistance of its wire with both ends out, or weigh it before and after a known draw"
            .into(),
        spool: Some(spool.id()),
        job: None,
        seen: None,
    })
}

fn not_weighed(state: &State, spool: &Spool, today: Date) -> Option<Alert> {
    let limit = state.figures().weigh_every_days.value;
    let read = spool.past.iter().rfind(|p| is_reading(&p.what));
    let at = read.map_or(spool.received_at, |p| p.at).to_zoned_datetime(TimeZone::UTC).date();
    let days = at.until(today).map_or(0, |span| span.get_days());
    (f64::from(days) > limit).then(|| Alert {
        id: id(Kind::NotWeighed, &spool.id().to_string(), &last_reading(spool).to_string()),
        kind: Kind::NotWeighed,
        text: format!("{} was last read {days} days ago, on {at}; {limit} days are the shop's limit.", spool.id()),
        next_step: format!("weigh it: `spool weigh {} GRAMS`", spool.id()),
        spool: Some(spool.id()),
        job: None,
        seen: None,
    })
}

/// An end that serves no usual coil of its wire and no waiting job.
fn stranded(state: &State, spool: &Spool) -> Option<Alert> {
    let wire = spool.wire().key();
    let figures = state.figures();
    let shortest = figures.shortest_usual_m(wire)?;
    spool.known().ok()?;
    let left = spool.estimate().left;
    let beside = |held: Length| {
        let rest = Measured::new((left.value - held).max(Length::ZERO), left.u);
        Remaining::new(rest, spool.remaining().draw_doubt)
    };
    let waits = |j: &&Job| j.ended.is_none() && j.to_start() > 0 && j.accepts(wire).is_some();
    let serves = |job: &Job| beside(spool.held_against(job.id)).probability(job.plan.need_m.metres().value) >= 0.5;
    let promised = !spool.holds.is_empty();
    if promised
        || beside(Length::ZERO).probability(Length::from_m(shortest)) >= 0.5
        || state.jobs().filter(waits).any(serves)
    {
        return None;
    }
    Some(Alert {
        id: id(Kind::StrandedEnd, &spool.id().to_string(), &spool.past.last().map_or(0, |p| p.seq).to_string()),
        kind: Kind::StrandedEnd,
        text: format!(
            "{} holds {:.2} ± {:.2} m, too little for the shortest usual coil of its wire ({shortest:.2} m).",
            spool.id(),
            left.value.m(),
            left.u.m()
        ),
        next_step: format!("use it for leads and retire it: `spool retire {}`", spool.id()),
        spool: Some(spool.id()),
        job: None,
        seen: None,
    })
}

/// Jobs that are overdue, soon due without wire, or that the winder's hours do not reach.
fn at_risk(state: &State, today: Date, promised: &BTreeMap<SpoolId, Vec<(Option<JobId>, f64)>>, all: &mut Vec<Alert>) {
    let hours = &state.figures().winder_hours;
    let minutes_a_day = (hours.origin == Origin::Set).then(|| 60.0 * hours.value.iter().sum::<f64>() / 7.0);
    let mut open: Vec<(&Job, Date)> = state
        .jobs()
        .filter(|j| matches!(j.status(), Status::Open | Status::InWork))
        .filter_map(|j| Some((j, j.due_on?)))
        .collect();
    open.sort_by_key(|(j, due)| (*due, std::cmp::Reverse(j.priority), j.id));
    let mut minutes = 0.0;
    for (job, due) in open {
        let days = today.until(due).map_or(0, |span| span.get_days());
        minutes += job.plan.winding_min.unwrap_or(0.0) * f64::from(job.to_start());
        let need = job.plan.need_m.value * f64::from(job.to_start());
        let has: f64 = promised.values().flatten().filter(|(j, _)| *j == Some(job.id)).map(|(_, m)| m).sum();
        let wire_missing = has + 1e-9 < need;
        let there = f64::from(days.max(0) + 1) * minutes_a_day.unwrap_or(f64::INFINITY);
        let (text, next_step) = if days < 0 {
            (format!("{} was due on {due}, {} days ago.", job.id, -days), "tell the customer a new date: `job change`")
        } else if minutes > there {
            (
                format!(
                    "{} is due on {due}: {minutes:.0} min of winding up to it, {there:.0} min at the winder until then.",
                    job.id
                ),
                "move a date, or set more hours with `shop set`",
            )
        } else if wire_missing && days <= LOOK_AHEAD_DAYS {
            (
                format!(
                    "{} is due on {due}, in {days} days, and {:.2} m of its wire are not planned yet.",
                    job.id,
                    need - has
                ),
                "`plan make`, and `plan accept` what it answers; it says what to buy where wire is missing",
            )
        } else {
            continue;
        };
        all.push(Alert {
            id: id(Kind::JobAtRisk, &job.id.to_string(), &due.to_string()),
            kind: Kind::JobAtRisk,
            text,
            next_step: next_step.into(),
            spool: None,
            job: Some(job.id),
            seen: None,
        });
    }
}

fn id(kind: Kind, about: &str, rests_on: &str) -> String {
    format!("{}:{about}:{rests_on}", kind.word())
}

fn is_reading(what: &What) -> bool {
    matches!(what, What::Weighed { .. } | What::Measured { .. } | What::Marked { counts: true, .. })
}

/// The entry of the last reading; 0 where nothing was read.
fn last_reading(spool: &Spool) -> Seq {
    spool.past.iter().rfind(|p| is_reading(&p.what)).map_or(0, |p| p.seq)
}
