//! Why coils lie on the spool they lie on: what would be lost if they lay on the best other one, the rest as it is.
//!
//! The other spool is the one on which the plan would be best. The first goal on which it falls behind is the reason;
//! where no other spool has the room, or the joint risk forbids it, that is.

use crate::door::length;
use crate::layout::{Layout, Placed};
use crate::promise::Promise;
use crate::risk::plan_risk;
use coilwright_core::quantity::Length;
use std::cmp::Reverse;

/// Coils of a job on a spool, and why there.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// The job.
    pub job: String,
    /// The spool.
    pub spool: String,
    /// Coils of it there, started ones included.
    pub coils: u32,
    /// Those of them that are begun; why the others lie there is what is told.
    pub begun: u32,
    /// Why there.
    pub why: Why,
    /// If the coils are not of the job's own wire: that wire, and how little of the job fits it beside the plan.
    pub instead: Option<Instead>,
}

/// The own wire of a job that is made of another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instead {
    /// The wire.
    pub wire: String,
    /// Coils that still fit it.
    pub fit: u32,
    /// Coils to be made.
    pub of: u32,
}

/// Why coils lie on a spool, compared with the best other spool of the wire.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// They are being wound from it.
    Started,
    /// The wire is on no other spool that may be used.
    NoOther,
    /// No other spool has the room.
    OnlyRoom {
        /// Wire that the coils take.
        needed: Length,
        /// The other spool with most room.
        other: String,
        /// Its safe room.
        room: Length,
    },
    /// The plan would break its promise.
    Risk {
        /// The other spool.
        other: String,
        /// Risk of the plan then.
        with_it: f64,
        /// What is promised.
        allowed: f64,
    },
    /// More wire would end in pieces too short to use.
    Ends {
        /// The other spool.
        other: String,
        /// How much more.
        more: Length,
    },
    /// One more spool would be touched.
    Opens {
        /// The other spool.
        other: String,
    },
    /// The plan in force has it so.
    InForce {
        /// The other spool.
        other: String,
    },
    /// A sealed spool would be opened.
    Sealed {
        /// The other spool.
        other: String,
    },
    /// The other spool is younger.
    Older {
        /// The other spool.
        other: String,
        /// By so many days.
        days: u32,
    },
    /// No goal tells them apart.
    Alike {
        /// The other spool.
        other: String,
    },
}

/// Most other spools whose joint risk is looked at for one choice.
const MOST_RISKS: usize = 4;

/// The reason for every choice of a plan; `layout` is left as it was.
pub(crate) fn chosen(promise: &Promise, layout: &mut Layout) -> Vec<Chosen> {
    let mut all = Vec::new();
    for job in 0..layout.placed.len() {
        let Some(placed) = layout.placed[job].clone() else { continue };
        let item = &layout.shelf.jobs[job];
        let asked = &promise.question.jobs[job];
        let mut of_job = Vec::new();
        for &(i, n) in item.started.iter().filter(|s| s.1 > 0 && placed.coils.iter().all(|c| c.0 != s.0)) {
            of_job.push((i, say(promise, job, i, (n, n), Why::Started, None)));
        }
        let wire = placed.coils.first().map(|c| promise.question.spools[c.0].wire.as_str());
        let instead = wire.filter(|w| *w != asked.wire).map(|_| {
            let own =
                item.choices.iter().find(|c| c.bins.iter().any(|&i| promise.question.spools[i].wire == asked.wire));
            let fit: i64 = own.map_or(0, |c| c.bins.iter().map(|&i| layout.room(i).max(0) / c.need).sum());
            Instead { wire: asked.wire.clone(), fit: u32::try_from(fit).unwrap_or(u32::MAX), of: item.coils }
        });
        for &(i, n) in &placed.coils {
            let why = reason(promise, layout, job, &placed, i, n);
            let started = item.started.iter().find(|s| s.0 == i).map_or(0, |s| s.1);
            of_job.push((i, say(promise, job, i, (n + started, started), why, instead.clone())));
        }
        // In the order in which the coils are told.
        of_job.sort_by_key(|&(i, _)| i);
        all.extend(of_job.into_iter().map(|(_, told)| told));
    }
    all
}

fn say(
    promise: &Promise,
    job: usize,
    spool: usize,
    (coils, begun): (u32, u32),
    why: Why,
    instead: Option<Instead>,
) -> Chosen {
    let question = promise.question;
    Chosen { job: question.jobs[job].id.clone(), spool: question.spools[spool].id.clone(), coils, begun, why, instead }
}

fn reason(promise: &Promise, layout: &mut Layout, job: usize, placed: &Placed, at: usize, n: u32) -> Why {
    let choice = &layout.shelf.jobs[job].choices[placed.choice];
    let needed = choice.need * i64::from(n);
    let others: Vec<usize> = choice.bins.iter().copied().filter(|&i| i != at).collect();
    let name = |i: usize| promise.question.spools[i].id.clone();
    let Some(&most) = others.iter().max_by_key(|&&i| (layout.room(i), Reverse(i))) else { return Why::NoOther };
    let here = layout.goals();
    // A matched set goes as a whole, so this is right for it too.
    let mut ways: Vec<_> = Vec::new();
    for &to in &others {
        if layout.room(to) < needed {
            continue;
        }
        let old = layout.take(job);
        layout.put(job, moved(placed, at, to, n));
        let bins = &layout.shelf.bins;
        let later = (Reverse(bins[to].sealed), bins[to].age);
        ways.push((layout.goals(), later, Reverse(bins[to].rank), to));
        layout.take(job);
        if let Some(old) = old {
            layout.put(job, old);
        }
    }
    if ways.is_empty() {
        return Why::OnlyRoom { needed: length(needed), other: name(most), room: length(layout.room(most).max(0)) };
    }
    ways.sort_unstable_by(|a, b| b.cmp(a));
    let mut forbidden = None;
    for &(there, _, _, to) in ways.iter().take(MOST_RISKS) {
        if let Some(allowed) = promise.question.risk {
            let with_it = plan_risk(promise.question, &loads(promise, layout, at, to, needed));
            if with_it > allowed {
                forbidden.get_or_insert(Why::Risk { other: name(to), with_it, allowed });
                continue;
            }
        }
        return compared(promise, layout, (job, at, to), here, there);
    }
    forbidden.unwrap_or(Why::OnlyRoom {
        needed: length(needed),
        other: name(most),
        room: length(layout.room(most).max(0)),
    })
}

/// Loads of the plan with a length moved from one spool to another.
fn loads(promise: &Promise, layout: &Layout, from: usize, to: usize, mm: i64) -> Vec<(usize, i64)> {
    let mut loads = promise.loads(layout, false);
    loads.iter_mut().filter(|l| l.0 == from).for_each(|l| l.1 -= mm);
    match loads.iter_mut().find(|l| l.0 == to) {
        Some(load) => load.1 += mm,
        None => loads.push((to, layout.shelf.bins[to].fixed + layout.used[to] + mm)),
    }
    loads
}

fn compared(
    promise: &Promise,
    layout: &Layout,
    (job, at, to): (usize, usize, usize),
    here: [i64; 4],
    there: [i64; 4],
) -> Why {
    let other = promise.question.spools[to].id.clone();
    let bins = &layout.shelf.bins;
    if there[2] < here[2] {
        return Why::Ends { other, more: length(here[2] - there[2]) };
    }
    if there[2] == here[2] && there[3] < here[3] {
        return Why::Opens { other };
    }
    if layout.shelf.incumbent.contains_key(&(job, at)) {
        return Why::InForce { other };
    }
    if bins[to].sealed && !bins[at].sealed {
        return Why::Sealed { other };
    }
    if bins[at].age > bins[to].age {
        return Why::Older { other, days: u32::try_from(bins[at].age - bins[to].age).unwrap_or(u32::MAX) };
    }
    Why::Alike { other }
}

fn moved(placed: &Placed, from: usize, to: usize, coils: u32) -> Placed {
    let mut lies: std::collections::BTreeMap<usize, u32> = placed.coils.iter().copied().collect();
    lies.remove(&from);
    *lies.entry(to).or_default() += coils;
    Placed { choice: placed.choice, coils: lies.into_iter().collect() }
}

#[cfg(test)]
mod tests {
    use crate::plan::{Effort, plan};
    use crate::question::{Assigned, Job, Need, Question, Spool};
    use crate::why::Why;
    use coilwright_core::measured::Measured;
    use coilwright_core::quantity::Length;

    fn m(x: f64) -> Length {
        Length::from_m(x)
    }

    fn question(spools: &[(&str, f64)], coils: u32) -> Question {
        Question {
            spools: spools.iter().map(|(id, left)| Spool::new(id, "A", Measured::certain(m(*left)))).collect(),
            jobs: vec![Job::new("J1", "A", coils, Need { net: m(10.0), ..Need::default() }, 3)],
            ..Question::default()
        }
    }

    #[track_caller]
    fn why(q: &Question) -> Why {
        let plan = plan(q, Effort::default(), &|| true).unwrap();
        assert_eq!(plan.chosen.len(), 1, "{plan:?}");
        assert_eq!(plan.assign.len(), 1);
        assert!(plan.chosen[0].sentence().len() > 10);
        plan.chosen[0].why.clone()
    }

    #[test]
    fn each_goal_in_its_turn_is_the_reason() {
        assert_eq!(why(&question(&[("s1", 50.0)], 2)), Why::NoOther);
        let short = why(&question(&[("s1", 15.0), ("s2", 50.0)], 2));
        assert_eq!(short, Why::OnlyRoom { needed: m(20.0), other: "s1".into(), room: m(15.0) });
        // 32 m less 20 m leaves 12 m, a coil; 25 m less 20 m leaves 5 m, none.
        let mut ends = question(&[("s1", 25.0), ("s2", 32.0)], 2);
        ends.smallest_coil = [("A".to_owned(), m(10.0))].into();
        assert_eq!(why(&ends), Why::Ends { other: "s1".into(), more: m(5.0) });
        let mut age = question(&[("s1", 50.0), ("s2", 50.0)], 1);
        age.spools[1].age_days = 9;
        assert_eq!(why(&age), Why::Older { other: "s1".into(), days: 9 });
        age.spools[1].opened = false;
        assert_eq!(why(&age), Why::Sealed { other: "s2".into() });
        let alike = question(&[("s1", 50.0), ("s2", 50.0)], 1);
        assert_eq!(why(&alike), Why::Alike { other: "s2".into() });
        let mut kept = alike;
        kept.incumbent = vec![Assigned { job: "J1".into(), wire: "A".into(), spool: "s2".into(), coils: 1 }];
        assert_eq!(why(&kept), Why::InForce { other: "s1".into() });
    }

    #[test]
    fn a_spool_in_use_beats_opening_another() {
        let mut q = question(&[("s1", 100.0), ("s2", 50.0)], 1);
        q.jobs.push(Job::new("J2", "A", 7, Need { net: m(10.0), ..Need::default() }, 3));
        let plan = plan(&q, Effort::default(), &|| true).unwrap();
        let j1 = plan.chosen.iter().find(|c| c.job == "J1").unwrap();
        assert_eq!((j1.spool.as_str(), &j1.why), ("s1", &Why::Opens { other: "s2".into() }));
    }

    #[test]
    fn a_substitute_says_what_the_own_wire_lacks() {
        let mut q = question(&[("s1", 15.0), ("s2", 50.0)], 2);
        q.spools[1].wire = "B".into();
        q.jobs[0].alternates = vec![crate::question::Alternate { wire: "B".into(), penalty: 1, need: None }];
        let plan = plan(&q, Effort::default(), &|| true).unwrap();
        let instead = plan.chosen[0].instead.clone().unwrap();
        assert_eq!((instead.wire.as_str(), instead.fit, instead.of), ("A", 1, 2));
        assert_eq!(
            plan.chosen[0].sentence(),
            "its own wire A has room for 1 of 2 coils; s2 is the only spool of that wire for 2 coils"
        );
    }
}
