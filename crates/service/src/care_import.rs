//! `care.import`: a table of spools or weighings, tried first and then written as one entry.

use crate::app::App;
use crate::caller::Caller;
use crate::stock_table::{self, Row};
use crate::writing::{refused, write};
use crate::{stock_asks, words};
use coilwright_catalog::Catalog;
use coilwright_proto::care::{CareImport, CareImported, ImportedRow, RowError, RowKind};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::params;
use coilwright_proto::spool::{SpoolReceive, SpoolWeigh};
use coilwright_shop::decide::import::{self, Asked};
use coilwright_shop::fact::{Fact, Subject};
use coilwright_shop::figures::Figures;
use coilwright_shop::state::State;
use serde_json::Value;
use std::collections::BTreeMap;

pub fn answer(app: &App, caller: &Caller, asked: CareImport) -> Result<Value, RpcError> {
    let rows = stock_table::read(&asked.csv)?;
    let figures = app.store.state().state.figures().clone();
    let understood: Vec<_> = rows.iter().map(|row| understood(&app.catalog, &figures, row)).collect();
    if asked.dry_run.unwrap_or(true) {
        let told = app.look(|published| Ok(tried(&rows, &understood, &published.state)))?;
        return serde_json::to_value(told).map_err(|e| {
            RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the answer could not be written: {e}"))
        });
    }
    if let Some((line, why)) = rows.iter().zip(&understood).find_map(|(row, r)| r.as_ref().err().map(|e| (row.line, e)))
    {
        let wrong = understood.iter().filter(|r| r.is_err()).count();
        let detail = format!(
            "{wrong} of {} rows cannot be read, so none was taken: line {line}: {}",
            rows.len(),
            why.data.detail
        );
        let mut e = RpcError::params("/csv", detail).met(why.data.met.clone()).allowed(why.data.allowed.clone());
        e.data.reason = Some("rows_refused".into());
        return Err(e.next("mend the line; a dry run reports every line"));
    }
    let asks: Vec<import::Row> = understood.into_iter().filter_map(Result::ok).collect();
    let lines: Vec<u64> = asks.iter().map(|row| row.line).collect();
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| import::import(state, &asks, at),
        move |after| {
            // A fact a row, in order.
            let of = lines.iter().zip(&after.decision.facts);
            CareImported {
                written: true,
                taken: lines.len() as u64,
                refused: 0,
                rows: of.map(|(line, fact)| taken(*line, std::slice::from_ref(fact), after.state)).collect(),
                findings: words::findings(&after.decision.findings),
                next: format!("`journal undo {} REASON` takes all of it back", after.seq),
                seq: Some(after.seq),
            }
        },
    )
}

/// A row as what the shop decides on.
fn understood(catalog: &Catalog, figures: &Figures, row: &Row) -> Result<import::Row, RpcError> {
    let text = Value::Object(row.params.clone()?).to_string();
    let asked = if row.weighs {
        Asked::Weigh(stock_asks::weigh(&params::read::<SpoolWeigh>(&text)?)?)
    } else {
        Asked::Receive(Box::new(stock_asks::receive(catalog, figures, &params::read::<SpoolReceive>(&text)?)?))
    };
    Ok(import::Row { line: row.line, asked })
}

/// What would be done.
fn tried(rows: &[Row], understood: &[Result<import::Row, RpcError>], state: &State) -> CareImported {
    let asks: Vec<import::Row> = understood.iter().filter_map(|r| r.as_ref().ok()).cloned().collect();
    let trial = import::try_rows(state, &asks, &words::a_moment(state));
    let weighs: BTreeMap<u64, bool> = rows.iter().map(|row| (row.line, row.weighs)).collect();
    let kind = |line: u64| weighs.get(&line).map(|weighs| kind(*weighs));
    let (mut told, mut findings, mut good) = (BTreeMap::new(), Vec::new(), Vec::new());
    for row in trial.rows {
        match row {
            Ok(row) => {
                told.insert(row.line, taken(row.line, &row.facts, &trial.after));
                findings.extend(row.findings.iter().cloned().map(|f| import::at_line(row.line, f)));
                good.push(row);
            }
            Err((line, why)) => {
                told.insert(line, not_taken(line, kind(line), &refused(why)));
            }
        }
    }
    let unread = rows.iter().zip(understood).filter_map(|(row, r)| r.as_ref().err().map(|e| (row.line, e)));
    told.extend(unread.map(|(line, e)| (line, not_taken(line, kind(line), e))));
    let refused = told.len() - good.len();
    let next = match (import::fits(&good), refused) {
        (_, 1) => "mend the line named; nothing is written while one row cannot be taken".into(),
        (_, n) if n > 0 => format!("mend the {n} lines named; nothing is written while one row cannot be taken"),
        (Err(too_many), _) => format!("{}; {}", too_many.detail, too_many.next_step),
        _ if good.is_empty() => "put one spool or one weighing in each line below the header".into(),
        _ => "nothing was written yet: ask again with `dry_run` false".into(),
    };
    CareImported {
        written: false,
        taken: good.len() as u64,
        refused: refused as u64,
        rows: told.into_values().collect(),
        findings: words::findings(&findings),
        next,
        seq: None,
    }
}

fn taken(line: u64, facts: &[Fact], after: &State) -> ImportedRow {
    let spool = facts.iter().find_map(|f| match f.subject() {
        Some(Subject::Spool(id)) => after.spool(id),
        _ => None,
    });
    let weighs = facts.iter().any(|f| matches!(f, Fact::SpoolWeighed(_)));
    ImportedRow {
        line,
        what: Some(kind(weighs)),
        spool: spool.map(|s| s.id().to_string()),
        left_m: spool.map(words::left),
        error: None,
    }
}

fn kind(weighs: bool) -> RowKind {
    if weighs { RowKind::Weigh } else { RowKind::Receive }
}

fn not_taken(line: u64, what: Option<RowKind>, why: &RpcError) -> ImportedRow {
    let there = |v: &Value| Some(v.clone()).filter(|v| !v.is_null());
    let data = &why.data;
    let column = data.pointer.as_deref().map(|p| p.trim_start_matches('/').replace('/', "."));
    let error = RowError {
        detail: data.detail.clone(),
        column: column.filter(|c| !c.is_empty()),
        met: there(&data.met),
        allowed: there(&data.allowed),
        next_step: data.next_step.clone(),
    };
    ImportedRow { line, what, spool: None, left_m: None, error: Some(error) }
}
