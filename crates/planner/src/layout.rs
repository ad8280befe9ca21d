//! A plan being worked on: what lies where, with its goals kept up to date as jobs are put on and taken off.

use crate::door::Shelf;
use std::cmp::Reverse;

/// Where the coils of one job lie (started ones not included).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Placed {
    /// Which of the job's choices.
    pub choice: usize,
    /// Spool and number of coils, by spool, none twice, none zero.
    pub coils: Vec<(usize, u32)>,
}

/// A whole plan by job.
pub(crate) type Assignment = Vec<Option<Placed>>;

/// The first goals in their order, greater is better: started jobs, value, useless ends (negative), spools touched
/// (negative).
pub(crate) type Goals = [i64; 4];

/// All goals in their order, greater is better: the first four, changes to the plan in force, earlier jobs done, sealed
/// spools, age of the spools touched, their names.
pub(crate) type AllGoals = (Goals, Reverse<usize>, Vec<bool>, Reverse<usize>, i64, Reverse<i64>);

/// A plan on a shelf. What is put on must fit; `place` sees to that.
#[derive(Debug, Clone)]
pub(crate) struct Layout<'a> {
    pub shelf: &'a Shelf,
    /// Millimetres put on each spool.
    pub used: Vec<i64>,
    /// Coils put on each spool.
    count: Vec<u32>,
    pub placed: Assignment,
    /// Winder's time taken up to each due day.
    time: Vec<i64>,
    /// Room left on each wire.
    wire_room: Vec<i64>,
    /// Sum of the squares of the rooms left.
    gathered: i128,
    goals: Goals,
}

impl<'a> Layout<'a> {
    /// An empty plan: only started coils lie on the spools.
    pub fn new(shelf: &'a Shelf) -> Layout<'a> {
        let n = shelf.bins.len();
        let mut layout = Layout {
            shelf,
            used: vec![0; n],
            count: vec![0; n],
            placed: vec![None; shelf.jobs.len()],
            time: vec![0; shelf.days.len()],
            wire_room: vec![0; shelf.wires],
            gathered: 0,
            goals: [0; 4],
        };
        for (i, bin) in shelf.bins.iter().enumerate() {
            layout.wire_room[bin.wire] += bin.room;
            layout.gathered += square(bin.room);
            layout.goals[2] -= layout.useless(i);
            layout.goals[3] -= layout.touched(i);
        }
        layout
    }

    /// A plan as given; jobs that do not fit on this shelf any more are left out.
    pub fn from(shelf: &'a Shelf, assignment: &Assignment) -> Layout<'a> {
        let mut layout = Layout::new(shelf);
        for (job, placed) in assignment.iter().enumerate() {
            if let Some(placed) = placed
                && layout.fits(job, placed)
            {
                layout.put(job, placed.clone());
            }
        }
        layout
    }

    /// Whether a job would fit just so.
    pub fn fits(&self, job: usize, placed: &Placed) -> bool {
        let choice = &self.shelf.jobs[job].choices[placed.choice];
        self.has_time(job) && placed.coils.iter().all(|&(i, n)| choice.need * i64::from(n) <= self.room(i))
    }

    /// Millimetres that may still be put on a spool.
    pub fn room(&self, bin: usize) -> i64 {
        self.shelf.bins[bin].room - self.used[bin]
    }

    /// Room left on all spools of a wire together.
    pub fn wire_room(&self, wire: usize) -> i64 {
        self.wire_room[wire]
    }

    /// Sum of the squares of the rooms left: more the more of the room is on few spools, where it serves further coils.
    pub fn gathered(&self) -> i128 {
        self.gathered
    }

    /// Whether a spool carries anything.
    pub fn is_touched(&self, bin: usize) -> bool {
        self.count[bin] > 0 || self.shelf.bins[bin].begun
    }

    /// What is expected to be left on a spool.
    pub fn left(&self, bin: usize) -> i64 {
        self.shelf.bins[bin].left - self.used[bin]
    }

    /// Whether the winder has the time for a job that is not in the plan.
    pub fn has_time(&self, job: usize) -> bool {
        let item = &self.shelf.jobs[job];
        let Some(first) = item.day else { return true };
        (first..self.shelf.days.len()).all(|d| self.time[d] + item.minutes <= self.shelf.days[d].limit)
    }

    /// The first due day that a job would break, with the time taken up to it.
    pub fn late_day(&self, job: usize) -> Option<(usize, i64)> {
        let item = &self.shelf.jobs[job];
        let first = item.day?;
        (first..self.shelf.days.len())
            .find(|&d| self.time[d] + item.minutes > self.shelf.days[d].limit)
            .map(|d| (d, self.time[d]))
    }

    /// Takes the winder's time for a job without putting it in.
    pub fn book_time(&mut self, job: usize) {
        let item = &self.shelf.jobs[job];
        if let Some(first) = item.day {
            self.time[first..].iter_mut().for_each(|t| *t += item.minutes);
        }
    }

    /// The first due day up to which more is planned than there is time for.
    pub fn overtime(&self) -> Option<usize> {
        (0..self.time.len()).find(|&d| self.time[d] > self.shelf.days[d].limit)
    }

    /// Puts a job into the plan.
    pub fn put(&mut self, job: usize, placed: Placed) {
        self.shift(job, &placed, 1);
        self.placed[job] = Some(placed);
    }

    /// Takes a job out of the plan.
    pub fn take(&mut self, job: usize) -> Option<Placed> {
        let placed = self.placed[job].take()?;
        self.shift(job, &placed, -1);
        Some(placed)
    }

    fn shift(&mut self, job: usize, placed: &Placed, sign: i64) {
        let item = &self.shelf.jobs[job];
        let choice = &item.choices[placed.choice];
        for &(i, n) in &placed.coils {
            self.goals[2] += self.useless(i);
            self.goals[3] += self.touched(i);
            let length = choice.need * i64::from(n) * sign;
            self.gathered -= square(self.room(i));
            self.used[i] += length;
            self.gathered += square(self.room(i));
            self.wire_room[choice.wire] -= length;
            self.count[i] = if sign > 0 { self.count[i] + n } else { self.count[i] - n };
            self.goals[2] -= self.useless(i);
            self.goals[3] -= self.touched(i);
        }
        if let Some(first) = item.day {
            self.time[first..].iter_mut().for_each(|t| *t += item.minutes * sign);
        }
        self.goals[1] += choice.worth * sign;
        if item.must {
            self.goals[0] += choice.worth.max(1) * sign;
        }
    }

    fn useless(&self, bin: usize) -> i64 {
        let left = self.left(bin);
        if self.is_touched(bin) && left < self.shelf.bins[bin].usual { left.max(0) } else { 0 }
    }

    fn touched(&self, bin: usize) -> i64 {
        i64::from(self.is_touched(bin))
    }

    /// The first goals.
    pub fn goals(&self) -> Goals {
        self.goals
    }

    /// Priority done.
    pub fn value(&self) -> i64 {
        self.goals[1]
    }

    /// All goals.
    pub fn all_goals(&self) -> AllGoals {
        let bins = &self.shelf.bins;
        let done = self.shelf.by_due.iter().map(|&j| self.placed[j].is_some()).collect();
        let touched: Vec<usize> = (0..bins.len()).filter(|&i| self.is_touched(i)).collect();
        let sealed = touched.iter().filter(|&&i| bins[i].sealed).count();
        let age = touched.iter().map(|&i| bins[i].age).sum();
        let names = touched.iter().map(|&i| bins[i].rank).sum();
        (self.goals, Reverse(self.changes()), done, Reverse(sealed), age, Reverse(names))
    }

    /// Job and spool pairs of the plan in force that changed, those of jobs that it holds.
    pub fn changes(&self) -> usize {
        let mut changes = 0;
        let mut before: Vec<(usize, u32)> = Vec::new();
        let mut entries = self.shelf.incumbent.iter().peekable();
        while let Some(&(&(job, _), _)) = entries.peek() {
            before.clear();
            while let Some((&(_, spool), &n)) = entries.next_if(|(at, _)| at.0 == job) {
                before.push((spool, n));
            }
            let now = self.lies(job);
            changes += before.iter().filter(|at| !now.contains(at)).count();
            changes += now.iter().filter(|at| before.iter().all(|b| b.0 != at.0)).count();
        }
        changes
    }

    /// Where all coils of a job lie, started ones included; nowhere if it is not in the plan.
    pub fn lies(&self, job: usize) -> Vec<(usize, u32)> {
        let Some(placed) = &self.placed[job] else { return Vec::new() };
        let mut lies = placed.coils.clone();
        for &(i, n) in &self.shelf.jobs[job].started {
            match lies.iter_mut().find(|l| l.0 == i) {
                Some(here) => here.1 += n,
                None => lies.push((i, n)),
            }
        }
        lies
    }

    /// Jobs not in the plan.
    pub fn missing(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.placed.len()).filter(|&j| self.placed[j].is_none())
    }
}

fn square(room: i64) -> i128 {
    i128::from(room) * i128::from(room)
}
