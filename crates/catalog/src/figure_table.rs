//! A table of figures, one number a line, each with its own uncertainty, mark and source: as formers and adhesives have it.

use crate::fault::{Fault, Faults};
use crate::manifest::{MARKS, mark};
use crate::nearest::nearest;
use crate::table::{Cells, number, read_cells};
use coilwright_core::origin::Mark;

/// One number of a material, and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// Name of the figure, with its unit, e.g. `density_g_per_cm3`.
    pub figure: &'static str,
    /// Its value in that unit.
    pub value: f64,
    /// Its standard uncertainty in that unit, where stated.
    pub u: Option<f64>,
    /// The unit as people write it.
    pub unit: &'static str,
    /// How good the source is.
    pub mark: Mark,
    /// The source.
    pub source: String,
}

/// A figure: its name with the unit, the unit as people write it, and the values it may have.
pub(crate) struct Figure {
    pub(crate) name: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) least: f64,
    pub(crate) most: f64,
}

/// What a table of figures is about.
pub(crate) struct FigureTable<'a> {
    /// Its file.
    pub(crate) file: &'a str,
    /// Its first column: what the figures belong to.
    pub(crate) of: &'static str,
    /// The ids that may stand there.
    pub(crate) known: &'a [&'a str],
    /// The figures that may be told.
    pub(crate) figures: &'a [Figure],
    /// Those of them that one thing may have several times.
    pub(crate) several: &'a [&'a str],
}

impl FigureTable<'_> {
    /// Every number with the id it belongs to, in the order of the table; rows at fault are told and left out. None where
    /// the header is at fault.
    pub(crate) fn read(&self, text: &str, faults: &mut Faults) -> Option<Vec<(String, Number)>> {
        let all = [self.of, "figure", "value", "u", "mark", "source"];
        let rows = read_cells(self.file, text, &all, &[self.of, "figure", "value", "mark", "source"], faults)?;
        let mut numbers: Vec<(String, Number)> = Vec::new();
        for (line, cells) in &rows {
            let fault = |column: &str, message: String| Fault::new(message).file(self.file).line(*line).column(column);
            let id = cells.of(self.of);
            if !self.known.contains(&id) {
                faults.push(unknown_owner(self.of, id, self.known, fault));
                continue;
            }
            let Some(number) = faults.take(read_number(cells, self.figures, fault)) else { continue };
            let once = !self.several.contains(&number.figure);
            if once && numbers.iter().any(|(other, n)| other == id && n.figure == number.figure) {
                let fault = fault("figure", format!("{} of {id} is there twice", number.figure));
                faults.push(match self.several {
                    [] => fault.next("take one of the two out"),
                    several => fault.next(format!("only {} may be", several.join(", "))),
                });
                continue;
            }
            numbers.push((id.to_owned(), number));
        }
        Some(numbers)
    }
}

/// The fault of a row that belongs to nothing.
pub(crate) fn unknown_owner(of: &str, id: &str, known: &[&str], fault: impl Fn(&str, String) -> Fault) -> Fault {
    let near = nearest(id, known.iter().copied(), 1).first().map(|near| format!("did you mean `{near}`?"));
    Fault { next_step: near, ..fault(of, format!("no {of} of this plugin has the id `{id}`")) }
}

/// Reads the row of one figure, which is one of `known`.
///
/// # Errors
/// A fault, placed by `fault`, for an unknown figure, a value outside its bounds, and an unmarked or unsourced one.
fn read_number(cells: &Cells<'_>, known: &[Figure], fault: impl Fn(&str, String) -> Fault) -> Result<Number, Fault> {
    let name = cells.of("figure");
    let figure = known.iter().find(|f| f.name == name).ok_or_else(|| {
        let names = known.iter().map(|f| f.name);
        let next = match nearest(name, names.clone(), 1).first() {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("the figures are: {}", names.collect::<Vec<_>>().join(", ")),
        };
        fault("figure", format!("no figure is called `{name}`")).next(next)
    })?;
    let read = |column: &str, cell: &str| {
        number(cell).map_err(|f| Fault { next_step: f.next_step, ..fault(column, f.message) })
    };
    let value = read("value", cells.of("value"))?;
    if !(figure.least..=figure.most).contains(&value) {
        let message = format!("{value} {} is outside {} to {}", figure.unit, figure.least, figure.most);
        return Err(fault("value", message).next("the unit is the one in the figure's name"));
    }
    let u = match cells.of("u") {
        "" => None,
        cell => Some(read("u", cell)?),
    };
    if u.is_some_and(|u| u <= 0.0 || u >= value) {
        return Err(fault("u", format!("{} is no standard uncertainty of {value}", cells.of("u")))
            .next("write it in the same unit, above zero, or leave it empty"));
    }
    let word = cells.of("mark");
    let mark = mark(word).ok_or_else(|| fault("mark", format!("`{word}` is no mark")).next(MARKS))?;
    let source = cells.of("source").to_owned();
    if source.is_empty() {
        return Err(fault("source", "the source is not named".into()).next("name it, or what the mark rests on"));
    }
    Ok(Number { figure: figure.name, value, u, unit: figure.unit, mark, source })
}
