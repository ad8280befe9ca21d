//! Small questions solved to the end: every set of jobs that could be worth more is shown to be impossible, or is packed.
//!
//! Jobs are taken or left in the order of their worth for their wire. A branch ends when what is taken plus the most
//! that the rest could add is no better than the best plan, or when what is taken cannot fit. A set that is left over is
//! packed coil by coil, longest first; that search too looks at every way, so that "does not fit" is proved. Steps are
//! counted; past their number nothing is claimed.

use crate::door::Shelf;
use crate::layout::{Assignment, Layout, Placed};
use crate::promise::Promise;

/// What the exact search came to.
pub(crate) struct Exact {
    /// A plan worth more than the one to beat, the best there is if `complete`.
    pub better: Option<Assignment>,
    /// Every plan was looked at, or ruled out.
    pub complete: bool,
}

/// Looks for a plan worth more than `value` among all that do every started job, within a number of steps.
pub(crate) fn exact(promise: &Promise, value: i64, steps: u64, go_on: &dyn Fn() -> bool) -> Exact {
    let shelf = &promise.loosest;
    let mut order: Vec<usize> = (0..shelf.jobs.len()).filter(|&j| crate::bound::fits_alone(shelf, j)).collect();
    order.sort_by(|&a, &b| {
        let density = |j: usize| crate::construct::density(shelf, j, 1.0);
        shelf.jobs[b].must.cmp(&shelf.jobs[a].must).then(density(b).total_cmp(&density(a)))
    });
    let mut position = vec![usize::MAX; shelf.jobs.len()];
    order.iter().enumerate().for_each(|(at, &j)| position[j] = at);
    let mut search = Search {
        position,
        symmetric: symmetric(shelf),
        promise,
        shelf,
        rulers: rulers(shelf, &order),
        order,
        taken: Vec::new(),
        value,
        better: None,
        steps,
        stopped: false,
        go_on,
    };
    search.decide(0, 0);
    Exact { better: search.better, complete: !search.stopped }
}

fn symmetric(shelf: &Shelf) -> bool {
    let choices = || shelf.jobs.iter().flat_map(|j| &j.choices);
    choices().all(|a| choices().all(|b| a.wire != b.wire || a.bins == b.bins))
}

/// Something that all jobs share: the room of all spools of some wires in whole steps of a length, or the winder's time.
struct Ruler {
    left: i64,
    /// What all coils of each job take of it, by job; 0 for jobs that may be made elsewhere.
    takes: Vec<i64>,
    /// Jobs in the order of their worth for what they take.
    by_density: Vec<usize>,
}

/// Rulers by wire and over all wires, with steps of the length of each kind of coil, its half, third and quarter; and
/// one for each due day.
fn rulers(shelf: &Shelf, order: &[usize]) -> Vec<Ruler> {
    let mut rulers = Vec::new();
    let need = |j: usize| shelf.jobs[j].choices.iter().map(|c| c.need).min().unwrap_or(0);
    for wire in 0..=shelf.wires {
        // The last one measures all wires together, so that a job is caught wherever it is made.
        let of_wire = |w: usize| wire == shelf.wires || w == wire;
        let inside = |j: usize| shelf.jobs[j].choices.iter().all(|c| of_wire(c.wire));
        let kinds = order.iter().filter(|&&j| inside(j)).flat_map(|&j| (1..=4).map(move |k| (need(j) / k).max(1)));
        let mut lengths: Vec<i64> = kinds.collect();
        lengths.sort_unstable();
        lengths.dedup();
        for step in lengths {
            let takes = |j: usize| if inside(j) { need(j) / step * i64::from(shelf.jobs[j].coils) } else { 0 };
            let room = shelf.bins.iter().filter(|b| of_wire(b.wire)).map(|b| b.room / step).sum();
            rulers.push(ruler(shelf, order, room, takes));
        }
    }
    for (d, day) in shelf.days.iter().enumerate() {
        let takes = |j: usize| if shelf.jobs[j].day.is_some_and(|x| x <= d) { shelf.jobs[j].minutes } else { 0 };
        rulers.push(ruler(shelf, order, day.limit, takes));
    }
    rulers
}

fn ruler(shelf: &Shelf, order: &[usize], left: i64, takes: impl Fn(usize) -> i64) -> Ruler {
    let takes: Vec<i64> = (0..shelf.jobs.len()).map(takes).collect();
    let mut by_density = order.to_vec();
    let cross = |a: usize, b: usize| i128::from(most_worth(shelf, a)) * i128::from(takes[b]);
    by_density.sort_by(|&a, &b| cross(b, a).cmp(&cross(a, b)));
    Ruler { left, takes, by_density }
}

fn most_worth(shelf: &Shelf, job: usize) -> i64 {
    shelf.jobs[job].choices.first().map_or(0, |c| c.worth.max(0))
}

struct Search<'a> {
    promise: &'a Promise<'a>,
    shelf: &'a Shelf,
    rulers: Vec<Ruler>,
    order: Vec<usize>,
    /// Place of each job in the order.
    position: Vec<usize>,
    /// All jobs of a wire may use the same spools, so that spools alike are interchangeable.
    symmetric: bool,
    /// Jobs taken and the wire chosen for each.
    taken: Vec<(usize, usize)>,
    /// Worth of the best plan known.
    value: i64,
    better: Option<Assignment>,
    steps: u64,
    stopped: bool,
    go_on: &'a dyn Fn() -> bool,
}

impl Search<'_> {
    /// False once the steps are used up.
    fn step(&mut self) -> bool {
        if self.steps == 0 || (self.steps.is_multiple_of(1024) && !(self.go_on)()) {
            self.stopped = true;
        }
        self.steps = self.steps.saturating_sub(1);
        !self.stopped
    }

    fn decide(&mut self, at: usize, worth: i64) {
        if !self.step() || !self.may_beat(at, worth) {
            return;
        }
        let Some(&job) = self.order.get(at) else {
            self.pack(worth);
            return;
        };
        for choice in 0..self.shelf.jobs[job].choices.len() {
            self.taken.push((job, choice));
            self.rulers.iter_mut().for_each(|r| r.left -= r.takes[job]);
            if self.rulers.iter().all(|r| r.left >= 0) && self.wires_hold() {
                self.decide(at + 1, worth + self.shelf.jobs[job].choices[choice].worth);
            }
            self.rulers.iter_mut().for_each(|r| r.left += r.takes[job]);
            self.taken.pop();
        }
        if !self.shelf.jobs[job].must {
            self.decide(at + 1, worth);
        }
    }

    /// Whether the jobs not yet decided could lift the worth above the best plan's.
    fn may_beat(&self, at: usize, worth: i64) -> bool {
        let rest: i64 = self.order[at..].iter().map(|&j| most_worth(self.shelf, j)).sum();
        worth + rest > self.value && self.rulers.iter().all(|r| worth + self.fraction(r, at) > self.value)
    }

    /// Fractional knapsack of the jobs not yet decided, rounded down.
    fn fraction(&self, ruler: &Ruler, at: usize) -> i64 {
        let mut left = ruler.left.max(0);
        let mut worth = 0;
        for &job in ruler.by_density.iter().filter(|&&j| self.position[j] >= at) {
            let (size, one) = (ruler.takes[job], most_worth(self.shelf, job));
            if size > left {
                return worth + (i128::from(one) * i128::from(left) / i128::from(size)) as i64;
            }
            left -= size;
            worth += one;
        }
        worth
    }

    /// Each wire holds what was chosen for it, in steps of the length of each of its coils.
    fn wires_hold(&self) -> bool {
        let way = |&(j, c): &(usize, usize)| (&self.shelf.jobs[j].choices[c], i64::from(self.shelf.jobs[j].coils));
        self.taken.iter().map(way).all(|(step, _)| {
            let room: i64 = self.shelf.bins.iter().filter(|b| b.wire == step.wire).map(|b| b.room / step.need).sum();
            let takes = self.taken.iter().map(way).filter(|(c, _)| c.wire == step.wire);
            takes.map(|(c, coils)| c.need / step.need * coils).sum::<i64>() <= room
        })
    }

    /// Packs the jobs taken, if they can be packed.
    fn pack(&mut self, worth: i64) {
        let mut jobs = self.taken.clone();
        jobs.sort_by_key(|&(j, c)| std::cmp::Reverse(self.shelf.jobs[j].choices[c].need));
        let shelf = self.shelf;
        let mut layout = Layout::new(shelf);
        if self.pack_from(&jobs, &mut layout) {
            self.value = worth;
            self.better = Some(layout.placed);
        }
    }

    fn pack_from(&mut self, jobs: &[(usize, usize)], layout: &mut Layout) -> bool {
        let Some((&(job, choice), rest)) = jobs.split_first() else { return true };
        if !self.may_pack(jobs, layout) {
            return false;
        }
        let coils = self.shelf.jobs[job].coils;
        self.spread(job, choice, 0, coils, &mut Vec::new(), rest, layout)
    }

    /// Conditions that jobs still to be packed must meet beside what is packed: steps of several lengths, wire by wire.
    fn may_pack(&self, jobs: &[(usize, usize)], layout: &Layout) -> bool {
        let way = |&(j, c): &(usize, usize)| (&self.shelf.jobs[j].choices[c], i64::from(self.shelf.jobs[j].coils));
        jobs.iter().map(way).all(|(kind, _)| {
            (1..=3).map(|k| (kind.need / k).max(1)).all(|step| {
                let takes = jobs.iter().map(way).filter(|(c, _)| c.wire == kind.wire);
                let takes: i64 = takes.map(|(c, coils)| c.need / step * coils).sum();
                let rooms = (0..self.shelf.bins.len()).filter(|&i| self.shelf.bins[i].wire == kind.wire);
                takes <= rooms.map(|i| layout.room(i).max(0) / step).sum()
            })
        })
    }

    /// Every way to spread the coils of a job over its spools from the one at `from` on.
    #[allow(clippy::too_many_arguments, reason = "one recursion, its whole state in the open")]
    fn spread(
        &mut self,
        job: usize,
        choice: usize,
        from: usize,
        coils: u32,
        lies: &mut Vec<(usize, u32)>,
        rest: &[(usize, usize)],
        layout: &mut Layout,
    ) -> bool {
        if !self.step() {
            return false;
        }
        let shelf = self.shelf;
        if coils == 0 {
            layout.put(job, Placed { choice, coils: lies.clone() });
            // More on a spool is never less risky, so a part that breaks the promise cannot be mended.
            if self.promise.kept(layout) && self.pack_from(rest, layout) {
                return true;
            }
            layout.take(job);
            return false;
        }
        let way = &shelf.jobs[job].choices[choice];
        let left: i64 = way.bins.iter().skip(from).map(|&i| layout.room(i).max(0) / way.need).sum();
        if left < i64::from(coils) {
            return false;
        }
        let Some(&bin) = way.bins.get(from) else { return false };
        // Of two spools alike in all, the first is filled before the second.
        let before = from.checked_sub(1).map(|at| way.bins[at]);
        let twin = before.is_some_and(|a| lies.last().is_none_or(|l| l.0 != a) && self.twins(a, bin, layout));
        let most = if twin { 0 } else { (layout.room(bin).max(0) / way.need).min(i64::from(coils)) as u32 };
        for n in (0..=most).rev() {
            if n > 0 && shelf.jobs[job].matched && n < coils {
                continue;
            }
            if n > 0 {
                lies.push((bin, n));
            }
            if self.spread(job, choice, from + 1, coils - n, lies, rest, layout) {
                return true;
            }
            if n > 0 {
                lies.pop();
            }
        }
        false
    }

    /// Two spools that no rule can tell apart: same room, nothing on them, same doubt.
    fn twins(&self, a: usize, b: usize, layout: &Layout) -> bool {
        let (x, y) = (&self.promise.question.spools[a], &self.promise.question.spools[b]);
        self.symmetric
            && layout.room(a) == layout.room(b)
            && layout.used[a] == 0
            && layout.used[b] == 0
            && self.shelf.bins[a].fixed == self.shelf.bins[b].fixed
            && (x.left, x.draw_doubt, x.half_digit, x.safe) == (y.left, y.draw_doubt, y.half_digit, y.safe)
    }
}
