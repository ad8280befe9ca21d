//! Wire tables: rows of figures into wires.

use crate::fault::{Fault, Faults};
use crate::manifest::{self, CONDUCTORS, MARKS, WireTable};
use crate::table::{self, Row, Table, positive};
use crate::wire_columns::{Column, Figure, HEADERS, understand};
use coilwright_core::conductor::Conductor;
use coilwright_core::measured::Measured;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::{Length, LinearMass, LinearResistance, Quantity};
use coilwright_core::wire::{Limits, Standing, Wire, WireError, WireFigures};
use std::collections::BTreeMap;

/// Bare diameters outside these bounds, in millimetres, are taken for a slip of the unit.
const BARE_MM: (f64, f64) = (0.005, 10.0);

/// The next step where figures contradict each other.
const COMPARE: &str = "compare the row with its source, and the units in the header";

/// A wire of the catalog.
#[derive(Debug, Clone, PartialEq)]
pub struct WireRecord {
    /// Its id, e.g. `cu-awg30-single`.
    pub id: String,
    /// Its name for people, e.g. "AWG 30 single, copper".
    pub label: String,
    /// The series of its size: `awg`, `metric`, or a plugin's own word.
    pub series: String,
    /// The size as people say it, e.g. "AWG 30" or "0.250 mm".
    pub size: String,
    /// Build or grade, e.g. "single" or "grade 1".
    pub build: String,
    /// What it is.
    pub wire: Wire,
    /// Listed by a source, or computed from a listed one.
    pub standing: Standing,
    /// Where its figures come from.
    pub source: String,
    /// How good that is.
    pub mark: Mark,
    /// Anything a person should know about it.
    pub note: Option<String>,
    /// Where it is written.
    pub at: Place,
}

/// Where a record is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Id of the plugin.
    pub plugin: String,
    /// File within its folder.
    pub file: String,
    /// Line, from 1.
    pub line: u64,
}

/// Reads one table of a plugin.
pub(crate) fn read(offer: &WireTable, text: &str, plugin: &str, faults: &mut Faults) -> Vec<WireRecord> {
    let Some(table) = table::read(&offer.file, text, faults, understand) else { return Vec::new() };
    let mut good = true;
    let mut missing = |name: &str, next: &str| {
        faults.push(table.missing(name, next));
        good = false;
    };
    for (name, wanted) in [("id", Column::Id), ("size", Column::Size), ("build", Column::Build)] {
        if !table.has(|c| c == wanted) {
            missing(name, "add it");
        }
    }
    if !table.has(|c| matches!(c, Column::Figure(Figure::Bare, _))) {
        missing("bare_mm", "add it, or the same in µm, mil or inches: bare_um, bare_mil, bare_in");
    }
    let has = |figure| table.has(|c| matches!(c, Column::Figure(f, _) if f == figure));
    let overall_known = has(Figure::Overall) || (has(Figure::OverallMin) && has(Figure::OverallMax));
    if !overall_known {
        missing("overall_mm", "add it, or both limits: overall_min_mm and overall_max_mm");
    }
    if offer.conductor.is_none() && !table.has(|c| c == Column::Conductor) {
        missing("conductor", "add it, or name the conductor of the whole table in plugin.toml");
    }
    if !good {
        return Vec::new();
    }
    table.rows.iter().filter_map(|row| Reading { offer, plugin, table: &table, row, faults }.record()).collect()
}

impl Table<Column> {
    fn has(&self, wanted: impl Fn(Column) -> bool) -> bool {
        self.columns.iter().any(|(_, column)| wanted(*column))
    }
}

/// The reading of one row.
struct Reading<'a> {
    offer: &'a WireTable,
    plugin: &'a str,
    table: &'a Table<Column>,
    row: &'a Row,
    faults: &'a mut Faults,
}

/// The figures met in a row, each in its own unit.
type Met = BTreeMap<Figure, f64>;

impl<'a> Reading<'a> {
    fn record(mut self) -> Option<WireRecord> {
        let met = self.figures()?;
        let id = self.required(Column::Id, "id")?;
        let size = self.required(Column::Size, "size")?;
        let build = self.required(Column::Build, "build")?;
        if !is_id(id) {
            let next = "use up to 64 small letters, digits, points and hyphens, e.g. cu-awg30-single";
            return self.refuse("id", format!("`{id}` is no id of a wire"), next);
        }
        let conductor = match (self.text(Column::Conductor), self.offer.conductor) {
            (Some(word), _) => match Conductor::from_word(word) {
                Some(conductor) => conductor,
                None => return self.refuse("conductor", format!("`{word}` is no conductor"), CONDUCTORS),
            },
            (None, Some(conductor)) => conductor,
            (None, None) => return self.refuse("conductor", "the conductor is not given".into(), CONDUCTORS),
        };
        let mark = match (self.text(Column::Mark), self.offer.mark) {
            (Some(word), _) => match manifest::mark(word) {
                Some(mark) => mark,
                None => return self.refuse("mark", format!("`{word}` is no mark"), MARKS),
            },
            (None, Some(mark)) => mark,
            (None, None) => {
                let next = "name a mark for the row, or for the table in plugin.toml: published, derived, common_practice, memory";
                return self.refuse("mark", "how good the source is, is not said".into(), next);
            }
        };
        let Some(source) = self.text(Column::Source).or(self.offer.source.as_deref()) else {
            let next = "name it for the row, or for the table in plugin.toml";
            return self.refuse("source", "the source is not named".into(), next);
        };
        let wire = self.wire(conductor, &met)?;
        Some(WireRecord {
            id: id.to_owned(),
            label: self.text(Column::Label).map_or_else(|| label(size, build, conductor), str::to_owned),
            series: self.offer.series.clone(),
            size: size.to_owned(),
            build: build.to_owned(),
            wire,
            standing: Standing::Listed,
            source: source.to_owned(),
            mark,
            note: self.text(Column::Note).or(self.offer.note.as_deref()).map(str::to_owned),
            at: Place { plugin: self.plugin.to_owned(), file: self.offer.file.clone(), line: self.row.line },
        })
    }

    /// Every number of the row; none if any of them is at fault.
    fn figures(&mut self) -> Option<Met> {
        let table = self.table;
        let mut met = Met::new();
        let mut good = true;
        for ((header, column), cell) in table.columns.iter().zip(&self.row.cells) {
            let Column::Figure(figure, scale) = column else { continue };
            if cell.is_empty() {
                continue;
            }
            let fault = match positive(cell) {
                Ok(value) if !met.contains_key(figure) => {
                    met.insert(*figure, value * scale);
                    continue;
                }
                Ok(_) => Fault::new("the figure is there twice, in two units").next("keep one of the two columns"),
                Err(fault) => fault,
            };
            self.faults.push(fault.file(&table.file).line(self.row.line).column(header));
            good = false;
        }
        good.then_some(met)
    }

    fn wire(&mut self, conductor: Conductor, met: &Met) -> Option<Wire> {
        let value = |figure| met.get(&figure).copied();
        let Some(bare) = value(Figure::Bare) else {
            return self.refuse_figure(
                Figure::Bare,
                "the bare diameter is missing".into(),
                "give it, or take the row out",
            );
        };
        if !(BARE_MM.0..=BARE_MM.1).contains(&bare) {
            let message = format!("a bare diameter of {bare} mm is outside {} to {} mm", BARE_MM.0, BARE_MM.1);
            return self.refuse_figure(Figure::Bare, message, "is the unit in the header right?");
        }
        let bare_limits = self.limits(met, Figure::BareMin, Figure::BareMax)?;
        let overall_limits = self.limits(met, Figure::OverallMin, Figure::OverallMax)?;
        let ohm_limits = self.limits(met, Figure::OhmMin, Figure::OhmMax)?;
        let Some(overall) = value(Figure::Overall).or(overall_limits.map(|(min, max)| 0.5 * (min + max))) else {
            let next = "give overall_mm, or both overall_min_mm and overall_max_mm";
            return self.refuse_figure(Figure::Overall, "the overall diameter is missing".into(), next);
        };
        // The thinnest wire over its insulation is not thinner than the thinnest metal.
        if let (Some((over, _)), Some((metal, _))) = (overall_limits, bare_limits)
            && over < metal
        {
            let message = format!("the least overall diameter {over} mm is below the least bare diameter {metal} mm");
            return self.refuse_figure(Figure::OverallMin, message, COMPARE);
        }
        let wire = Wire::new(WireFigures {
            conductor,
            bare: Measured::certain(Length::from_mm(bare)),
            bare_limits: bare_limits.map(|l| bounds(l, Length::from_mm)),
            overall: Measured::certain(Length::from_mm(overall)),
            overall_limits: overall_limits.map(|l| bounds(l, Length::from_mm)),
            ohm_per_m: value(Figure::Ohm).map(|r| Measured::certain(LinearResistance::from_ohm_per_m(r))),
            ohm_per_m_limits: ohm_limits.map(|l| bounds(l, LinearResistance::from_ohm_per_m)),
            g_per_m: value(Figure::Mass).map(|m| Measured::certain(LinearMass::from_g_per_m(m))),
        });
        let error = match wire {
            Ok(wire) => return Some(wire),
            Err(error) => error,
        };
        let figure = match &error {
            WireError::OverallBelowBare { .. } if met.contains_key(&Figure::Overall) => Figure::Overall,
            WireError::OverallBelowBare { .. } => Figure::OverallMin,
            WireError::LimitsDoNotHold { what: "bare_mm", .. } => Figure::Bare,
            WireError::LimitsDoNotHold { what: "overall_mm", .. } => Figure::Overall,
            WireError::Contradiction { what: "g_per_m", .. } => Figure::Mass,
            WireError::LimitsDoNotHold { .. } | WireError::Contradiction { .. } => Figure::Ohm,
        };
        self.refuse_figure(figure, error.to_string(), COMPARE)
    }

    /// A pair of limits: both or neither, in order. None (outside) where they are at fault.
    fn limits(&mut self, met: &Met, min: Figure, max: Figure) -> Option<Option<(f64, f64)>> {
        let both = "give both or neither";
        match (met.get(&min), met.get(&max)) {
            (None, None) => Some(None),
            (Some(low), Some(high)) if low <= high => Some(Some((*low, *high))),
            (Some(low), Some(high)) => {
                self.refuse_figure(min, format!("the least value {low} is above the greatest, {high}"), "swap the two")
            }
            (Some(_), None) => self.refuse_figure(max, "the least value is given without the greatest".into(), both),
            (None, Some(_)) => self.refuse_figure(min, "the greatest value is given without the least".into(), both),
        }
    }

    /// The text of a column; none where the column or the cell is empty or absent.
    fn text(&self, wanted: Column) -> Option<&'a str> {
        let at = self.table.columns.iter().position(|(_, column)| *column == wanted)?;
        self.row.cells.get(at).map(String::as_str).filter(|cell| !cell.is_empty())
    }

    fn required(&mut self, wanted: Column, name: &str) -> Option<&'a str> {
        self.text(wanted)
            .or_else(|| self.refuse(name, format!("the {name} is missing"), "give it, or take the row out"))
    }

    fn refuse<T>(&mut self, column: &str, message: String, next: &str) -> Option<T> {
        self.faults.push(Fault::new(message).file(&self.table.file).line(self.row.line).column(column).next(next));
        None
    }

    /// Refuses a figure under the header that it has in this table, or the usual one.
    fn refuse_figure<T>(&mut self, figure: Figure, message: String, next: &str) -> Option<T> {
        let holds = |column: &Column| matches!(column, Column::Figure(f, _) if *f == figure);
        let here = self.table.columns.iter().find(|(_, c)| holds(c)).map(|(name, _)| name.as_str());
        let usual = HEADERS.iter().find(|(_, c)| holds(c)).map(|(name, _)| *name);
        self.refuse(here.or(usual).unwrap_or_default(), message, next)
    }
}

fn bounds<Q: Quantity>((min, max): (f64, f64), make: impl Fn(f64) -> Q) -> Limits<Q> {
    Limits { min: make(min), max: make(max) }
}

pub(crate) fn label(size: &str, build: &str, conductor: Conductor) -> String {
    format!("{size} {build}, {}", conductor.name())
}

/// Whether a text may be the id of a wire or an offer.
pub(crate) fn is_id(id: &str) -> bool {
    id.len() <= 64
        && id.starts_with(|c: char| c.is_ascii_alphanumeric())
        && id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || matches!(b, b'-' | b'.'))
}
