//! First plans: jobs in several orders, spools by several rules, the best of all kept.

use crate::dice::Dice;
use crate::door::Shelf;
use crate::layout::Layout;
use crate::place::{Full, Rule, place_unless_full};

/// Weight of wire against worth in an order by density, as the power on the wire.
const POWERS: [f64; 3] = [0.5, 0.8, 1.0];

/// The plan of one order and one rule.
pub(crate) fn in_order<'a>(shelf: &'a Shelf, order: &[usize], rule: Rule, dice: &mut Dice) -> Layout<'a> {
    let mut layout = Layout::new(shelf);
    let mut full = Full::default();
    full.forget(shelf.kinds);
    for &job in order {
        place_unless_full(&mut layout, job, rule, dice, &mut full);
    }
    layout
}

/// Orders of the jobs: due, priority, longest coil, worth by wire to three powers.
pub(crate) fn orders(shelf: &Shelf) -> Vec<Vec<usize>> {
    let worth = |j: usize| shelf.jobs[j].choices.first().map_or(0, |c| c.worth);
    let need = |j: usize| shelf.jobs[j].choices.first().map_or(0, |c| c.need);
    let started_first = |key: &dyn Fn(usize) -> f64| sorted(shelf, shelf.by_due.iter().copied(), key);
    let mut orders =
        vec![started_first(&|_| 0.0), started_first(&|j| worth(j) as f64), started_first(&|j| need(j) as f64)];
    for power in POWERS {
        orders.push(started_first(&|j| density(shelf, j, power)));
    }
    orders
}

/// Jobs with the started ones first, then by falling key; equals stay in their order.
pub(crate) fn sorted(shelf: &Shelf, jobs: impl Iterator<Item = usize>, key: &dyn Fn(usize) -> f64) -> Vec<usize> {
    let mut keyed: Vec<(bool, f64, usize)> = jobs.map(|j| (shelf.jobs[j].must, key(j), j)).collect();
    keyed.sort_by(|a, b| b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)));
    keyed.into_iter().map(|k| k.2).collect()
}

/// Worth of a job for its wire to a power; a job that needs no more wire comes first.
pub(crate) fn density(shelf: &Shelf, job: usize, power: f64) -> f64 {
    let item = &shelf.jobs[job];
    let Some(choice) = item.choices.first() else { return 0.0 };
    let wire = choice.need as f64 * f64::from(item.coils);
    if wire <= 0.0 { f64::MAX } else { choice.worth as f64 / libm::pow(wire, power) }
}
