//! Reasons as sentences, with their figures.

use crate::answer::Reason;
use coilwright_core::quantity::Length;

/// The reason why `job` is left out, as a sentence.
pub(crate) fn words(job: &str, reason: &Reason) -> String {
    match reason {
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
                "{job}: wire for {possible} of {needed} coils; the rest needs {} in one further piece, and something for safety{tails}",
                metres(*piece)
            )
        }
        Reason::Risk { spool, p_short, allowed } => format!(
            "{job}: the best spool, {spool}, would run short with a probability of {}; {} is allowed",
            percent(*p_short),
            percent(*allowed)
        ),
        Reason::Held { spools } => format!("{job}: it would fit if {} were free", list(spools)),
        Reason::DisplacedByFrozen { by } => {
            format!("{job}: the wire is taken by started coils of {}, which stay where they are", list(by))
        }
        Reason::Displaced { by, value_lost } if by.is_empty() => format!(
            "{job}: it would push other jobs onto wire that is worth less, and the plan would lose {value_lost} of its worth"
        ),
        Reason::Displaced { by, value_lost: 0 } => {
            format!("{job}: it would push out {}, and the plan would be worth no more", list(by))
        }
        Reason::Displaced { by, value_lost } => {
            format!("{job}: it would push out {}, and the plan would lose {value_lost} of its worth", list(by))
        }
        Reason::NoTime { day, minutes, free } => {
            format!("{job}: it takes {minutes:.0} min; up to day {day} the winder has {free:.0} min free")
        }
        Reason::NewPlan { gain, changes } => {
            format!("{job}: a new plan would do it: worth {gain} more, with {changes} changes to the plan in force")
        }
        Reason::PlanRisk { with_it, allowed } => format!(
            "{job}: it fits, but with it the plan would run short with a probability of {}; {} is promised",
            percent(*with_it),
            percent(*allowed)
        ),
    }
}

fn metres(length: Length) -> String {
    format!("{:.2} m", length.m())
}

fn percent(p: f64) -> String {
    format!("{:.2} %", 100.0 * p)
}

fn list(names: &[String]) -> String {
    match names {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
