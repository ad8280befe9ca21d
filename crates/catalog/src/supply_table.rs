//! Supply tables: rows of what suppliers offer, one size of spool each, into offers.

use crate::fault::{Fault, Faults};
use crate::manifest::SupplyTable;
use crate::money::{currency, decimal, hundredths};
use crate::table::{Cells, positive, read_cells};
use crate::wire_table::{Place, is_id};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Mass;

/// One size of spool that a supplier offers.
#[derive(Debug, Clone, PartialEq)]
pub struct OfferRecord {
    /// Its id, e.g. `tarn-awg30-single-250g`.
    pub id: String,
    /// Id of the wire; the catalog has it.
    pub wire: String,
    /// Who offers it.
    pub supplier: String,
    /// Wire on a new spool. A `u` of zero means that none is stated, not that the mass is exact.
    pub net: Measured<Mass>,
    /// The empty spool, where known.
    pub tare: Option<Mass>,
    /// Price of one spool in hundredths of the currency's unit.
    pub price_minor: u64,
    /// The same as decimal text with two decimals.
    pub price: String,
    /// The currency: three capital letters.
    pub currency: String,
    /// Days from order to shelf, usually.
    pub lead_days: u32,
    /// Days within which nine of ten orders arrive; not below `lead_days`.
    pub lead_days_p90: u32,
    /// Where these figures come from.
    pub source: String,
    /// Anything a person should know about it.
    pub note: Option<String>,
    /// Where it is written.
    pub at: Place,
}

const COLUMNS: [&str; 12] = [
    "offer",
    "wire",
    "supplier",
    "net_g",
    "net_u_g",
    "tare_g",
    "price",
    "currency",
    "lead_days",
    "lead_days_p90",
    "note",
    "source",
];
const NEEDED: [&str; 8] = ["offer", "wire", "supplier", "net_g", "price", "currency", "lead_days", "lead_days_p90"];

/// Masses outside these bounds, in grams, are taken for a slip of the unit.
const MASS_G: (f64, f64) = (0.1, 100_000.0);
/// Longest lead time in days.
const DAYS: u32 = 3650;

/// Reads one table of a plugin. Whether the wires are known is asked later, when all plugins are there.
pub(crate) fn read(table: &SupplyTable, text: &str, plugin: &str, faults: &mut Faults) -> Vec<OfferRecord> {
    let rows = read_cells(&table.file, text, &COLUMNS, &NEEDED, faults).unwrap_or_default();
    rows.iter()
        .filter_map(|(line, cells)| {
            let at = Place { plugin: plugin.to_owned(), file: table.file.clone(), line: *line };
            Reading { cells, at, faults }.record(table.source.as_deref())
        })
        .collect()
}

/// The reading of one row; every cell at fault is told.
struct Reading<'a> {
    cells: &'a Cells<'a>,
    at: Place,
    faults: &'a mut Faults,
}

impl Reading<'_> {
    fn record(mut self, table_source: Option<&str>) -> Option<OfferRecord> {
        let id = self.needed("offer", offer_id);
        let wire = self.needed("wire", text);
        let supplier = self.needed("supplier", text);
        let net = self.needed("net_g", mass_g);
        let net_u = self.optional("net_u_g", |cell| match (positive(cell)?, net) {
            (u, Some(net)) if u >= net => Err(Fault::new(format!("{cell} is no standard uncertainty of {net} g"))
                .next("write it in grams, or leave it empty")),
            (u, _) => Ok(u),
        });
        let tare = self.optional("tare_g", mass_g);
        let price = self.needed("price", hundredths);
        let currency = self.needed("currency", currency);
        let lead_days = self.needed("lead_days", days);
        let lead_days_p90 = self.needed("lead_days_p90", |cell| match (days(cell)?, lead_days) {
            (p90, Some(usual)) if p90 < usual => {
                let message = format!("nine of ten orders within {p90} days, but usually {usual}");
                Err(Fault::new(message).next("give at least the days of lead_days"))
            }
            (p90, _) => Ok(p90),
        });
        let source = match (self.cells.of("source"), table_source) {
            ("", None) => {
                let fault = Fault::new("the source is not named");
                self.take("source", Err(fault.next("name it for the row, or for the table in plugin.toml")))
            }
            ("", Some(source)) => Some(source.to_owned()),
            (source, _) => Some(source.to_owned()),
        };
        Some(OfferRecord {
            id: id?,
            wire: wire?,
            supplier: supplier?,
            net: Measured::new(Mass::from_g(net?), Mass::from_g(net_u?.unwrap_or(0.0))),
            tare: tare?.map(Mass::from_g),
            price_minor: price?,
            price: decimal(price?),
            currency: currency?,
            lead_days: lead_days?,
            lead_days_p90: lead_days_p90?,
            source: source?,
            note: Some(self.cells.of("note")).filter(|note| !note.is_empty()).map(str::to_owned),
            at: self.at,
        })
    }

    /// The cell as `read` understands it; none where it is empty or at fault.
    fn needed<T>(&mut self, column: &str, read: impl FnOnce(&str) -> Result<T, Fault>) -> Option<T> {
        let cell = self.cells.of(column);
        let missing = || Fault::new(format!("the {column} is missing")).next("give it, or take the row out");
        let result = if cell.is_empty() { Err(missing()) } else { read(cell) };
        self.take(column, result)
    }

    /// The same for a cell that may be empty. None (outside) where it is at fault.
    fn optional<T>(&mut self, column: &str, read: impl FnOnce(&str) -> Result<T, Fault>) -> Option<Option<T>> {
        if self.cells.of(column).is_empty() { Some(None) } else { self.needed(column, read).map(Some) }
    }

    fn take<T>(&mut self, column: &str, result: Result<T, Fault>) -> Option<T> {
        self.faults.take(result.map_err(|fault| fault.file(&self.at.file).line(self.at.line).column(column)))
    }
}

fn text(cell: &str) -> Result<String, Fault> {
    Ok(cell.to_owned())
}

fn offer_id(cell: &str) -> Result<String, Fault> {
    if is_id(cell) {
        return Ok(cell.to_owned());
    }
    Err(Fault::new(format!("`{cell}` is no id of an offer"))
        .next("use up to 64 small letters, digits, hyphens and points, e.g. tarn-awg30-single-250g"))
}

fn mass_g(cell: &str) -> Result<f64, Fault> {
    let mass = positive(cell)?;
    if (MASS_G.0..=MASS_G.1).contains(&mass) {
        return Ok(mass);
    }
    Err(Fault::new(format!("{cell} g is outside {} to {} g", MASS_G.0, MASS_G.1)).next("is it in grams?"))
}

fn days(cell: &str) -> Result<u32, Fault> {
    if !cell.bytes().all(|b| b.is_ascii_digit()) {
        return Err(Fault::new(format!("`{cell}` is no whole number of days")).next("write it like 7"));
    }
    let days = cell.parse::<u32>().ok().filter(|days| *days <= DAYS);
    days.ok_or_else(|| Fault::new(format!("{cell} days are more than the {DAYS} allowed")))
}
