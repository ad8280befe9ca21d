//! Former materials: one table names them, another holds their figures, each with its own mark and source.

use crate::fault::{Fault, Faults};
use crate::figure_table::{Figure, FigureTable, Number};
use crate::manifest::{FormerTable, is_word};
use crate::money::{currency, decimal, hundredths};
use crate::table::{Cells, read_cells};
use crate::wire_table::Place;
use coilwright_core::former::FormerMaterial;
use coilwright_core::measured::Measured;
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
    /// What one former of it costs, where its plugin says so.
    pub price: Option<FormerPrice>,
    /// Every number above with its origin, in the order of the table.
    pub numbers: Vec<Number>,
    /// Anything a person should know about it.
    pub note: Option<String>,
    /// Where it is written.
    pub at: Place,
}

/// What one former costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormerPrice {
    /// Decimal, e.g. `0.40`.
    pub amount: String,
    /// Three capitals, e.g. `EUR`.
    pub currency: String,
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
    let names =
        read_cells(&offer.file, &names, &["id", "label", "note", "price", "currency"], &["id", "label"], faults);
    let Some(names) = names else { return Vec::new() };
    let known: Vec<&str> = names.iter().map(|(_, cells)| cells.of("id")).collect();
    let table = FigureTable { file: &offer.figures, of: "former", known: &known, figures: &FIGURES, several: &[WALL] };
    let Some(numbers) = table.read(&figures, faults) else { return Vec::new() };
    names
        .into_iter()
        .filter_map(|(line, cells)| {
            let id = cells.of("id");
            let own = numbers.iter().filter(|(f, _)| f == id).map(|(_, n)| n.clone()).collect();
            let at = Place { plugin: plugin.to_owned(), file: offer.file.clone(), line };
            faults.take(record(&cells, own, at))
        })
        .collect()
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
    let price = match (cells.of("price"), cells.of("currency")) {
        ("", _) => None,
        (_, "") => {
            let fault = fault("currency", "a price without a currency".into());
            return Err(fault.next("add the column `currency` and write three capital letters, e.g. EUR"));
        }
        (amount, word) => {
            let placed = |column: &str, f: Fault| Fault { next_step: f.next_step, ..fault(column, f.message) };
            let amount = decimal(hundredths(amount).map_err(|f| placed("price", f))?);
            Some(FormerPrice { amount, currency: currency(word).map_err(|f| placed("currency", f))? })
        }
    };
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
        price,
        numbers,
        note: Some(cells.of("note")).filter(|note| !note.is_empty()).map(str::to_owned),
        at,
    })
}
