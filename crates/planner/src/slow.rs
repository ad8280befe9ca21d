//! Wire that is seldom asked for: single jobs are counted, since metres a day mean nothing.
//!
//! A wire is slow if more than 1.32 lead times lie between two of its jobs on average. Then the jobs that come before an
//! order is here follow a Poisson law, and wire for so many of them is kept that with the wanted probability no more come:
//!
//! ```text
//! k = least k with P(N ≤ k) ≥ service, N ~ Poisson(v · T90)      reorder point = B + k · E[X]
//! ```
//!
//! `T90` are the days within which nine of ten orders arrive, which keeps to the safe side. With k = 0 nothing is kept:
//! such wire is bought to order.
//!
//! # Sources
//! A. A. Syntetos, J. E. Boylan, J. D. Croston, On the categorization of demand patterns, J. Oper. Res. Soc. 56 (2005):
//! the bound of 1.32; the Poisson law for slow items: Silver, Pyke, Thomas (see `reorder`), chapter 8. Both from memory.

use crate::reorder::Demand;
use coilwright_core::enough::normal_quantile;
use coilwright_core::quantity::Length;

/// Lead times between two jobs beyond which a wire is slow.
const SELDOM: f64 = 1.32;
/// Most jobs counted; far beyond what a slow wire sees.
const MOST_JOBS: u32 = 1000;

/// When to order a wire that is seldom asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlowPoint {
    /// Unknown jobs to keep wire for.
    pub jobs: u32,
    /// Order once usable wire is down to this.
    pub point: Length,
}

impl Demand {
    /// Whether single jobs are to be counted instead of metres a day.
    pub fn is_slow(&self) -> bool {
        self.jobs_per_day * self.lead_days.max(1.0) * SELDOM < 1.0
    }

    /// The reorder point of a slow wire. Worked: half a job in the time until it is here, 95 %: P(N ≤ 1) = 0.9098,
    /// P(N ≤ 2) = 0.9856, so wire for two jobs.
    pub fn slow_point(&self) -> SlowPoint {
        let days = self.lead_days + normal_quantile(0.9) * self.lead_days_sd;
        let jobs = jobs_to_keep(self.jobs_per_day.max(0.0) * days.max(0.0), self.service);
        SlowPoint { jobs, point: self.booked + Length::from_m(f64::from(jobs) * self.metres_per_job.max(0.0)) }
    }
}

/// Least number that a Poisson count of this mean stays within with probability `service`.
fn jobs_to_keep(mean: f64, service: f64) -> u32 {
    let mut term = libm::exp(-mean);
    let mut sum = term;
    let mut k = 0;
    while sum < service && k < MOST_JOBS {
        k += 1;
        term *= mean / f64::from(k);
        sum += term;
    }
    k
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cumulative Poisson probabilities as in any table: mean 0.5: 0.6065, 0.9098, 0.9856; mean 1: 0.3679, 0.7358,
    /// 0.9197, 0.9810; mean 0.05: 0.9512.
    #[test]
    fn the_jobs_kept_are_those_of_the_poisson_table() {
        let cases = [(0.5, 0.60, 0), (0.5, 0.90, 1), (0.5, 0.95, 2), (1.0, 0.95, 3), (0.05, 0.95, 0), (0.0, 0.999, 0)];
        for (mean, service, k) in cases {
            assert_eq!(jobs_to_keep(mean, service), k, "mean {mean}, service {service}");
        }
    }

    #[test]
    fn a_wire_is_slow_by_its_lead_time_and_bought_to_order_where_hardly_a_job_comes() {
        let demand = |jobs_per_day, lead_days| Demand {
            jobs_per_day,
            metres_per_job: 40.0,
            metres_sd: 0.0,
            lead_days,
            lead_days_sd: 0.0,
            booked: Length::from_m(60.0),
            stock_u: Length::ZERO,
            service: 0.95,
        };
        assert!(demand(0.05, 10.0).is_slow(), "a job in 20 days, 10 to deliver");
        assert!(!demand(0.05, 20.0).is_slow());
        assert!(demand(0.0, 3000.0).is_slow());
        assert_eq!(demand(0.05, 10.0).slow_point(), SlowPoint { jobs: 2, point: Length::from_m(140.0) });
        assert_eq!(demand(0.005, 10.0).slow_point(), SlowPoint { jobs: 0, point: Length::from_m(60.0) });
    }
}
