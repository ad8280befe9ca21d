//! The ways to make each job: its accepted wires with what a coil needs there, the spools that may give it, its kind.

use crate::door::{Choice, mm_up};
use crate::question::{Job, Question};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Ways as they are found job by job. Lists of spools are shared: most jobs of a wire may use all its spools.
pub(crate) struct Ways<'a> {
    question: &'a Question,
    wires: &'a BTreeMap<&'a str, usize>,
    /// Spools that are not held, by wire.
    open: Vec<Rc<[usize]>>,
    /// Kinds of coil met so far: wire, length, and the spools if those are not all of the wire's.
    kinds: BTreeMap<(usize, i64, Option<Vec<usize>>), usize>,
}

impl<'a> Ways<'a> {
    /// For a question whose wires are numbered.
    pub fn new(question: &'a Question, wires: &'a BTreeMap<&'a str, usize>) -> Ways<'a> {
        let mut open = vec![Vec::new(); wires.len()];
        for (i, spool) in question.spools.iter().enumerate().filter(|(_, s)| !s.held) {
            if let Some(&wire) = wires.get(spool.wire.as_str()) {
                open[wire].push(i);
            }
        }
        Ways { question, wires, open: open.into_iter().map(Rc::from).collect(), kinds: BTreeMap::new() }
    }

    /// Number of kinds met.
    pub fn kinds(&self) -> usize {
        self.kinds.len()
    }

    /// All ways to make a job of which some coils may be started, best first.
    pub fn of(&mut self, job: &Job, started: &[(usize, u32)]) -> Vec<Choice> {
        let must = started.iter().any(|&(_, n)| n > 0);
        let on = started.first().map(|&(i, _)| self.question.spools[i].wire.as_str());
        let accepted = std::iter::once(job.wire.as_str()).chain(job.alternates.iter().map(|a| a.wire.as_str()));
        let mut choices: Vec<Choice> = Vec::new();
        for name in accepted {
            let (Some(&wire), Some(need), Some(worth)) = (self.wires.get(name), job.need_on(name), job.worth_on(name))
            else {
                continue;
            };
            let allowed = if must { on == Some(name) } else { worth > 0 };
            if !allowed || choices.iter().any(|c| c.wire == wire) {
                continue;
            }
            let need = mm_up(need.total()).max(1);
            let (bins, narrow) = self.spools(job, wire, started);
            let next = self.kinds.len();
            let kind = *self.kinds.entry((wire, need, narrow)).or_insert(next);
            choices.push(Choice { wire, need, worth, bins, kind });
        }
        choices.sort_by_key(|c| -c.worth);
        choices
    }

    /// Spools of a wire that may give coils of a job; told again if those are not all of them.
    fn spools(&self, job: &Job, wire: usize, started: &[(usize, u32)]) -> (Rc<[usize]>, Option<Vec<usize>>) {
        let all = &self.open[wire];
        let bound = job.matched_set && !started.is_empty();
        if job.only_from.is_none() && !bound {
            return (Rc::clone(all), None);
        }
        let may = |i: &usize| {
            let only = job.only_from.as_ref().is_none_or(|id| *id == self.question.spools[*i].id);
            only && (!job.matched_set || started.iter().all(|&(at, _)| at == *i))
        };
        let some: Vec<usize> = all.iter().copied().filter(may).collect();
        (Rc::from(some.as_slice()), Some(some))
    }
}
