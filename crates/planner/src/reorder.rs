//! When to order a wire and how much: the level at which what is left no longer covers the time until more is here.
//!
//! Known jobs count as they are; unknown ones come at random and differ in size, so demand over the lead time is lumpy:
//!
//! ```text
//! m = v·E[X]·E[T]     s² = v·E[T]·E[X²] + (v·E[X])²·Var[T] + s_stock²
//! reorder point = B + quantile of a gamma law with mean m, variance s² + E[X²] / (2·E[X])
//! ```
//!
//! `v` jobs a day, `X` metres of one, `T` days until delivery, `B` metres of known jobs. The last term is the undershoot:
//! a lumpy job carries the stock below the point before anything is ordered. The gamma law is skewed as such demand is;
//! a normal law would order too late.
//!
//! With a normal law instead of the gamma and without the undershoot this is the textbook's d·L + z·√(L·σd² + d²·σL²),
//! with d = v·E[X] and σd² = v·E[X²].
//!
//! # Sources
//! E. A. Silver, D. F. Pyke, D. J. Thomas, Inventory and Production Management in Supply Chains, 4th ed. (2017),
//! chapters 6 and 7, cited from memory; the gamma law and the undershoot are standard there.

use crate::door::mm_down;
use crate::question::Offer;
use coilwright_core::enough::normal_quantile;
use coilwright_core::quantity::Length;

/// What is known of the demand for a wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Jobs a day that are not known yet.
    pub jobs_per_day: f64,
    /// Mean metres of one such job, coils, tails and scrap together.
    pub metres_per_job: f64,
    /// Its standard deviation.
    pub metres_sd: f64,
    /// Mean days until an order is here.
    pub lead_days: f64,
    /// Its standard deviation.
    pub lead_days_sd: f64,
    /// Jobs already known that fall into that time.
    pub booked: Length,
    /// Standard uncertainty of what is left on all spools of the wire.
    pub stock_u: Length,
    /// Probability that the wire lasts until the order is here.
    pub service: f64,
}

/// When to order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReorderPoint {
    /// Order once usable wire, ordered wire included, is down to this.
    pub point: Length,
    /// Expected demand until the order is here, known jobs included.
    pub expected: Length,
    /// Standard deviation of that demand and of the stock together.
    pub spread: Length,
}

impl Demand {
    /// The reorder point of this demand.
    pub fn reorder_point(&self) -> ReorderPoint {
        let (v, x) = (self.jobs_per_day.max(0.0), self.metres_per_job.max(0.0));
        let x_squared = x * x + self.metres_sd * self.metres_sd;
        let mean = v * x * self.lead_days.max(0.0);
        let by_jobs = v * self.lead_days.max(0.0) * x_squared;
        let by_delivery = (v * x * self.lead_days_sd) * (v * x * self.lead_days_sd);
        let variance = by_jobs + by_delivery + self.stock_u.m() * self.stock_u.m();
        let undershoot = if v > 0.0 && x > 0.0 { x_squared / (2.0 * x) } else { 0.0 };
        let demand = gamma_quantile(mean, variance, self.service);
        ReorderPoint {
            point: self.booked + Length::from_m(demand + undershoot),
            expected: self.booked + Length::from_m(mean),
            spread: Length::from_m(libm::sqrt(variance)),
        }
    }

    /// The last day on which to order for a job that runs short on `day`, so that in nine of ten cases wire is here by
    /// then; 0 or less means today is late.
    pub fn latest_order_day(&self, day: i32) -> i32 {
        let lead = self.lead_days + normal_quantile(0.9) * self.lead_days_sd;
        day - libm::ceil(lead.max(0.0)) as i32
    }
}

/// How many spools of an offer bring `usable` up to `wanted`, counting of each only whole coils of the usual length.
/// None if a spool holds no such coil.
pub fn spools_to_order(offer: &Offer, usual_coil: Length, usable: Length, wanted: Length) -> Option<u32> {
    let coil = mm_down(usual_coil).max(1);
    let one = mm_down(offer.left.value) / coil * coil;
    let lacking = (mm_down(wanted) - mm_down(usable)).max(0);
    (one > 0).then(|| u32::try_from((lacking + one - 1) / one).unwrap_or(u32::MAX))
}

/// Quantile of a gamma law given by mean and variance; with no variance, or no mean, of a normal one.
fn gamma_quantile(mean: f64, variance: f64, p: f64) -> f64 {
    if variance <= 0.0 {
        return mean;
    }
    if mean <= 0.0 {
        return normal_quantile(p).clamp(0.0, 40.0) * libm::sqrt(variance);
    }
    let (shape, scale) = (mean * mean / variance, variance / mean);
    let (mut low, mut high) = (0.0, shape + 1.0);
    while gamma_probability(shape, high) < p && high < 1e12 {
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if gamma_probability(shape, middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    high * scale
}

/// Regularised lower incomplete gamma function P(a, x): the series below the mode, the continued fraction above it.
///
/// # Sources
/// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 6.5.29 and 6.5.31.
fn gamma_probability(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        while term > sum * 1e-16 {
            n += 1.0;
            term *= x / n;
            sum += term;
        }
        return (front * sum).min(1.0);
    }
    // Evaluated from the front by the two-term recurrence of its convergents, kept near 1 in size.
    let (mut b, mut d) = (x + 1.0 - a, 1.0 / (x + 1.0 - a));
    let (mut c, mut value) = (1e300, d);
    for n in 1..10_000 {
        let n = f64::from(n);
        let factor = -n * (n - a);
        b += 2.0;
        d = 1.0 / (factor * d + b);
        c = b + factor / c;
        value *= c * d;
        if (c * d - 1.0).abs() < 1e-15 {
            break;
        }
    }
    (1.0 - front * value).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use coilwright_core::measured::Measured;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
    }

    fn demand() -> Demand {
        Demand {
            jobs_per_day: 0.5,
            metres_per_job: 40.0,
            metres_sd: 20.0,
            lead_days: 8.0,
            lead_days_sd: 2.0,
            booked: Length::from_m(60.0),
            stock_u: Length::from_m(3.0),
            service: 0.95,
        }
    }

    #[test]
    fn the_gamma_law_of_shape_one_is_the_exponential() {
        for p in [0.1, 0.5, 0.9, 0.999] {
            near(gamma_quantile(3.0, 9.0, p), -3.0 * libm::log(1.0 - p), 1e-9);
        }
        // Shape 4: 1 − e^−x·(1 + x + x²/2 + x³/6).
        for x in [0.3, 2.0, 4.9, 5.1, 12.0] {
            let exact = 1.0 - libm::exp(-x) * (1.0 + x + x * x / 2.0 + x * x * x / 6.0);
            near(gamma_probability(4.0, x), exact, 1e-13);
        }
    }

    #[test]
    fn a_large_shape_is_nearly_normal() {
        // Skewness 2/√a = 0.02 moves the 98 % point by about a thousandth of the spread times it.
        near(gamma_quantile(1e4, 1e4, 0.98), 1e4 + 2.0537 * 100.0, 1.5);
    }

    #[test]
    fn expected_demand_and_spread_are_those_of_the_formulas() {
        let point = demand().reorder_point();
        near(point.expected.m(), 60.0 + 160.0, 1e-9);
        // 0.5·8·(1600 + 400) + (20·2)² + 9
        near(point.spread.m(), libm::sqrt(8000.0 + 1600.0 + 9.0), 1e-9);
        assert!(point.point.m() > 60.0 + 160.0 + 1.645 * point.spread.m(), "a skewed law lies above the normal one");
        let calm = Demand { jobs_per_day: 0.0, stock_u: Length::ZERO, ..demand() };
        assert_eq!(calm.reorder_point().point, Length::from_m(60.0));
    }

    /// 150 pieces a day, standard deviation 16; five days of delivery, standard deviation 1; 95 %: 750 + 1.65·154 = 1004
    /// by d·L + z·√(L·σd² + d²·σL²).
    ///
    /// Outside source: J. Heizer, B. Render, Operations Management, chapter on inventory, the example with both demand
    /// and lead time variable; from memory. Its z is rounded to 1.65 and its root to 154: half a piece either way.
    #[test]
    fn mean_and_spread_are_those_of_a_textbook_example() {
        let textbook = Demand {
            jobs_per_day: 150.0,
            metres_per_job: 1.0,
            // So that jobs at random of this size vary by 16 a day: 150·(1 + s²) = 16².
            metres_sd: libm::sqrt(256.0 / 150.0 - 1.0),
            lead_days: 5.0,
            lead_days_sd: 1.0,
            booked: Length::ZERO,
            stock_u: Length::ZERO,
            service: 0.95,
        };
        let got = textbook.reorder_point();
        near(got.expected.m(), 750.0, 1e-9);
        near(got.spread.m(), 154.2, 0.05);
        near(got.expected.m() + normal_quantile(0.95) * got.spread.m(), 1004.0, 0.6);
        // Skewness 2/√shape = 0.41 moves the 95 % point by about 0.41/6·(1.645² − 1) = 0.117 spreads, 18 pieces.
        near(got.point.m() - (1.0 + textbook.metres_sd.powi(2)) / 2.0, 1004.0 + 18.0, 2.0);
    }

    /// Demand thrown day by day: jobs at random, sizes and delivery as told. What is above the point lasts in 95 % of
    /// 20 000 cases at least; the law is only fitted by two moments, so one percent either way is allowed.
    #[test]
    fn the_point_lasts_as_often_as_promised() {
        use crate::dice::Dice;
        let d = Demand { stock_u: Length::ZERO, booked: Length::ZERO, ..demand() };
        let undershoot = 2000.0 / 80.0;
        let level = d.reorder_point().point.m() - undershoot;
        let mut dice = Dice::new(3);
        let normal = |dice: &mut Dice| (0..12).map(|_| dice.unit()).sum::<f64>() - 6.0;
        let throws = 20_000;
        let mut lasted = 0;
        for _ in 0..throws {
            let days = (8.0 + 2.0 * normal(&mut dice)).max(0.0);
            let (mut time, mut drawn) = (0.0, 0.0);
            loop {
                time += -libm::log(1.0 - dice.unit()) / d.jobs_per_day;
                if time > days {
                    break;
                }
                // Uniform of mean 40 and standard deviation 20.
                drawn += 40.0 + 20.0 * 3f64.sqrt() * (2.0 * dice.unit() - 1.0);
            }
            lasted += u32::from(drawn <= level);
        }
        near(f64::from(lasted) / f64::from(throws), 0.95, 0.01);
    }

    #[test]
    fn whole_spools_of_usable_wire_are_ordered() {
        let left = Measured::certain(Length::from_m(100.0));
        let offer = Offer { id: "a".into(), wire: "A".into(), left, draw_doubt: 0.0, price: 900, lead_days: 4 };
        let order = |coil: f64, usable: f64, wanted: f64| {
            spools_to_order(&offer, Length::from_m(coil), Length::from_m(usable), Length::from_m(wanted))
        };
        assert_eq!(order(30.0, 20.0, 200.0), Some(2)); // 90 m usable of each
        assert_eq!(order(30.0, 20.0, 201.0), Some(3));
        assert_eq!(order(30.0, 250.0, 200.0), Some(0));
        assert_eq!(order(120.0, 0.0, 200.0), None);
        assert_eq!(demand().latest_order_day(20), 9); // 8 + 1.2816·2 = 10.6 days before
    }
}
