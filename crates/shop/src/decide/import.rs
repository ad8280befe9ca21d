//! Many rows of a table at once: every row is tried on what the rows before it left, and all are written or none.

use super::{Decision, Receive, Ruling, Weigh, receive, weigh};
use crate::entry::{Moment, Seq};
use crate::fact::Fact;
use crate::finding::Finding;
use crate::id::SpoolId;
use crate::refusal::Refusal;
use crate::state::State;
use std::collections::BTreeSet;

/// What one row of the table asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// A spool arrives.
    Receive(Box<Receive>),
    /// A spool is on the scale.
    Weigh(Weigh),
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its line in the table, the header being line 1.
    pub line: u64,
    /// What it asks for.
    pub asked: Asked,
}

/// A row that can be taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Its line.
    pub line: u64,
    /// The spool it is about; of a spool that arrives the id it gets.
    pub spool: SpoolId,
    /// What is to be written.
    pub facts: Vec<Fact>,
    /// What was noticed.
    pub findings: Vec<Finding>,
}

/// What the rows come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Row by row, in order: taken, or its line and why not.
    pub rows: Vec<Result<Taken, (u64, Refusal)>>,
    /// How the shop would stand with all that can be taken.
    pub after: State,
}

/// Most bytes of facts in one entry: a line of the journal holds a mebibyte, and the answer to the caller stands in it too.
const MOST_BYTES: usize = 600_000;

/// Tries every row on what the rows before it leave. Nothing is decided by it.
pub fn try_rows(state: &State, rows: &[Row], at: &Moment) -> Trial {
    let mut after = state.clone();
    let mut weighed = BTreeSet::new();
    let tried = rows.iter().map(|row| {
        let decision = match &row.asked {
            Asked::Receive(ask) => not_there_yet(&after, ask).and_then(|()| receive(&after, ask, at)),
            Asked::Weigh(ask) if !weighed.insert(ask.spool) => Err(weighed_twice(ask.spool)),
            Asked::Weigh(ask) => weigh(&after, ask, at),
        };
        let Decision { facts, findings } = decision.map_err(|why| (row.line, why))?;
        after = after.after(&Moment { seq: after.seq().max(state.seq()) + 1, ..at.clone() }, &facts);
        let spool = match &row.asked {
            Asked::Receive(_) => after.last_spool(),
            Asked::Weigh(ask) => ask.spool,
        };
        Ok(Taken { line: row.line, spool, facts, findings })
    });
    let rows = tried.collect();
    Trial { rows, after }
}

/// Takes all rows, as one entry: one counter-entry takes them all back.
///
/// # Errors
/// No row; more than one entry holds; any row that cannot be taken, with the first three of them named.
pub fn import(state: &State, rows: &[Row], at: &Moment) -> Ruling {
    let tried = try_rows(state, rows, at).rows;
    if tried.is_empty() {
        let next = "put one spool or one weighing in each line below the header";
        return Err(Refusal::wrong("no_rows", "/csv", "the table has a header and no rows".to_owned(), next));
    }
    let (taken, refused): (Vec<_>, Vec<_>) = tried.into_iter().partition(Result::is_ok);
    let refused: Vec<(u64, Refusal)> = refused.into_iter().filter_map(Result::err).collect();
    if !refused.is_empty() {
        return Err(not_all(&refused, rows.len()));
    }
    let taken: Vec<Taken> = taken.into_iter().filter_map(Result::ok).collect();
    fits(&taken)?;
    let mut decision = Decision { facts: Vec::new(), findings: Vec::new() };
    for row in taken {
        decision.facts.extend(row.facts);
        decision.findings.extend(row.findings.into_iter().map(|finding| at_line(row.line, finding)));
    }
    Ok(decision)
}

/// Whether the rows fit into one entry.
///
/// # Errors
/// They do not; how many of them would.
pub fn fits(taken: &[Taken]) -> Result<(), Refusal> {
    let mut bytes = 0;
    for (before, row) in taken.iter().enumerate() {
        bytes += serde_json::to_vec(&row.facts).map_or(MOST_BYTES, |text| text.len());
        if bytes > MOST_BYTES {
            let detail = format!("{} rows are more than one entry of the journal holds", taken.len());
            let next = format!("split the table: its first {before} rows fit");
            let refusal = Refusal::wrong("too_many_rows", "/csv", detail, next);
            return Err(refusal.met(taken.len()).allowed(format!("{before} rows of this length")));
        }
    }
    Ok(())
}

/// A finding that says from which line it comes.
pub fn at_line(line: u64, mut finding: Finding) -> Finding {
    finding.text = format!("line {line}: {}", finding.text);
    finding
}

/// The same table twice would double the stock: a mark that a spool in use bears already is met with a refusal.
fn not_there_yet(state: &State, ask: &Receive) -> Result<(), Refusal> {
    let label = ask.label.trim();
    let same = |s: &&crate::spool::Spool| s.retired.is_none() && s.received.label.trim().eq_ignore_ascii_case(label);
    match state.spools().find(same).filter(|_| !label.is_empty()) {
        None => Ok(()),
        Some(spool) => {
            let detail = format!("spool {} is labelled `{label}` already", spool.id());
            let next = format!(
                "leave the line out if it is that spool; to weigh it write {} in the column `spool`; else give it a label of its own",
                spool.id()
            );
            Err(Refusal::refused("label_taken", "label taken", detail, next).at("/label").met(label))
        }
    }
}

fn weighed_twice(spool: SpoolId) -> Refusal {
    let detail = format!("spool {spool} was weighed in an earlier line");
    Refusal::wrong("weighed_twice", "/spool", detail, "keep the weighing that counts").met(spool.to_string())
}

fn not_all(refused: &[(u64, Refusal)], rows: usize) -> Refusal {
    let shown: Vec<String> = refused.iter().take(3).map(|(line, why)| format!("line {line}: {}", why.detail)).collect();
    let more = if refused.len() > shown.len() { "; …" } else { "" };
    let detail = format!("{} of {rows} rows cannot be taken, so none was: {}{more}", refused.len(), shown.join("; "));
    let next = "mend these lines; a dry run reports every line";
    let lines: Vec<Seq> = refused.iter().map(|(line, _)| *line).collect();
    Refusal::refused("rows_refused", "rows refused", detail, next).at("/csv").met(lines)
}
