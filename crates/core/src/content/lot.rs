//! What spools of one lot teach each other: they share the error of the mass and of the resistance per metre.
//!
//! ```text
//! figure of spool i = figure of the lot + its own deviation, which scatters by 0.9 %
//! ```
//!
//! The history of one spool tells both of its figures only together, and often only their ratio: a weighing and a
//! resistance of an unknown length fix r'/m' and neither of the two. So what it tells is kept as information on the pair,
//! free of any table: what is known beforehand of the two is not in it, and the same table is never counted twice. What the
//! others tell then narrows the table's figure; a spool's own history is never among it, it comes in by its own fit.
//!
//! Left out: that one hand winds from all spools of a lot. The common factor of the draws counts as each spool's own, so
//! figures that a lot learned by draws alone are in metres as noted.

use super::steps::Steps;
use super::{Event, Fitted, Prior, chain, content, fit};
use crate::measured::Measured;
use crate::quantity::{LinearMass, Quantity};
use serde::{Deserialize, Serialize};
use std::ops::Add;

/// How far a metre of one spool differs from another's of the same lot, as relative standard deviation. No source: of a
/// table's 1.5 % it leaves 1.2 % to the lot. The cautious side: 0.5 % in an invented shop whose spools scatter by 0.9 %
/// took the 90 % interval of the length left from holding 86.7 % of the times to 84.4 %.
pub const SCATTER: f64 = 0.009;

/// What spools tell of the figures of their lot: information on (mass, resistance) per metre and its pull, in g/m and Ω/m.
/// Of several spools it is the sum.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    mass: f64,
    both: f64,
    ohm: f64,
    pull_mass: f64,
    pull_ohm: f64,
    /// How many spools told it.
    pub spools: u32,
}

impl Add for Evidence {
    type Output = Evidence;
    fn add(self, other: Evidence) -> Evidence {
        Evidence {
            mass: self.mass + other.mass,
            both: self.both + other.both,
            ohm: self.ohm + other.ohm,
            pull_mass: self.pull_mass + other.pull_mass,
            pull_ohm: self.pull_ohm + other.pull_ohm,
            spools: self.spools + other.spools,
        }
    }
}

/// What the history of one spool tells of its lot; its scatter within the lot is taken off.
///
/// ```text
/// Λ, h   information and pull of the history on (m', r'), all else of the spool free, no prior on the two
/// Λ' = (1 + Λ·S)⁻¹·Λ     h' = (1 + Λ·S)⁻¹·h     S: variances of the scatter
/// ```
///
/// `None` where it tells nothing worth having (less than a tenth of what a table is worth), where readings of the spool
/// contradict each other, or where its wire is not the table's: such a spool speaks for itself only.
pub fn evidence(table: &Prior, events: &[Event]) -> Option<Evidence> {
    let ohm_per_m = table.ohm_per_m?;
    let fit = fit(table, Steps::of(events, table.unwritten), events)?;
    let contradicts = |r: &Fitted| r.residual_in_u.abs() > MOST_RESIDUAL_U;
    if content(&fit).readings.iter().any(contradicts) {
        return None;
    }
    let told = chain::told(&fit.before, &fit.solution, &fit.steps.all);
    let [m, r] = told.at;
    let other_wire = |at: f64, of: f64, u: f64| (at - of).abs() > MOST_OFF_U * u.max(SCATTER * of);
    if other_wire(m, table.g_per_m.value.g_per_m(), table.g_per_m.u.g_per_m())
        || other_wire(r, ohm_per_m.value.ohm_per_m(), ohm_per_m.u.ohm_per_m())
    {
        return None;
    }
    let [[a, b], [_, d]] = told.information;
    let (tm, tr) = (told.towards[0] + a * m + b * r, told.towards[1] + b * m + d * r);
    let (sm, sr) = (square(SCATTER * m), square(SCATTER * r));
    let det = (a * d - b * b).max(0.0);
    let whole = 1.0 + a * sm + d * sr + sm * sr * det;
    let found = Evidence {
        mass: (a + sr * det) / whole,
        both: b / whole,
        ohm: (d + sm * det) / whole,
        pull_mass: ((1.0 + d * sr) * tm - b * sr * tr) / whole,
        pull_ohm: ((1.0 + a * sm) * tr - b * sm * tm) / whole,
        spools: 1,
    };
    found.is_worth_having(m, r).then_some(found)
}

/// A reading further off its own spool's fit contradicts the others.
const MOST_RESIDUAL_U: f64 = 4.0;
/// A figure further off the table's is another wire's, in the table's uncertainties.
const MOST_OFF_U: f64 = 3.0;
/// A table's relative uncertainty, to measure by what a spool tells.
const OF_A_TABLE: f64 = 0.015;
const LEAST: f64 = 0.1;

impl Evidence {
    fn is_worth_having(&self, m: f64, r: f64) -> bool {
        let finite = [self.mass, self.both, self.ohm, self.pull_mass, self.pull_ohm].iter().all(|x| x.is_finite());
        let most = (self.mass * square(OF_A_TABLE * m)).max(self.ohm * square(OF_A_TABLE * r));
        finite && self.mass >= 0.0 && self.ohm >= 0.0 && most >= LEAST
    }
}

/// What is known of a spool beforehand once other spools of its lot told theirs.
///
/// ```text
/// C = (P⁻¹ + ΣΛ')⁻¹     figures = table + C·(Σh' − ΣΛ'·table)     covariance C + S
/// P: variances of the table less S, so that nothing told leaves the table's figures
/// ```
///
/// A figure known better than the scatter within a lot was measured on this very spool: it stays as it is, and what it
/// says of the lot helps to read what the others say of the other figure.
pub fn informed(table: &Prior, others: &Evidence) -> Prior {
    informed_or_not(table, others).unwrap_or(*table)
}

fn informed_or_not(table: &Prior, others: &Evidence) -> Option<Prior> {
    if others.spools == 0 {
        return None;
    }
    let m = One::of(table.g_per_m.value.g_per_m(), table.g_per_m.u.g_per_m());
    let r = One::of(table.ohm_per_m?.value.ohm_per_m(), table.ohm_per_m?.u.ohm_per_m());
    let Evidence { mass: a, both: b, ohm: d, .. } = *others;
    let det = (a * d - b * b).max(0.0);
    let whole = 1.0 + a * m.common + d * r.common + m.common * r.common * det;
    let (cm, cr) = (m.common * (1.0 + d * r.common) / whole, r.common * (1.0 + a * m.common) / whole);
    let both = -b * m.common * r.common / whole;
    let (pm, pr) = (others.pull_mass - a * m.value - b * r.value, others.pull_ohm - b * m.value - d * r.value);
    let mut prior = *table;
    let (um, ur) = (libm::sqrt(cm + m.scatter), libm::sqrt(cr + r.scatter));
    if !m.own {
        let value = m.value + cm * pm + both * pr;
        prior.g_per_m = Measured::new(LinearMass::from_g_per_m(value), LinearMass::from_g_per_m(um));
    }
    if !r.own {
        let value = r.value + both * pm + cr * pr;
        prior.ohm_per_m = Some(Measured::new(Quantity::from_si(value), Quantity::from_si(ur)));
    }
    if !m.own && !r.own {
        prior.correlation = both / (um * ur);
    }
    let sane = |value: f64, u: f64| value.is_finite() && value > 0.0 && u.is_finite();
    let ohm = prior.ohm_per_m?;
    (sane(prior.g_per_m.value.g_per_m(), prior.g_per_m.u.g_per_m())
        && sane(ohm.value.ohm_per_m(), ohm.u.ohm_per_m())
        && prior.correlation.is_finite())
    .then_some(prior)
}

/// One figure of a table: what of its variance the lot shares, and what is each spool's own.
struct One {
    value: f64,
    common: f64,
    scatter: f64,
    own: bool,
}

impl One {
    fn of(value: f64, u: f64) -> One {
        let scatter = square(SCATTER * value);
        let own = u * u < 2.0 * scatter;
        One { value, common: if own { u * u + scatter } else { u * u - scatter }, scatter, own }
    }
}

fn square(x: f64) -> f64 {
    x * x
}

#[cfg(test)]
mod tests;
