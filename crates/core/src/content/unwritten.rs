//! Tries that were not written down: what they may have taken beside the draws noted, and how likely one was.
//!
//! A winding that fails is wire gone, and now and then nobody writes it down. Beside every draw noted one such try is
//! reckoned with at a known rate `p`, as long as anything up to that draw. So the length after `n` draws that nothing was
//! read since is known less well than the draws are, and a reading that shows less than expected is not forced onto tare
//! and mass per metre alone.
//!
//! ```text
//! wire lost between two readings   0 with 1 − q,   uniform on 0…d with q;   q = n·p before the reading
//! after it   q/(1 − q) = n·p/(1 − n·p) · L(d/2 ± d/√12 lost)/L(nothing lost)
//! kept as an error of the length there of variance q·d²/3
//! ```
//!
//! `L`: density of all that was read before the next draw, by the history before it; a normal law of the same mean and
//! variance stands for the uniform one, so that more than one lost try is no contradiction. The mean of what is lost, some
//! parts in a thousand of what was drawn, is left out, so that the book stays what was written.

use super::chain::{Before, Step, Vector, observe};
use super::pass::Forward;

/// Draws between two readings, beside which something may have gone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    /// The step that stands for what was lost: a draw of nothing, with an error.
    pub(super) step: usize,
    /// Probability beforehand that something was.
    pub(super) share: f64,
    /// How much at most, in m.
    pub(super) most: f64,
}

impl Gap {
    /// What was lost, as a draw of nothing with the mean square of it for its variance.
    pub(super) fn lost(&self, probability: f64) -> Step {
        Step::Draw { length: 0.0, variance: probability * self.most * self.most / 3.0 }
    }
}

/// Of many draws that nothing was read between, something beside one of them is at most as likely as not.
const MOST: f64 = 0.5;

/// Draws gathered until something is read.
#[derive(Debug, Default)]
pub(super) struct Gathered {
    count: f64,
    squares: f64,
}

impl Gathered {
    pub(super) fn add(&mut self, drawn_m: f64) {
        self.count += 1.0;
        self.squares += drawn_m * drawn_m;
    }

    /// The gap that ends here, at this rate; none where nothing was drawn.
    pub(super) fn end(&mut self, rate: f64, step: usize) -> Option<Gap> {
        let all = std::mem::take(self);
        let share = (rate * all.count).min(MOST);
        (share > 0.0 && all.squares > 0.0).then(|| Gap { step, share, most: libm::sqrt(all.squares / all.count) })
    }
}

/// How likely something was lost in each gap, by the history up to the reading that ends it; linear along `path`.
pub(super) fn probabilities(prior: &Before, steps: &[Step], path: &[Vector], gaps: &[Gap]) -> Vec<f64> {
    let prior = prior.honest();
    let mut forward = Forward::start(&prior, steps, path);
    let mut found = Vec::with_capacity(gaps.len());
    let mut gaps = gaps.iter().peekable();
    for (k, (step, pair)) in steps.iter().zip(path.windows(2)).enumerate() {
        let Some(gap) = gaps.next_if(|g| g.step == k) else {
            forward.step(step, &pair[0], &pair[1]);
            continue;
        };
        // All that is read before anything more is drawn tells of it together, in whatever order it was read.
        let read = steps.get(k + 1..).unwrap_or_default().iter().take_while(|s| matches!(s, Step::See { .. }));
        let q = after(&forward, read, &pair[0], gap);
        found.push(q);
        forward.step(&gap.lost(q), &pair[0], &pair[1]);
    }
    found
}

fn after<'a>(forward: &Forward, read: impl Iterator<Item = &'a Step> + Clone, x: &Vector, gap: &Gap) -> f64 {
    let none = likelihood(forward.ahead(), read.clone(), x);
    let mut lost = forward.ahead();
    lost.step(&Step::Draw { length: gap.most / 2.0, variance: gap.most * gap.most / 12.0 }, x, x);
    let Some((none, one)) = none.zip(likelihood(lost, read, x)) else { return gap.share };
    let odds = gap.share / (1.0 - gap.share) * libm::exp((one - none).min(700.0));
    let q = odds / (1.0 + odds);
    if q.is_finite() { q } else { gap.share }
}

/// Logarithm of the density of these readings, one after the other, but for a constant.
fn likelihood<'a>(mut forward: Forward, read: impl Iterator<Item = &'a Step>, x: &Vector) -> Option<f64> {
    let mut sum = 0.0;
    for step in read {
        let Step::See { seen, value } = step else { break };
        let (expected, slope) = observe(*seen, x);
        let (moved, spread) = forward.foretold(&slope)?;
        let off = value.value - expected - moved;
        let variance = spread + value.u * value.u;
        sum -= 0.5 * (off * off / variance + libm::log(variance));
        forward.step(step, x, x);
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::super::{Event, Prior, Reading, estimate, estimate_as_written};
    use crate::enough::normal_probability;
    use crate::measured::Measured;
    use crate::quantity::{Length, LinearMass, Mass};

    const G_PER_M: f64 = 0.5;
    const SCALE_G: f64 = 1.0;

    fn prior(u_rel: f64, tare_u: f64, unwritten: f64) -> Prior {
        Prior {
            g_per_m: Measured::new(LinearMass::from_g_per_m(G_PER_M), LinearMass::from_g_per_m(u_rel * G_PER_M)),
            tare: Some(Measured::new(Mass::from_g(60.0), Mass::from_g(tare_u))),
            ohm_per_m: None,
            correlation: 0.0,
            draw_doubt: 0.0,
            unwritten,
        }
    }

    fn weighed(left_m: f64, u_g: f64) -> Event {
        Event::Read(Reading::Weighed(Measured::new(Mass::from_g(60.0 + G_PER_M * left_m), Mass::from_g(u_g))))
    }

    /// 200 m weighed, four draws of 14 m, weighed again, `missing` metres less than the book has.
    fn history(missing: f64, u_g: f64) -> Vec<Event> {
        let drawn = Event::Drawn(Measured::new(Length::from_m(14.0), Length::from_m(0.1)));
        vec![weighed(200.0, u_g), drawn, drawn, drawn, drawn, weighed(144.0 - missing, u_g)]
    }

    fn unwritten_of_last(missing: f64, rate: f64) -> f64 {
        let content = estimate(&prior(0.0, 0.0, rate), &history(missing, SCALE_G)).unwrap();
        content.readings.last().unwrap().unwritten.unwrap()
    }

    /// Bayes' theorem with the uniform law itself, its convolution with the normal one in closed form. The program takes a
    /// normal law of the same mean and variance for it; the two differ most where something is as likely as not.
    #[test]
    fn how_likely_a_try_is_missing_is_what_bayes_says_of_it() {
        let (rate, draws, most): (f64, f64, f64) = (0.01, 4.0, 14.0);
        // Known m' and tare: the difference of two weighings against four draws.
        let spread = (2.0 * (SCALE_G / G_PER_M).powi(2) + draws * 0.01).sqrt();
        for missing in [-6.0, -3.0, 0.0, 3.0, 6.0, 9.0, 12.0] {
            let none = (-0.5 * (missing / spread).powi(2)).exp() / (spread * core::f64::consts::TAU.sqrt());
            let one = (normal_probability(missing / spread) - normal_probability((missing - most) / spread)) / most;
            let odds = rate * draws / (1.0 - rate * draws) * one / none;
            let (got, want) = (unwritten_of_last(missing, rate), odds / (1.0 + odds));
            assert!((got - want).abs() < 0.05, "{missing} m missing: {got}, by the uniform law {want}");
        }
        assert!(unwritten_of_last(0.0, rate) < 0.02 && unwritten_of_last(12.0, rate) > 0.95);
    }

    /// 9 m are gone that nobody wrote down. Without the thought of it the fit blames mass per metre and tare.
    #[test]
    fn a_missing_try_bends_neither_mass_per_metre_nor_tare() {
        let known = estimate(&prior(0.015, 1.0, 0.01), &history(9.0, 0.1)).unwrap();
        let blind = estimate(&prior(0.015, 1.0, 0.0), &history(9.0, 0.1)).unwrap();
        let bent = |c: &super::super::Content| (c.g_per_m.value.g_per_m() / G_PER_M - 1.0).abs();
        assert!(bent(&known) < 0.003 && bent(&blind) > 0.02, "{} and {}", bent(&known), bent(&blind));
        assert!((known.left.value.m() - 135.0).abs() < 0.5, "{:?}", known.left);
    }

    /// n draws of d metres, 1 % forgotten: √(n·p·d²/3) beside what the draws themselves leave open. Arithmetic.
    #[test]
    fn draws_since_the_last_reading_widen_the_book_but_do_not_move_it() {
        let events = &history(0.0, SCALE_G)[..5];
        let (with, without) =
            (estimate(&prior(0.0, 0.0, 0.01), events).unwrap(), estimate(&prior(0.0, 0.0, 0.0), events).unwrap());
        assert!((with.left.value.m() - without.left.value.m()).abs() < 1e-9);
        let more = with.left.u.m().powi(2) - without.left.u.m().powi(2);
        assert!((more - 4.0 * 0.01 * 14.0 * 14.0 / 3.0).abs() < 1e-9, "{more}");
        let held_against = estimate_as_written(&prior(0.0, 0.0, 0.01), events).unwrap();
        assert!((held_against.left.u.m() - without.left.u.m()).abs() < 1e-9);
    }
}
