//! Reasons as sentences, with their figures. Days and worth are told in the asker's own manner.

use crate::answer::{Reason, Refused};
use crate::why::{Chosen, Why};
use coilwright_core::quantity::Length;

/// How whoever asks speaks of days and of worth.
#[derive(Clone, Copy)]
pub struct Tell<'a> {
    /// A day counted from today as 1, e.g. its date.
    pub day: &'a dyn Fn(i32) -> String,
    /// Units of priority that the asker counts as one.
    pub one: f64,
}

/// Days by their number, worth as it stands.
pub const PLAIN: Tell<'static> = Tell { day: &numbered, one: 1.0 };

fn numbered(day: i32) -> String {
    format!("day {day}")
}

impl Tell<'_> {
    fn worth(&self, worth: i64) -> String {
        let text = format!("{:.2}", worth as f64 / self.one);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }
}

impl Refused {
    /// Why the job is left out, in a sentence.
    pub fn sentence(&self, tell: Tell) -> String {
        let job = &self.job;
        match &self.reason {
            Reason::NoContinuousLength { longest, needed, .. } if longest.m() <= 0.0 => {
                format!("{job}: there is no wire of that kind; one coil needs {}", metres(*needed))
            }
            Reason::NoContinuousLength { longest, needed, shortfall } => format!(
                "{job}: one coil needs {} in one piece; the longest is {}, {} too short",
                metres(*needed),
                metres(*longest),
                metres(*shortfall)
            ),
            Reason::Tails { longest, needed, net } => format!(
                "{job}: with tails and scrap one coil needs {} in one piece ({} without); the longest is {}",
                metres(*needed),
                metres(*net),
                metres(*longest)
            ),
            Reason::NotEnoughCoils { possible, needed, piece, tails_tip_it, .. } => {
                let tails = if *tails_tip_it { "; without tails and scrap all would fit" } else { "" };
                format!(
                    "{job}: wire for {possible} of {}; the rest needs {} in one further piece, and something for safety{tails}",
                    coils(*needed),
                    metres(*piece)
                )
            }
            Reason::Risk { spool, p_short, allowed } => format!(
                "{job}: the best spool, {spool}, would run short with a probability of {}; {} is allowed",
                percent(*p_short),
                percent(*allowed)
            ),
            Reason::Held { spools, fit, needed } => {
                format!("{job}: wire for {fit} of {} is free; all would fit if {} were", coils(*needed), list(spools))
            }
            Reason::DisplacedByFrozen { by, fit, needed } => format!(
                "{job}: started coils of {}, which stay where they are, leave wire for {fit} of {}",
                list(by),
                coils(*needed)
            ),
            Reason::Displaced { by, value_lost } if by.is_empty() => format!(
                "{job}: it would push other jobs onto wire that is worth less, and the plan would lose {} of its worth",
                tell.worth(*value_lost)
            ),
            Reason::Displaced { by, value_lost: 0 } => {
                format!("{job}: it would push out {}, and the plan would be worth 0 more", list(by))
            }
            Reason::Displaced { by, value_lost } => {
                format!(
                    "{job}: it would push out {}, and the plan would lose {} of its worth",
                    list(by),
                    tell.worth(*value_lost)
                )
            }
            Reason::Taken { fit, needed, longest } => format!(
                "{job}: the planned jobs leave wire for {fit} of {} (the longest free piece is {}); which it would push out was not worked out",
                coils(*needed),
                metres(*longest)
            ),
            Reason::NoTime { day, minutes, free } => {
                format!(
                    "{job}: it takes {minutes:.0} min; up to {} the winder has {free:.0} min free",
                    (tell.day)(*day)
                )
            }
            Reason::NewPlan { gain, changes } => format!(
                "{job}: a new plan would do it: worth {} more, with {} to the plan in force",
                tell.worth(*gain),
                if *changes == 1 { "1 change".to_owned() } else { format!("{changes} changes") }
            ),
            Reason::PlanRisk { with_it, allowed } => format!(
                "{job}: it fits, but with it the plan would run short with a probability of {}; {} is promised",
                percent(*with_it),
                percent(*allowed)
            ),
        }
    }
}

impl Chosen {
    /// Why the coils lie on the spool, in a sentence.
    pub fn sentence(&self) -> String {
        let spool = &self.spool;
        let new = coils(self.coils - self.begun);
        let why = match &self.why {
            Why::Started => format!("{} already being wound from {spool}", are(self.coils)),
            Why::NoOther => format!("{spool} is the only spool of that wire for {new}"),
            Why::OnlyRoom { needed, other, room } => format!(
                "only {spool} has {} safely free for {}; the next, {other}, has {}",
                metres(*needed),
                new,
                metres(*room)
            ),
            Why::Risk { other, with_it, allowed } => format!(
                "on {other} the plan would run short with a probability of {}; {} is allowed",
                percent(*with_it),
                percent(*allowed)
            ),
            Why::Ends { other, more } => {
                format!("on {other} the plan would leave {} more in ends too short to use", metres(*more))
            }
            Why::Opens { other } => format!("{spool} is used anyway; {other} would be 1 more spool on the winder"),
            Why::InForce { other } => format!("the accepted plan has {new} there; {other} would do as well"),
            Why::Sealed { other } => {
                format!("{spool} is open already, {other} is not; either has room for {new}")
            }
            Why::Older { other, days } => {
                format!(
                    "{spool} is {} older than {other}",
                    if *days == 1 { "1 day".into() } else { format!("{days} days") }
                )
            }
            Why::Alike { other } => {
                format!("{other} would do just as well for {new}; {spool} comes first")
            }
        };
        match &self.instead {
            None => why,
            Some(own) => format!("its own wire {} has room for {} of {}; {why}", own.wire, own.fit, coils(own.of)),
        }
    }
}

fn coils(n: u32) -> String {
    if n == 1 { "1 coil".into() } else { format!("{n} coils") }
}

fn are(n: u32) -> String {
    if n == 1 { "1 coil is".into() } else { format!("{n} coils are") }
}

fn metres(length: Length) -> String {
    format!("{:.2} m", length.m())
}

fn percent(p: f64) -> String {
    format!("{:.2} %", 100.0 * p)
}

fn list(names: &[String]) -> String {
    const MOST: usize = 6;
    match names {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [some @ .., _] if names.len() > MOST => {
            let some = some.get(..MOST - 1).unwrap_or(some);
            format!("{} and {} more", some.join(", "), names.len() - some.len())
        }
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
