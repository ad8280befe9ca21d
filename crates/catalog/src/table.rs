//! A CSV table as rows of cells that know their line, before anything is made of them.

use crate::fault::{Fault, Faults};
use crate::nearest::nearest;
use csv::{ReaderBuilder, StringRecord};

/// Most rows of one table and most bytes of one cell.
const ROWS: usize = 100_000;
const CELL_BYTES: usize = 2000;

/// A header, its columns understood as `C`, and the rows below it.
#[derive(Debug)]
pub(crate) struct Table<C> {
    pub(crate) file: String,
    /// Line of the header.
    pub(crate) line: u64,
    pub(crate) columns: Vec<(String, C)>,
    pub(crate) rows: Vec<Row>,
}

/// A row: as many cells as the table has columns.
#[derive(Debug)]
pub(crate) struct Row {
    pub(crate) line: u64,
    pub(crate) cells: Vec<String>,
}

/// Reads a table. Lines that begin with `#` are remarks, empty lines are skipped; `understand` says what a header means.
///
/// Faults go to `faults`; what could be read is returned all the same, so that one reading tells all of them. None where
/// the header itself is at fault, since every row below would then be misread.
pub(crate) fn read<C>(
    file: &str,
    text: &str,
    faults: &mut Faults,
    understand: impl Fn(&str) -> Result<C, Fault>,
) -> Option<Table<C>> {
    // Ends of lines made alike, so that the reader's count of lines is the editor's.
    let mut text = text.replace("\r\n", "\n");
    if !text.ends_with('\n') {
        text.push('\n');
    }
    let mut reader =
        ReaderBuilder::new().has_headers(false).flexible(true).comment(Some(b'#')).from_reader(text.as_bytes());
    let mut record = StringRecord::new();
    let mut columns: Option<(u64, Vec<(String, C)>)> = None;
    let mut rows = Vec::new();
    loop {
        let begun = reader.position().byte() as usize;
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(e) => {
                faults.push(Fault::new(format!("the table cannot be read: {e}")).file(file));
                return None;
            }
        }
        let inner_lines = record.iter().map(|c| c.matches('\n').count() as u64).sum::<u64>();
        let unclosed =
            reader.position().byte() as usize == text.len() && is_unclosed(text.get(begun..).unwrap_or_default());
        // The position after a record is at the beginning of the line below it, or at the end within an unclosed cell.
        let line = reader.position().line().saturating_sub(inner_lines + u64::from(!unclosed));
        let at = |message: String| Fault::new(message).file(file).line(line);
        if unclosed {
            faults.push(at("a quotation mark is not closed".into()).next("close it, or take it out"));
            return None;
        }
        let cells: Vec<String> = record.iter().map(|c| c.trim().to_owned()).collect();
        if let Some(long) = cells.iter().position(|c| c.len() > CELL_BYTES) {
            faults.push(
                at(format!("cell {} is longer than {CELL_BYTES} bytes", long + 1))
                    .next("is a quotation mark not closed?"),
            );
            return None;
        }
        let Some((_, known)) = &columns else {
            columns = Some((line, header(&cells, at, faults, &understand)?));
            continue;
        };
        if cells.iter().all(String::is_empty) {
            continue;
        }
        if cells.len() != known.len() {
            let fault = at(format!("{} cells where the header has {}", cells.len(), known.len()));
            faults.push(
                fault.next("write decimal points, not commas, and put text that holds a comma in quotation marks"),
            );
        } else if rows.len() == ROWS {
            faults.push(at(format!("more than {ROWS} rows")).next("split the table into several files"));
            return None;
        } else {
            rows.push(Row { line, cells });
        }
    }
    let Some((line, columns)) = columns else {
        faults.push(Fault::new("the table is empty: not even a header").file(file));
        return None;
    };
    Some(Table { file: file.to_owned(), line, columns, rows })
}

/// Cells of a row by the name of their column.
#[derive(Debug)]
pub(crate) struct Cells<'a>(Vec<(&'a str, String)>);

impl Cells<'_> {
    /// The cell, empty where the table has no such column.
    pub(crate) fn of(&self, column: &str) -> &str {
        self.0.iter().find(|(name, _)| *name == column).map_or("", |(_, cell)| cell)
    }
}

/// Reads a table whose columns go by fixed names: the line and the cells of each row. None where the header is at fault, or
/// one of the `needed` columns is not there.
pub(crate) fn read_cells<'a>(
    file: &str,
    text: &str,
    known: &[&'a str],
    needed: &[&str],
    faults: &mut Faults,
) -> Option<Vec<(u64, Cells<'a>)>> {
    let understand =
        |header: &str| known.iter().copied().find(|k| *k == header).ok_or_else(|| unknown_header(header, known));
    let table = read(file, text, faults, understand)?;
    let mut good = true;
    for name in needed {
        if !table.columns.iter().any(|(_, column)| column == name) {
            faults.push(table.missing(name, "add it"));
            good = false;
        }
    }
    let cells = |row: Row| (row.line, Cells(table.columns.iter().map(|(_, c)| *c).zip(row.cells).collect()));
    good.then(|| table.rows.into_iter().map(cells).collect())
}

/// Whether the last record of a table ends within quotation marks.
fn is_unclosed(record: &str) -> bool {
    let lines = record.lines().filter(|line| !line.starts_with('#'));
    lines.map(|line| line.matches('"').count()).sum::<usize>() % 2 == 1
}

fn header<C>(
    cells: &[String],
    at: impl Fn(String) -> Fault,
    faults: &mut Faults,
    understand: impl Fn(&str) -> Result<C, Fault>,
) -> Option<Vec<(String, C)>> {
    if let [only] = cells
        && only.contains([';', '\t'])
    {
        faults.push(
            at("the columns are separated by semicolons or tabs".into())
                .next("save the table with commas between the columns"),
        );
        return None;
    }
    let mut columns: Vec<(String, C)> = Vec::new();
    let mut good = true;
    for cell in cells {
        if columns.iter().any(|(name, _)| name == cell) {
            faults.push(at(format!("the column `{cell}` is there twice")).column(cell));
            good = false;
            continue;
        }
        match understand(cell) {
            Ok(column) => columns.push((cell.clone(), column)),
            Err(fault) => {
                let place = at(fault.message);
                faults.push(Fault { next_step: fault.next_step, ..place.column(cell) });
                good = false;
            }
        }
    }
    good.then_some(columns)
}

impl<C> Table<C> {
    /// The fault of a column that is needed and not there.
    pub(crate) fn missing(&self, name: &str, next: &str) -> Fault {
        Fault::new(format!("the column `{name}` is missing")).file(&self.file).line(self.line).column(name).next(next)
    }
}

/// What is said of a header that nobody knows.
pub(crate) fn unknown_header(name: &str, known: &[&str]) -> Fault {
    let fault = Fault::new(format!("no column is called `{name}`"));
    match nearest(name, known.iter().copied(), 1).first() {
        Some(near) => fault.next(format!("did you mean `{near}`?")),
        None => fault.next(format!("the columns are: {}", known.join(", "))),
    }
}

/// A number as tables write it: digits, a decimal point, perhaps an exponent.
///
/// # Errors
/// A fault without a place, for anything else: text, a decimal comma, NaN and infinity.
pub(crate) fn number(cell: &str) -> Result<f64, Fault> {
    let plain = cell.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e' | b'E'));
    match cell.parse::<f64>() {
        Ok(value) if plain && value.is_finite() => Ok(value),
        _ if cell.matches(',').count() == 1 && cell.replace(',', ".").parse::<f64>().is_ok() => {
            Err(Fault::new(format!("`{cell}` has a decimal comma")).next(format!("write {}", cell.replace(',', "."))))
        }
        _ => Err(Fault::new(format!("`{cell}` is not a number"))
            .next("write it like 0.254 or 2.5e-8, the unit is in the header")),
    }
}

/// A number above zero.
///
/// # Errors
/// As [`number`], and for zero and below.
pub(crate) fn positive(cell: &str) -> Result<f64, Fault> {
    let value = number(cell)?;
    if value > 0.0 { Ok(value) } else { Err(Fault::new(format!("{cell} is not above zero"))) }
}
