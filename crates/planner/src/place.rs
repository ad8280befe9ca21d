//! Placing one job: which spools give its coils, by one of a few rules.

use crate::dice::Dice;
use crate::layout::{Layout, Placed};

/// In which order spools are asked for coils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Rule {
    /// The spool whose rest would be least if all of it went into this coil.
    LeastResidue,
    /// The fullest spool first.
    LeastRoom,
    /// The emptiest spool first.
    MostRoom,
    /// The spool that leaves no useless end, already touched before untouched.
    Clean,
    /// Any.
    Random,
}

/// The fixed rules, in the order in which constructions try them.
pub(crate) const RULES: [Rule; 4] = [Rule::LeastResidue, Rule::LeastRoom, Rule::MostRoom, Rule::Clean];

/// Puts a job into the plan by a rule, on the best of its wires that has room; false (and nothing changed) if none has.
pub(crate) fn place(layout: &mut Layout, job: usize, rule: Rule, dice: &mut Dice) -> bool {
    if !layout.has_time(job) {
        return false;
    }
    for choice in 0..layout.shelf.jobs[job].choices.len() {
        if let Some(coils) = find(layout, job, choice, rule, dice) {
            layout.put(job, Placed { choice, coils });
            return true;
        }
    }
    false
}

/// Spools for all coils of a job on one wire; none if they have not the room.
pub(crate) fn find(
    layout: &Layout,
    job: usize,
    choice: usize,
    rule: Rule,
    dice: &mut Dice,
) -> Option<Vec<(usize, u32)>> {
    let item = &layout.shelf.jobs[job];
    let way = &item.choices[choice];
    let coils = i64::from(item.coils);
    if coils == 0 {
        return Some(Vec::new());
    }
    if layout.wire_room(way.wire) < coils * way.need {
        return None;
    }
    let least = if item.matched { coils } else { 1 };
    let mut fit = 0;
    let mut spools: Vec<((i64, i64, i64), usize, i64)> = Vec::with_capacity(way.bins.len());
    for &i in &way.bins {
        let room = layout.room(i);
        if room < way.need * least {
            continue;
        }
        let most = (room / way.need).min(coils);
        fit += most;
        let residue = room - most * way.need;
        let rank = layout.shelf.bins[i].rank;
        let key = match rule {
            Rule::LeastResidue => (residue, room, rank),
            Rule::LeastRoom => (room, residue, rank),
            Rule::MostRoom => (-room, residue, rank),
            Rule::Clean => {
                let bin = &layout.shelf.bins[i];
                let left = layout.left(i) - most * way.need;
                let waste = if left < bin.usual { left.max(0) } else { 0 };
                (waste, i64::from(!layout.is_touched(i)), -bin.age)
            }
            Rule::Random => ((dice.bits() >> 2) as i64, 0, rank),
        };
        spools.push((key, i, most));
    }
    if fit < coils || spools.is_empty() {
        return None;
    }
    spools.sort_unstable();
    let mut rest = coils;
    let mut taken: Vec<(usize, u32)> = Vec::new();
    for (at, &(_, i, most)) in spools.iter().enumerate() {
        if rest == 0 {
            break;
        }
        let (from, n) = if most > rest && rule != Rule::Random {
            (tightest(layout, way.need, rest, &spools[at..]).unwrap_or(i), rest)
        } else {
            (i, most.min(rest))
        };
        taken.push((from, n as u32));
        rest -= n;
    }
    taken.sort_unstable();
    Some(taken)
}

/// Of the spools not yet asked, the one on which the last coils leave the least unusable room: an exact end beats all.
fn tightest(layout: &Layout, need: i64, coils: i64, spools: &[((i64, i64, i64), usize, i64)]) -> Option<usize> {
    let exact = spools.iter().find(|&&(_, i, most)| most >= coils && layout.room(i) == need * coils)?;
    Some(exact.1)
}
