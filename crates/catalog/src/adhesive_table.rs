//! Adhesives: one table names them, one holds their figures, one their cures; each number with its own mark and source.

use crate::fault::{Fault, Faults};
use crate::figure_table::{Figure, FigureTable, Number, unknown_owner};
use crate::manifest::{AdhesiveTable, MARKS, is_word, mark};
use crate::table::{Cells, number, read_cells};
use crate::wire_table::Place;
use coilwright_core::adhesive::{Adhesive, Cure, DOUBLING_K, Kind, PotLife};
use coilwright_core::measured::Measured;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::{Density, Mass, Temperature};

/// An adhesive of the catalog.
#[derive(Debug, Clone, PartialEq)]
pub struct AdhesiveRecord {
    /// Its id, e.g. `epoxy-slow-equal`.
    pub id: String,
    /// Its name for people.
    pub label: String,
    /// What it is.
    pub adhesive: Adhesive,
    /// Every number but those of the cures, with its origin, in the order of the table.
    pub numbers: Vec<Number>,
    /// Where each stated cure comes from, cool to hot as [`Adhesive::cures`].
    pub cures: Vec<CureOrigin>,
    /// Anything a person should know about it.
    pub note: Option<String>,
    /// Where it is written.
    pub at: Place,
}

/// Where a stated cure comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct CureOrigin {
    /// How good the source is.
    pub mark: Mark,
    /// The source.
    pub source: String,
}

const DENSITY: &str = "density_g_per_cm3";
const HARDENER: &str = "hardener_per_100_resin";
const RATIO_LIMIT: &str = "ratio_limit_pct";
const SOLIDS: &str = "solids_pct";
const POT_LIFE: &str = "pot_life_min";
const POT_LIFE_AT: &str = "pot_life_at_c";
const POT_LIFE_MASS: &str = "pot_life_mass_g";
const DOUBLES: &str = "rate_doubles_k";
const HEAT_LIMIT: &str = "heat_limit_c";

/// All figures. The bounds catch a slip of the unit, nothing finer.
const FIGURES: [Figure; 9] = [
    Figure { name: DENSITY, unit: "g/cm³", least: 0.5, most: 5.0 },
    Figure { name: HARDENER, unit: "", least: 0.5, most: 500.0 },
    Figure { name: RATIO_LIMIT, unit: "%", least: 0.5, most: 50.0 },
    Figure { name: SOLIDS, unit: "%", least: 5.0, most: 100.0 },
    Figure { name: POT_LIFE, unit: "min", least: 0.5, most: 100_000.0 },
    Figure { name: POT_LIFE_AT, unit: "°C", least: 0.0, most: 100.0 },
    Figure { name: POT_LIFE_MASS, unit: "g", least: 0.1, most: 10_000.0 },
    Figure { name: DOUBLES, unit: "K", least: 3.0, most: 50.0 },
    Figure { name: HEAT_LIMIT, unit: "°C", least: 20.0, most: 600.0 },
];

/// Bounds of a stated cure: °C and hours.
const CURE_C: (f64, f64) = (0.0, 400.0);
const CURE_H: (f64, f64) = (0.01, 10_000.0);

/// Reads the three tables of one offer. `text` gives the text of a file of the plugin.
pub(crate) fn read(
    offer: &AdhesiveTable,
    mut text: impl FnMut(&str) -> Result<String, Fault>,
    plugin: &str,
    faults: &mut Faults,
) -> Vec<AdhesiveRecord> {
    let texts = [&offer.file, &offer.figures, &offer.cures].map(|file| faults.take(text(file)));
    let [Some(names), Some(figures), Some(cures)] = texts else { return Vec::new() };
    let columns = ["id", "label", "kind", "note"];
    let Some(names) = read_cells(&offer.file, &names, &columns, &["id", "label", "kind"], faults) else {
        return Vec::new();
    };
    let known: Vec<&str> = names.iter().map(|(_, cells)| cells.of("id")).collect();
    let table = FigureTable { file: &offer.figures, of: "adhesive", known: &known, figures: &FIGURES, several: &[] };
    let numbers = table.read(&figures, faults);
    let cures = read_cures(&offer.cures, &cures, &known, faults);
    let (Some(numbers), Some(cures)) = (numbers, cures) else { return Vec::new() };
    names
        .iter()
        .filter_map(|(line, cells)| {
            let id = cells.of("id");
            let own = numbers.iter().filter(|(a, _)| a == id).map(|(_, n)| n.clone()).collect();
            let own_cures = cures.iter().filter(|(a, ..)| a == id).map(|(_, c, o)| (*c, o.clone())).collect();
            let at = Place { plugin: plugin.to_owned(), file: offer.file.clone(), line: *line };
            faults.take(record(cells, own, own_cures, at))
        })
        .collect()
}

/// Every stated cure with the id it belongs to; rows at fault are told and left out.
fn read_cures(file: &str, text: &str, known: &[&str], faults: &mut Faults) -> Option<Vec<(String, Cure, CureOrigin)>> {
    let all = ["adhesive", "at_c", "time_h", "glass_c", "mark", "source"];
    let rows = read_cells(file, text, &all, &["adhesive", "at_c", "time_h", "mark", "source"], faults)?;
    let mut cures: Vec<(String, Cure, CureOrigin)> = Vec::new();
    for (line, cells) in &rows {
        let fault = |column: &str, message: String| Fault::new(message).file(file).line(*line).column(column);
        let id = cells.of("adhesive");
        if !known.contains(&id) {
            faults.push(unknown_owner("adhesive", id, known, fault));
            continue;
        }
        let Some((cure, origin)) = faults.take(read_cure(cells, fault)) else { continue };
        if cures.iter().any(|(a, c, _)| a == id && c.at == cure.at) {
            let twice = fault("at_c", format!("a cure of {id} at {} °C is there twice", cells.of("at_c")));
            faults.push(twice.next("take one of the two out"));
            continue;
        }
        cures.push((id.to_owned(), cure, origin));
    }
    Some(cures)
}

fn read_cure(cells: &Cells<'_>, fault: impl Fn(&str, String) -> Fault) -> Result<(Cure, CureOrigin), Fault> {
    let within = |column: &str, (least, most): (f64, f64), unit: &str| {
        let cell = cells.of(column);
        let value = number(cell).map_err(|f| Fault { next_step: f.next_step, ..fault(column, f.message) })?;
        if (least..=most).contains(&value) {
            return Ok(value);
        }
        Err(fault(column, format!("{cell} {unit} is outside {least} to {most}")))
    };
    let at = Temperature::from_c(within("at_c", CURE_C, "°C")?);
    let hours = within("time_h", CURE_H, "h")?;
    let glass = match cells.of("glass_c") {
        "" => None,
        _ => Some(Temperature::from_c(within("glass_c", CURE_C, "°C")?)),
    };
    let word = cells.of("mark");
    let mark = mark(word).ok_or_else(|| fault("mark", format!("`{word}` is no mark")).next(MARKS))?;
    let source = cells.of("source").to_owned();
    if source.is_empty() {
        return Err(fault("source", "the source is not named".into()).next("name it, or what the mark rests on"));
    }
    Ok((Cure { at, hours, glass }, CureOrigin { mark, source }))
}

fn record(
    cells: &Cells<'_>,
    numbers: Vec<Number>,
    mut cures: Vec<(Cure, CureOrigin)>,
    at: Place,
) -> Result<AdhesiveRecord, Fault> {
    let (id, label) = (cells.of("id"), cells.of("label"));
    let fault = |column: &str, message: String| Fault::new(message).file(&at.file).line(at.line).column(column);
    if !is_word(id) || id.len() > 64 {
        let fault = fault("id", format!("`{id}` is no id of an adhesive"));
        return Err(fault.next("use small letters, digits and hyphens"));
    }
    if label.is_empty() {
        return Err(fault("label", "the label is missing".into()));
    }
    let word = cells.of("kind");
    let kind = Kind::from_word(word).ok_or_else(|| {
        fault("kind", format!("`{word}` is no kind of adhesive")).next("write epoxy, solvent or other")
    })?;
    let first = |figure: &str| numbers.iter().find(|n| n.figure == figure);
    let value = |figure: &str| first(figure).map(|n| n.value);
    let add = "add it to the table of figures";
    let density = first(DENSITY).ok_or_else(|| fault("id", format!("`{id}` has no {DENSITY}")).next(add))?;
    let density_u = density.u.ok_or_else(|| {
        fault("id", format!("the density of `{id}` has no u"))
            .next("give its standard uncertainty in the table of figures")
    })?;
    let pot_life = match (value(POT_LIFE), value(POT_LIFE_AT)) {
        (Some(minutes), Some(at)) => {
            let up_to = value(POT_LIFE_MASS).map(Mass::from_g);
            Some(PotLife { minutes, at: Temperature::from_c(at), up_to })
        }
        (None, None) => None,
        (Some(_), None) => return Err(fault("id", format!("`{id}` has {POT_LIFE} but no {POT_LIFE_AT}")).next(add)),
        (None, Some(_)) => return Err(fault("id", format!("`{id}` has {POT_LIFE_AT} but no {POT_LIFE}")).next(add)),
    };
    cures.sort_by(|(a, _), (b, _)| a.at.c().total_cmp(&b.at.c()));
    let (cures, origins): (Vec<Cure>, Vec<CureOrigin>) = cures.into_iter().unzip();
    Ok(AdhesiveRecord {
        id: id.to_owned(),
        label: label.to_owned(),
        adhesive: Adhesive {
            kind,
            density: Measured::new(Density::from_g_per_cm3(density.value), Density::from_g_per_cm3(density_u)),
            hardener: value(HARDENER).map(|per_100| per_100 / 100.0),
            ratio_limit: value(RATIO_LIMIT).map(|pct| pct / 100.0),
            solids: value(SOLIDS).map_or(1.0, |pct| pct / 100.0),
            pot_life,
            doubling_k: value(DOUBLES).unwrap_or(DOUBLING_K),
            cures,
            heat_limit: value(HEAT_LIMIT).map(Temperature::from_c),
        },
        numbers,
        cures: origins,
        note: Some(cells.of("note")).filter(|note| !note.is_empty()).map(str::to_owned),
        at,
    })
}

impl AdhesiveRecord {
    /// The figures that a worked example may name: those of the table, the hardener's share of the mix, and the pot life
    /// 10 K warmer than it is stated for.
    pub(crate) fn figures(&self) -> Vec<(&'static str, Option<f64>)> {
        let a = &self.adhesive;
        let warmer = a.pot_life.and_then(|p| a.pot_life_at(Temperature::from_c(p.at.c() + 10.0)));
        let mut all: Vec<(&'static str, Option<f64>)> =
            self.numbers.iter().map(|n| (n.figure, Some(n.value))).collect();
        all.push(("hardener_share_pct", a.hardener.map(|h| 100.0 * h / (1.0 + h))));
        all.push(("pot_life_10_k_warmer_min", warmer));
        all
    }
}
