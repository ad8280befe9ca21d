//! What can be claimed about a plan's value: by the quick bound, the linear program, or every plan there is.

use crate::answer::Proof;
use crate::bound::{bound, fits_alone};
use crate::exact::{Exact, exact};
use crate::layout::Layout;
use crate::linear::linear;
use crate::plan::{Depth, Effort};
use crate::promise::Promise;
use crate::search::{Ahead, Found, tidy};

/// Most coils of a question that is solved exactly, and most steps spent on it: for a plan that someone waits for, and on
/// request.
const SMALL: (u64, u64) = (80, 20_000);
const LARGER: (u64, u64) = (250, 2_000_000);

/// What is known before the search: the most that a plan can be worth, and the jobs that the linear program would do.
pub(crate) fn ahead(promise: &Promise, effort: Effort, go_on: &dyn Fn() -> bool) -> Ahead {
    let shelf = &promise.loosest;
    let quick = bound(shelf);
    let linear = if effort.proof == Depth::Full && go_on() { linear(shelf, go_on) } else { None };
    linear.map_or(Ahead { most: quick, wanted: Vec::new() }, |l| Ahead { most: l.most.min(quick), wanted: l.jobs })
}

/// Lowers the bound `most`, or finds a better plan, by looking at every plan if the question is small.
pub(crate) fn prove(
    promise: &Promise,
    mut found: Found,
    mut most: i64,
    effort: Effort,
    go_on: &dyn Fn() -> bool,
) -> (Found, i64) {
    let shelf = &promise.loosest;
    let coils: u64 = shelf.jobs.iter().map(|j| u64::from(j.coils)).sum();
    let (few, steps) = match effort.proof {
        Depth::Quick => SMALL,
        Depth::Full => LARGER,
    };
    let layout = Layout::from(shelf, &found.assignment);
    // The exact search takes started jobs as done; where they are not, it has nothing to say.
    let started_wait = layout.missing().any(|j| shelf.jobs[j].must && fits_alone(shelf, j));
    if layout.value() < most && coils <= few && !started_wait && !found.stopped {
        let Exact { better, complete } = exact(promise, layout.value(), steps, go_on);
        if let Some(assignment) = better {
            found = Found { assignment, factor: None, ..found };
        }
        if complete {
            most = Layout::from(shelf, &found.assignment).value();
        }
    }
    // Rounds on a small question cost next to nothing; the later goals have no proof and take what they can get.
    if coils <= SMALL.0 { (tidy(promise, found, effort, go_on), most) } else { (found, most) }
}

/// The bound and what it proves about a plan of a value, `factor` being the safety factor that all its spools keep.
pub(crate) fn claim(promise: &Promise, value: i64, most: i64, factor: Option<f64>) -> (i64, Proof) {
    if value >= most {
        return (value, Proof::Optimal);
    }
    match factor {
        Some(z) if value >= bound(&promise.shelf(z)) => (most, Proof::OptimalAtFactor { z }),
        _ => (most, Proof::Gap),
    }
}
