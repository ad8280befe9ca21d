//! The promise: that the whole plan runs short with no more than a given probability, and what that means for a shelf.

use crate::door::{Shelf, safe_lengths};
use crate::layout::Layout;
use crate::question::{Question, WrongQuestion};
use crate::risk::{Ledger, Load, plan_risk, spool_risk};
use coilwright_core::enough::{normal_probability, normal_quantile};

/// The question with what follows from its promise.
pub(crate) struct Promise<'a> {
    pub question: &'a Question,
    /// Every plan that keeps the promise fits this shelf: each spool alone may take the whole risk.
    pub loosest: Shelf,
    /// Spools whose started coils alone break the promise.
    pub aside: Vec<bool>,
    ledger: Ledger,
}

impl<'a> Promise<'a> {
    /// # Errors
    /// A question that makes no sense.
    pub fn new(question: &'a Question) -> Result<Promise<'a>, WrongQuestion> {
        let loosest = Shelf::new(question, question.risk.map(|risk| 1.0 - risk))?;
        let aside = vec![false; question.spools.len()];
        let mut promise = Promise { question, loosest, aside, ledger: Ledger::new(question.spools.len()) };
        let Some(risk) = question.risk else { return Ok(promise) };
        loop {
            let begun: Vec<Load> = (0..promise.aside.len())
                .filter(|&i| promise.loosest.bins[i].begun && !promise.aside[i])
                .map(|i| (i, promise.loosest.bins[i].fixed))
                .collect();
            if plan_risk(question, &begun) <= risk {
                break;
            }
            let own = |load: &Load| spool_risk(&question.spools[load.0], load.1);
            let Some(worst) = begun.iter().max_by(|a, b| own(a).total_cmp(&own(b))) else { break };
            promise.aside[worst.0] = true;
            promise.loosest.bins[worst.0].closed = true;
            promise.loosest.bins[worst.0].room = 0;
        }
        Ok(promise)
    }

    /// The shelf on which every spool keeps a safety factor.
    pub fn shelf(&self, factor: f64) -> Shelf {
        let confidence = normal_probability(factor);
        self.loosest.with_rooms(&safe_lengths(self.question, Some(confidence)))
    }

    /// Totals of all spools that carry coils, those set aside too if asked for.
    pub fn loads(&self, layout: &Layout, with_aside: bool) -> Vec<Load> {
        (0..layout.used.len())
            .filter(|&i| layout.is_touched(i) && (with_aside || !self.aside[i]))
            .map(|i| (i, layout.shelf.bins[i].fixed + layout.used[i]))
            .collect()
    }

    /// Whether a plan keeps the promise.
    pub fn kept(&self, layout: &Layout) -> bool {
        let within = |allowed| self.ledger.within(self.question, &self.loads(layout, false), allowed);
        self.question.risk.is_none_or(within)
    }

    /// Loosest and tightest safety factor; none if no length is in doubt.
    pub fn factors(&self) -> Option<(f64, f64)> {
        let risk = self.question.risk?;
        let doubtful = |i: &usize| {
            let spool = &self.question.spools[*i];
            let certain = spool.left.u.m() == 0.0 && spool.draw_doubt == 0.0 && spool.half_digit.m() == 0.0;
            let used = self.loosest.bins[*i].room > 0 || self.loosest.bins[*i].begun;
            !certain && spool.safe.is_none() && !spool.held && used && !self.aside[*i]
        };
        let spools = (0..self.aside.len()).filter(doubtful).count();
        let factor = |risk: f64| -normal_quantile(risk);
        (spools > 0).then(|| (factor(risk), factor(risk / spools as f64)))
    }
}
