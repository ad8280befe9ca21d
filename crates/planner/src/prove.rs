//! What can be claimed about a plan's value: by the quick bound, the linear program, or every plan there is.

use crate::answer::Proof;
use crate::bound::{bound, fits_alone};
use crate::exact::{Exact, exact};
use crate::layout::Layout;
use crate::linear::linear;
use crate::plan::{Depth, Effort};
use crate::promise::Promise;
use crate::search::{Found, from_jobs, tidy};

/// Most coils of a question that is solved exactly, and most steps spent on it: for a plan that someone waits for, and on
/// request.
const SMALL: (u64, u64) = (80, 20_000);
const LARGER: (u64, u64) = (250, 2_000_000);

/// Lowers the bound `most`, or finds a better plan, by heavier means where the quick bound leaves a gap.
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
    let mut layout = Layout::from(shelf, &found.assignment);
    if effort.proof == Depth::Full
        && layout.value() < most
        && let Some(linear) = linear(shelf, go_on)
    {
        most = linear.most.min(most);
        found = from_jobs(promise, found, linear.jobs, most, effort, go_on);
        layout = Layout::from(shelf, &found.assignment);
    }
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
