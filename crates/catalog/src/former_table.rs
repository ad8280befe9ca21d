//! Former materials: one table names them, another holds their figures, each with its own mark and source.

use crate::fault::{Fault, Faults};
use crate::manifest::{FormerTable, MARKS, is_word, mark};
use crate::nearest::nearest;
use crate::table::{Cells, number, read_cells};
use crate::wire_table::Place;
use coilwright_core::former::FormerMaterial;
use coilwright_core::measured::Measured;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::{Density, Length, Resistivity, Temperature};

/// A former material of the catalog.
#[derive(Debug, Clone, PartialEq)]
pub struct FormerRecord {
    /// Its id, e.g. `aluminium-foil`.
    pub id: String,
    /// Its name for people.
    pub label: String,
    /// What it is.
    pub material: FormerMaterial,
    /// Usual wall thicknesses, thin to thick.
    pub walls: Vec<Length>,
    /// Slit that is left open between the ends of the blank unless said otherwise; zero for a butt seam.
    pub slit: Length,
    /// Thermal conductivity in W/(m·K), where known.
    pub thermal_conductivity_w_per_m_k: Option<f64>,
    /// Every number above with its origin, in the order of the table.
    pub numbers: Vec<Number>,
    /// Anything a person should know about it.
    pub note: Option<String>,
    /// Where it is written.
    pub at: Place,
}

/// One number of a former material, and where it comes from.
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
struct Figure {
    name: &'static str,
    unit: &'static str,
    least: f64,
    most: f64,
}

const DENSITY: &str = "density_g_per_cm3";
const RESISTIVITY: &str = "resistivity_ohm_m";
const HEAT_LIMIT: &str = "heat_limit_c";
const EXPANSION: &str = "expansion_per_k";
const THERMAL_CONDUCTIVITY: &str = "thermal_conductivity_w_per_m_k";
const WALL: &str = "wall_mm";
const SLIT: &str = "slit_mm";

/// All figures. The bounds catch a slip of the unit, nothing finer.
const FIGURES: [Figure; 7] = [
    Figure { name: DENSITY, unit: "g/cm³", least: 0.02, most: 25.0 },
    Figure { name: RESISTIVITY, unit: "Ω·m", least: 1e-9, most: 1e-4 },
    Figure { name: HEAT_LIMIT, unit: "°C", least: 20.0, most: 1500.0 },
    Figure { name: EXPANSION, unit: "1/K", least: 1e-8, most: 1e-3 },
    Figure { name: THERMAL_CONDUCTIVITY, unit: "W/(m·K)", least: 1e-3, most: 5000.0 },
    Figure { name: WALL, unit: "mm", least: 0.005, most: 10.0 },
    Figure { name: SLIT, unit: "mm", least: 0.0, most: 20.0 },
];

/// Reads the two tables of one offer. `text` gives the text of a file of the plugin.
pub(crate) fn read(
    offer: &FormerTable,
    mut text: impl FnMut(&str) -> Result<String, Fault>,
    plugin: &str,
    faults: &mut Faults,
) -> Vec<FormerRecord> {
    let (Some(names), Some(figures)) = (faults.take(text(&offer.file)), faults.take(text(&offer.figures))) else {
        return Vec::new();
    };
    let names = read_cells(&offer.file, &names, &["id", "label", "note"], &["id", "label"], faults);
    let all = ["former", "figure", "value", "u", "mark", "source"];
    let figures = read_cells(&offer.figures, &figures, &all, &["former", "figure", "value", "mark", "source"], faults);
    let (Some(names), Some(figures)) = (names, figures) else { return Vec::new() };
    let known: Vec<&str> = names.iter().map(|(_, cells)| cells.of("id")).collect();
    let mut numbers: Vec<(String, u64, Number)> = Vec::new();
    for (line, cells) in &figures {
        let fault = |column: &str, message: String| Fault::new(message).file(&offer.figures).line(*line).column(column);
        let former = cells.of("former");
        if !known.contains(&former) {
            let fault = fault("former", format!("no former of {} has the id `{former}`", offer.file));
            let near = nearest(former, known.iter().copied(), 1).first().map(|near| format!("did you mean `{near}`?"));
            faults.push(Fault { next_step: near, ..fault });
            continue;
        }
        let Some(number) = faults.take(read_number(cells, fault)) else { continue };
        let twice = numbers.iter().any(|(f, _, n)| f == former && n.figure == number.figure && n.figure != WALL);
        if twice {
            faults.push(
                fault("figure", format!("{} of {former} is there twice", number.figure)).next("only wall_mm may be"),
            );
            continue;
        }
        numbers.push((former.to_owned(), *line, number));
    }
    names
        .into_iter()
        .filter_map(|(line, cells)| {
            let id = cells.of("id");
            let own = numbers.iter().filter(|(f, ..)| f == id).map(|(.., n)| n.clone()).collect();
            let at = Place { plugin: plugin.to_owned(), file: offer.file.clone(), line };
            faults.take(record(&cells, own, at))
        })
        .collect()
}

fn read_number(cells: &Cells<'_>, fault: impl Fn(&str, String) -> Fault) -> Result<Number, Fault> {
    let name = cells.of("figure");
    let figure = FIGURES.iter().find(|f| f.name == name).ok_or_else(|| {
        let names = FIGURES.iter().map(|f| f.name);
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

fn record(cells: &Cells<'_>, numbers: Vec<Number>, at: Place) -> Result<FormerRecord, Fault> {
    let (id, label) = (cells.of("id"), cells.of("label"));
    let fault = |column: &str, message: String| Fault::new(message).file(&at.file).line(at.line).column(column);
    if !is_word(id) || id.len() > 64 {
        return Err(fault("id", format!("`{id}` is no id of a former")).next("use small letters, digits and hyphens"));
    }
    if label.is_empty() {
        return Err(fault("label", "the label is missing".into()));
    }
    let first = |figure: &str| numbers.iter().find(|n| n.figure == figure);
    let density = first(DENSITY)
        .ok_or_else(|| fault("id", format!("`{id}` has no {DENSITY}")).next("add it to the table of figures"))?;
    let density_u = density.u.ok_or_else(|| {
        fault("id", format!("the density of `{id}` has no u"))
            .next("give its standard uncertainty in the table of figures")
    })?;
    let mut walls: Vec<f64> = numbers.iter().filter(|n| n.figure == WALL).map(|n| n.value).collect();
    walls.sort_by(f64::total_cmp);
    Ok(FormerRecord {
        id: id.to_owned(),
        label: label.to_owned(),
        material: FormerMaterial {
            density: Measured::new(Density::from_g_per_cm3(density.value), Density::from_g_per_cm3(density_u)),
            resistivity: first(RESISTIVITY).map(|n| Resistivity::from_ohm_m(n.value)),
            heat_limit: first(HEAT_LIMIT).map(|n| Temperature::from_c(n.value)),
            expansion_per_k: first(EXPANSION).map(|n| n.value),
        },
        walls: walls.into_iter().map(Length::from_mm).collect(),
        slit: first(SLIT).map_or(Length::ZERO, |n| Length::from_mm(n.value)),
        thermal_conductivity_w_per_m_k: first(THERMAL_CONDUCTIVITY).map(|n| n.value),
        numbers,
        note: Some(cells.of("note")).filter(|note| !note.is_empty()).map(str::to_owned),
        at,
    })
}
