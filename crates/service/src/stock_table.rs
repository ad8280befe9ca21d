//! The table of spools as other programs write and read it: its columns, its rows as params of a request, and back.
//!
//! A column is named as the member of `spool.receive` or `spool.weigh` that it fills, so that a row is read, bounded and
//! explained as the request it stands for. Commas, semicolons or tabs set the columns apart, whichever the header has most of.

use coilwright_proto::error::RpcError;
use coilwright_proto::params;
use coilwright_shop::spool::Spool;
use csv::{ReaderBuilder, StringRecord, WriterBuilder};
use serde_json::{Map, Value, json};

/// Most rows of one table.
pub const MOST_ROWS: usize = 2000;

/// The columns of a spool that arrives; those of a weighing are among them but for `spool`.
const COLUMNS: [&str; 14] = [
    "spool",
    "wire",
    "label",
    "gross_g",
    "scale_u_g",
    "tare_g",
    "marked_m",
    "marked_is_wrong",
    "supplier",
    "lot",
    "cost_per_kg",
    "place",
    "note",
    "if_rev",
];
/// Those that a weighing takes.
const OF_WEIGHING: [&str; 4] = ["spool", "gross_g", "scale_u_g", "if_rev"];

/// A row as the params of the request it stands for.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its line; the header is line 1.
    pub line: u64,
    /// Whether it is a weighing.
    pub weighs: bool,
    /// The params, or what is wrong with a cell; the pointer names the column.
    pub params: Result<Map<String, Value>, RpcError>,
}

/// Reads a table.
///
/// # Errors
/// No header; a column that is not known, stands twice, or without which no row says anything; too many rows.
pub fn read(text: &str) -> Result<Vec<Row>, RpcError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let header = text.lines().next().unwrap_or_default();
    let separator = separator(header);
    let mut reader = ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut columns: Option<Vec<&'static str>> = None;
    let mut rows = Vec::new();
    let mut record = StringRecord::new();
    let mut lines = Lines { text, at: 0, line: 1 };
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(e) => return Err(wrong(format!("the table cannot be read: {e}"))),
        }
        let line = lines.of(record.position().map_or(0, csv::Position::byte));
        let Some(columns) = &columns else {
            columns = Some(named(&record, separator)?);
            continue;
        };
        if record.iter().all(str::is_empty) {
            continue;
        }
        if rows.len() == MOST_ROWS {
            return Err(wrong(format!("the table has more than {MOST_ROWS} rows"))
                .allowed(format!("at most {MOST_ROWS} rows at once"))
                .next("split the table"));
        }
        rows.push(row(line, columns, &record));
    }
    if columns.is_none() {
        return Err(wrong("the table is empty")
            .allowed(format!("a header with columns among {}", COLUMNS.join(", ")))
            .next("begin with a line like `wire,label,gross_g,tare_g`"));
    }
    Ok(rows)
}

/// Counts lines as an editor does.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// The line of a record. The reader gives where it stood before the empty lines that it passed over.
    fn of(&mut self, byte: u64) -> u64 {
        let bytes = self.text.as_bytes();
        let from = usize::try_from(byte).unwrap_or(usize::MAX).min(bytes.len());
        let empty = bytes[from..].iter().take_while(|b| matches!(b, b'\n' | b'\r')).count();
        self.line += bytes[self.at.min(from)..from + empty].iter().filter(|b| **b == b'\n').count() as u64;
        self.at = from + empty;
        self.line
    }
}

/// Writes the spools as a table that [`read`] takes: each with what is left now as its marked length.
///
/// # Errors
/// Never on text; the writer's own.
pub fn write<'a>(spools: impl Iterator<Item = &'a Spool>) -> Result<String, String> {
    let mut out = WriterBuilder::new().from_writer(Vec::new());
    let failed = |e: csv::Error| e.to_string();
    let columns = ["label", "wire", "marked_m", "tare_g", "supplier", "lot", "cost_per_kg", "place", "note"];
    out.write_record(columns).map_err(failed)?;
    for spool in spools {
        let now = spool.estimate();
        let with_u = |value: f64, u: f64| format!("{value:.4}±{u:.4}");
        let received = &spool.received;
        let cost = received.cost_per_kg.as_ref().map(|m| format!("{} {}", m.amount, m.currency));
        out.write_record([
            received.label.clone(),
            wire_cell(spool),
            with_u(now.left.value.m().max(0.0), now.left.u.m()),
            now.tare.map_or_else(String::new, |t| with_u(t.value.g(), t.u.g())),
            received.supplier.clone(),
            received.lot.clone(),
            cost.unwrap_or_default(),
            spool.place.clone(),
            received.note.clone(),
        ])
        .map_err(failed)?;
    }
    let bytes = out.into_inner().map_err(|e| e.to_string())?;
    String::from_utf8(bytes).map_err(|e| e.to_string())
}

/// The catalog's id, or the wire written out.
fn wire_cell(spool: &Spool) -> String {
    let wire = spool.wire();
    let measured = |m: coilwright_shop::uncertain::Uncertain| json!({ "value": m.value, "u": m.u });
    match &wire.id {
        Some(id) => id.clone(),
        None => json!({
            "conductor": wire.conductor, "bare_mm": wire.bare_mm, "overall_mm": wire.overall_mm,
            "g_per_m": measured(wire.g_per_m), "ohm_per_m": measured(wire.ohm_per_m),
        })
        .to_string(),
    }
}

fn separator(header: &str) -> u8 {
    let count = |c: char| header.matches(c).count();
    [(b';', ';'), (b'\t', '\t'), (b',', ',')].into_iter().max_by_key(|(_, c)| count(*c)).map_or(b',', |(b, _)| b)
}

fn named(header: &StringRecord, separator: u8) -> Result<Vec<&'static str>, RpcError> {
    let mut columns = Vec::new();
    for met in header {
        let name = met.trim().to_lowercase().replace([' ', '-'], "_");
        let Some(column) = COLUMNS.into_iter().find(|c| *c == name) else {
            let unknown = wrong(format!("there is no column `{met}`")).met(met).allowed(COLUMNS.to_vec());
            let set_apart = match separator {
                b';' => "semicolons",
                b'\t' => "tabs",
                _ => "commas",
            };
            return Err(match params::nearest(&name, &COLUMNS) {
                Some(near) => {
                    unknown.next(format!("write `{near}` if that is what was meant; the unit belongs to the name"))
                }
                None => unknown.next(format!("leave the column out; the header was read as set apart by {set_apart}")),
            });
        };
        if columns.contains(&column) {
            return Err(wrong(format!("the column `{column}` stands twice")).met(met).next("keep one of them"));
        }
        columns.push(column);
    }
    if !columns.iter().any(|c| ["wire", "spool"].contains(c)) {
        return Err(wrong("the table has neither a column `wire` nor a column `spool`")
            .met(header.iter().collect::<Vec<_>>())
            .allowed(COLUMNS.to_vec())
            .next("name the wire of spools that arrive, or the spool of a weighing"));
    }
    Ok(columns)
}

fn row(line: u64, columns: &[&'static str], record: &StringRecord) -> Row {
    let cell = |name: &str| columns.iter().zip(record).find(|(c, _)| **c == name).map_or("", |(_, cell)| cell);
    let weighs = !cell("spool").is_empty();
    Row { line, weighs, params: cells(columns, record, weighs) }
}

fn cells(columns: &[&'static str], record: &StringRecord, weighs: bool) -> Result<Map<String, Value>, RpcError> {
    if record.len() != columns.len() {
        let detail = format!("the line has {} cells, the header {}", record.len(), columns.len());
        return Err(RpcError::params("", detail)
            .met(record.len())
            .allowed(columns.len())
            .next("put a text that holds the separator in quotes, or write decimals with a point"));
    }
    let mut params = Map::new();
    for (column, cell) in columns.iter().zip(record).filter(|(_, cell)| !cell.is_empty()) {
        if cell.contains(['\n', '\r']) {
            return Err(at(column, "the cell runs over a line's end").next("close the quote within the line"));
        }
        if weighs && !OF_WEIGHING.contains(column) {
            return Err(at(column, format!("a row with a spool is a weighing and takes no {column}"))
                .met(cell)
                .allowed(OF_WEIGHING.to_vec())
                .next("leave the cell empty, or leave `spool` empty where a spool arrives"));
        }
        params.insert((*column).to_owned(), value(column, cell)?);
    }
    Ok(params)
}

/// A cell as the member of the params that it fills.
fn value(column: &str, cell: &str) -> Result<Value, RpcError> {
    Ok(match column {
        "wire" if cell.starts_with('{') => {
            serde_json::from_str(cell).map_err(|e| at(column, format!("looks like JSON and is none: {e}")).met(cell))?
        }
        "gross_g" | "tare_g" | "scale_u_g" => measured(cell, "g"),
        "marked_m" => measured(cell, "m"),
        "marked_is_wrong" => json!(yes(cell).ok_or_else(|| {
            at(column, format!("`{cell}` is neither yes nor no")).met(cell).allowed("yes or no").next("write yes or no")
        })?),
        "cost_per_kg" => money(cell).ok_or_else(|| {
            at(column, format!("`{cell}` is no price"))
                .met(cell)
                .allowed("an amount and a currency")
                .next("write it like `38.50 EUR`")
        })?,
        "if_rev" => cell.parse::<u64>().map_or_else(|_| json!(cell), |rev| json!(rev)),
        _ => json!(cell),
    })
}

fn measured(cell: &str, unit: &str) -> Value {
    match cell.split_once('±').or_else(|| cell.split_once("+-")).or_else(|| cell.split_once("+/-")) {
        Some((value, u)) => json!({ "value": number(value.trim(), unit), "u": number(u.trim(), unit) }),
        None => number(cell, unit),
    }
}

/// A bare number is in the column's unit, with a comma or a point.
fn number(text: &str, unit: &str) -> Value {
    match text.parse::<f64>() {
        Ok(x) if x.is_finite() => json!(x),
        _ if text.ends_with(|c: char| c.is_ascii_digit()) => json!(format!("{text} {unit}")),
        _ => json!(text),
    }
}

fn yes(cell: &str) -> Option<bool> {
    match cell.to_lowercase().as_str() {
        "yes" | "true" | "1" => Some(true),
        "no" | "false" | "0" => Some(false),
        _ => None,
    }
}

fn money(cell: &str) -> Option<Value> {
    let (first, second) = cell.split_once(char::is_whitespace)?;
    let (amount, currency) =
        if first.starts_with(|c: char| c.is_ascii_digit()) { (first, second.trim()) } else { (second.trim(), first) };
    let amount = if amount.contains('.') { amount.to_owned() } else { amount.replacen(',', ".", 1) };
    Some(json!({ "amount": amount, "currency": currency }))
}

fn wrong(detail: impl Into<String>) -> RpcError {
    RpcError::params("/csv", detail)
}

fn at(column: &str, detail: impl Into<String>) -> RpcError {
    RpcError::params(format!("/{column}"), detail)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn only(text: &str) -> Map<String, Value> {
        let mut rows = read(text).expect("a table");
        assert_eq!(rows.len(), 1, "{rows:?}");
        rows.remove(0).params.expect("a row")
    }

    #[test]
    fn commas_semicolons_and_tabs_set_columns_apart_and_decimals_follow_them() {
        let same = [
            "wire,gross_g,tare_g\ncu-awg31-single,149.3,97.0±1.0\n",
            "\u{feff}Wire;Gross g;TARE-G\r\ncu-awg31-single;149,3;97,0±1,0\r\n",
            "wire\tgross_g\ttare_g\n\ncu-awg31-single\t\"149.3\"\t97.0 +- 1.0\n\n",
        ];
        for text in same {
            let row = only(text);
            assert_eq!(row["wire"], "cu-awg31-single");
            assert!(row["gross_g"] == json!(149.3) || row["gross_g"] == json!("149,3 g"), "{row:?}");
            assert!(row["tare_g"]["u"] == json!(1.0) || row["tare_g"]["u"] == json!("1,0 g"), "{row:?}");
        }
    }

    #[test]
    fn lines_are_counted_as_an_editor_counts_them() {
        let rows = read("wire,gross_g\n\n\nA,1\nB,2,3\n").expect("a table");
        assert_eq!(rows.iter().map(|r| r.line).collect::<Vec<_>>(), [4, 5]);
        assert!(rows[1].params.as_ref().is_err_and(|e| e.data.detail.contains("3 cells, the header 2")));
    }

    #[test]
    fn a_header_that_is_not_understood_is_named_with_the_nearest() {
        let say = |text: &str| read(text).expect_err("refused").data;
        assert!(say("wire,gros_g\n").next_step.is_some_and(|n| n.contains("`gross_g`")));
        assert!(say("wire,wire\n").detail.contains("twice"));
        assert!(say("label,note\n").detail.contains("neither"));
        assert!(say("").detail.contains("empty"));
    }

    #[test]
    fn money_is_read_either_way_round() {
        for cell in ["38.50 EUR", "EUR 38.50", "38,50 EUR"] {
            assert_eq!(money(cell), Some(json!({ "amount": "38.50", "currency": "EUR" })), "{cell}");
        }
        assert_eq!(money("38.50"), None);
    }
}
