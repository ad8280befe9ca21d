//! The most that any plan could be worth, without a linear program.
//!
//! Rounding down, ⌊x/λ⌋, is superadditive: what several coils take in steps of λ is no more than what their sum does.
//! So for every λ the steps of all coils must fit into the steps of all spools, and the fractional knapsack over jobs
//! with these steps is a bound for the whole shelf at once.
//!
//! # Sources
//! The idea of dual feasible functions: S. P. Fekete, J. Schepers, Mathematical Programming 91 (2001) 11, here applied
//! to spools that are all unlike.

use crate::door::Shelf;
use std::collections::BTreeSet;

/// Most lengths by whose steps the bound is taken: each sorts all jobs once. With more kinds of coil every so many-th is
/// left out, which can only make the bound weaker.
const MOST_STEPS: usize = 400;

/// A job as the bound sees it: steps (or minutes) it takes, worth it brings.
#[derive(Debug, Clone, Copy)]
struct Piece {
    size: i64,
    worth: i64,
}

/// No plan on this shelf is worth more.
pub(crate) fn bound(shelf: &Shelf) -> i64 {
    let able: Vec<usize> = (0..shelf.jobs.len()).filter(|&j| fits_alone(shelf, j)).collect();
    let by_wire: i64 = components(shelf, &able).iter().map(|part| by_steps(shelf, part)).sum();
    by_wire.min(by_time(shelf, &able))
}

/// Whether a job would fit if it had the shelf for itself.
pub(crate) fn fits_alone(shelf: &Shelf, job: usize) -> bool {
    let item = &shelf.jobs[job];
    let in_time = item.day.is_none_or(|first| (first..shelf.days.len()).all(|d| item.minutes <= shelf.days[d].limit));
    in_time
        && item.choices.iter().any(|c| {
            let fit = |i: &usize| shelf.bins[*i].room / c.need;
            let coils = i64::from(item.coils);
            if item.matched {
                coils == 0 || c.bins.iter().any(|i| fit(i) >= coils)
            } else {
                c.bins.iter().map(fit).sum::<i64>() >= coils
            }
        })
}

/// Jobs in groups that share no wire.
fn components(shelf: &Shelf, jobs: &[usize]) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..shelf.wires).collect();
    for &j in jobs {
        let Some(first) = shelf.jobs[j].choices.first() else { continue };
        for other in &shelf.jobs[j].choices {
            let (to, from) = (group[first.wire], group[other.wire]);
            group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
        }
    }
    let groups: BTreeSet<usize> = group.iter().copied().collect();
    let of = |j: usize| shelf.jobs[j].choices.first().map(|c| group[c.wire]);
    groups.iter().map(|&g| jobs.iter().copied().filter(|&j| of(j) == Some(g)).collect()).collect()
}

fn by_steps(shelf: &Shelf, jobs: &[usize]) -> i64 {
    let wires: BTreeSet<usize> = jobs.iter().flat_map(|&j| shelf.jobs[j].choices.iter().map(|c| c.wire)).collect();
    let rooms: Vec<i64> = shelf.bins.iter().filter(|b| wires.contains(&b.wire)).map(|b| b.room).collect();
    let need = |j: usize| shelf.jobs[j].choices.iter().map(|c| c.need).min().unwrap_or(1);
    let all: i64 = jobs.iter().map(|&j| worth(shelf, j)).sum();
    let steps: BTreeSet<i64> = jobs.iter().flat_map(|&j| (1..=4).map(move |k| (need(j) / k).max(1))).collect();
    let at = |step: i64| {
        let pieces = jobs
            .iter()
            .map(|&j| Piece { size: need(j) / step * i64::from(shelf.jobs[j].coils), worth: worth(shelf, j) });
        knapsack(pieces.collect(), rooms.iter().map(|r| r / step).sum())
    };
    let every = steps.len().div_ceil(MOST_STEPS).max(1);
    steps.into_iter().step_by(every).map(at).min().unwrap_or(all).min(all)
}

fn by_time(shelf: &Shelf, jobs: &[usize]) -> i64 {
    let all: i64 = jobs.iter().map(|&j| worth(shelf, j)).sum();
    let up_to = |d: usize| {
        let (now, later): (Vec<usize>, Vec<usize>) =
            jobs.iter().partition(|&&j| shelf.jobs[j].day.is_some_and(|day| day <= d));
        let pieces = now.iter().map(|&j| Piece { size: shelf.jobs[j].minutes, worth: worth(shelf, j) }).collect();
        knapsack(pieces, shelf.days[d].limit) + later.iter().map(|&j| worth(shelf, j)).sum::<i64>()
    };
    (0..shelf.days.len()).map(up_to).min().unwrap_or(all)
}

/// The most that a job can bring.
fn worth(shelf: &Shelf, job: usize) -> i64 {
    shelf.jobs[job].choices.iter().map(|c| c.worth).max().unwrap_or(0).max(0)
}

/// Fractional knapsack, rounded down: worths are whole numbers.
fn knapsack(mut pieces: Vec<Piece>, mut room: i64) -> i64 {
    // Most worth for its size first: a/b > c/d as a·d > c·b.
    pieces.sort_unstable_by(|a, b| {
        (i128::from(b.worth) * i128::from(a.size)).cmp(&(i128::from(a.worth) * i128::from(b.size)))
    });
    let mut worth = 0;
    for piece in pieces {
        if piece.worth <= 0 {
            continue;
        }
        if piece.size <= room {
            room -= piece.size;
            worth += piece.worth;
        } else {
            let part = i128::from(piece.worth) * i128::from(room.max(0)) / i128::from(piece.size);
            return worth + i64::try_from(part).unwrap_or(i64::MAX);
        }
    }
    worth
}
