//! The built-in wire tables against published values: each test names its source, and argues its tolerance from the print.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_catalog::{Catalog, WireFilter, WireRecord};
use coilwright_core::conductor::Conductor;
use coilwright_core::wire::Standing;
use std::collections::BTreeMap;

const MM_PER_MIL: f64 = 0.0254;
const M_PER_1000FT: f64 = 304.8;

/// Rows of a file of published values, by the names of their columns; empty cells are absent.
fn rows(file: &str) -> Vec<BTreeMap<String, String>> {
    let path = format!("{}/../../tests/fixtures/published/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let mut lines = text.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let cells = |line: &str| {
        let cells = header.iter().zip(line.split(',')).filter(|(_, cell)| !cell.is_empty());
        cells.map(|(name, cell)| (name.to_string(), cell.to_string())).collect()
    };
    lines.map(cells).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> Option<f64> {
    row.get(column).map(|cell| cell.parse().unwrap_or_else(|_| panic!("{column}: {cell}")))
}

/// One unit of the last digit of a printed number.
fn last_digit(printed: &str) -> f64 {
    10f64.powi(-(printed.split_once('.').map_or(0, |(_, decimals)| decimals.len()) as i32))
}

fn wire<'a>(catalog: &'a Catalog, id: &str) -> &'a WireRecord {
    catalog.wire(id).unwrap_or_else(|| panic!("no {id}"))
}

#[track_caller]
fn near(what: &str, got: f64, printed: f64, tolerance: f64) {
    assert!((got - printed).abs() <= tolerance * (1.0 + 1e-9), "{what}: {got}, printed {printed} ± {tolerance}");
}

/// Source: NBS Handbook 100 (1966), table 5. Diameters are exact to the 0.1 mil printed; resistances to half a unit of their
/// last digit.
#[test]
fn awg_diameters_and_resistances_are_those_of_handbook_100() {
    let catalog = Catalog::builtin().unwrap();
    let rows = rows("nbs-handbook-100-table-5.csv");
    assert_eq!(rows.len(), 25);
    for row in &rows {
        let id = format!("cu-awg{}-single", row["awg"]);
        let wire = &wire(&catalog, &id).wire;
        near(&id, wire.bare.value.mm() / MM_PER_MIL, number(row, "diameter_mil").unwrap(), 1e-6);
        if let Some(printed) = row.get("ohm_per_1000ft") {
            let ohm = wire.ohm_per_m().value.ohm_per_m() * M_PER_1000FT;
            near(&id, ohm, printed.parse().unwrap(), 0.5 * last_digit(printed));
        }
    }
}

/// Source: a wire maker's page of bare copper after NEMA MW 1000, AWG 16 to 35 (another maker than the table's): nominal
/// diameters, least and greatest diameters, and the resistance of each. Resistance: half a unit of the last digit, and
/// 5e-5 of the value for a resistivity that the maker took with five digits.
#[test]
fn awg_resistances_are_those_of_a_second_maker() {
    let catalog = Catalog::builtin().unwrap();
    let rows = rows("awg-copper-resistance.csv");
    assert_eq!(rows.len(), 20);
    for row in &rows {
        let id = format!("cu-awg{}-single", row["awg"]);
        let wire = &wire(&catalog, &id).wire;
        near(&id, wire.bare.value.mm(), number(row, "nominal_in").unwrap() * 25.4, 1e-6);
        let printed = &row["nominal_ohm_per_1000ft"];
        let value: f64 = printed.parse().unwrap();
        near(&id, wire.ohm_per_m().value.ohm_per_m() * M_PER_1000FT, value, 0.5 * last_digit(printed) + 5e-5 * value);
        // Limits in steps of 0.1 mil: the least agree in every size; the greatest of 24 to 26 are one step apart.
        if let Some(limits) = wire.bare_limits {
            near(&id, limits.min.mm(), number(row, "least_in").unwrap() * 25.4, 1e-6);
            let step = if ["24", "25", "26"].contains(&row["awg"].as_str()) { MM_PER_MIL * 0.1 } else { 0.0 };
            near(&id, limits.max.mm(), number(row, "greatest_in").unwrap() * 25.4, step + 1e-6);
        }
    }
}

/// Source: NEMA MW 1000 dimensions as two makers print them in millimetres. The table holds 0.1 mil steps, the print is
/// rounded to three decimals (four from AWG 44.5 up): half a unit of that. The printed bare diameter of AWG 44.5, 0.048 mm,
/// has three decimals. Middles of limits against the printed nominal: half a step (0.05 mil) more, since a nominal is
/// rounded to a whole step.
#[test]
fn awg_diameters_are_those_of_nema_mw_1000() {
    let catalog = Catalog::builtin().unwrap();
    let rows = rows("wire_nema_mw1000_mm.csv");
    assert_eq!(rows.len(), 175);
    for row in &rows {
        let gauge: f64 = row["awg"].parse().unwrap();
        let id = format!("cu-awg{}-{}", row["awg"], row["build"]);
        let record = wire(&catalog, &id);
        assert_eq!((record.standing, record.series.as_str()), (Standing::Listed, "awg"), "{id}");
        let wire = &record.wire;
        let half_digit = if gauge < 44.5 { 0.0005 } else { 0.00005 };
        let bare_half_digit = if gauge < 45.0 { 0.0005 } else { 0.00005 };
        near(&id, wire.bare.value.mm(), number(row, "bare_mm").unwrap(), bare_half_digit);
        let middle = if wire.overall_limits.is_some() { 0.05 * MM_PER_MIL } else { 0.0 };
        near(&id, wire.overall.value.mm(), number(row, "overall_mm").unwrap(), half_digit + middle);
        let pairs = [("bare", wire.bare_limits), ("overall", wire.overall_limits)];
        for (what, limits) in pairs {
            let printed = (number(row, &format!("{what}_min_mm")), number(row, &format!("{what}_max_mm")));
            match (limits, printed) {
                (Some(limits), (Some(min), Some(max))) => {
                    near(&id, limits.min.mm(), min, half_digit);
                    near(&id, limits.max.mm(), max, half_digit);
                }
                (None, (None, None)) => assert!(gauge < 24.0, "{id} has no limits"),
                other => panic!("{id}: {other:?}"),
            }
        }
    }
}

/// Source: a wire maker's magnet-wire catalogue, page 10 (limits after NEMA MW 1000 in 0.1 mil, here to four decimals of a
/// millimetre; mass 0.3112 lb/1000 ft). Bare diameter and limits of AWG 30: half a unit of the fourth decimal. Overall of AWG 16
/// to 22 against the middle of these limits: nominals go in steps of 0.1 mil and the two makers' may lie one step apart, 2.54
/// µm, and 0.5 µm for the table's three decimals. Mass: 0.3 %, the scatter of that catalogue's rows about the mass formula.
#[test]
fn awg_builds_agree_with_a_catalogue() {
    let catalog = Catalog::builtin().unwrap();
    for row in &rows("wire_nema_catalogue.csv") {
        let id = format!("cu-awg{}-{}", row["awg"], row["build"]);
        let wire = &wire(&catalog, &id).wire;
        if let Some(bare) = number(row, "bare_mm") {
            near(&id, wire.bare.value.mm(), bare, 0.00005);
        }
        let (min, max) = (number(row, "overall_min_mm").unwrap(), number(row, "overall_max_mm"));
        match (wire.overall_limits, max) {
            (Some(limits), Some(max)) => {
                near(&id, limits.min.mm(), min, 0.00005);
                near(&id, limits.max.mm(), max, 0.00005);
            }
            (None, Some(max)) => near(&id, wire.overall.value.mm(), 0.5 * (min + max), 0.00254 + 0.0005),
            (_, None) => assert!(wire.overall.value.mm() > min, "{id}"),
        }
        if let Some(mass) = number(row, "g_per_m") {
            near(&id, wire.g_per_m().value.g_per_m(), mass, 0.003 * mass);
        }
    }
}

/// Source: IEC 60317-0-1 dimensions as a wire maker prints them: exact, since the table holds the print.
#[test]
fn metric_diameters_are_those_of_iec_60317_0_1() {
    let catalog = Catalog::builtin().unwrap();
    let rows = rows("wire_iec60317_0_1_mm.csv");
    assert_eq!(rows.len(), 140);
    for row in &rows {
        let id = format!("cu-{}-grade{}", row["d_mm"], row["grade"]);
        let wire = &wire(&catalog, &id).wire;
        let limits = wire.overall_limits.expect("limits");
        near(&id, wire.bare.value.mm(), number(row, "d_mm").unwrap(), 1e-9);
        near(&id, limits.min.mm(), number(row, "overall_min_mm").unwrap(), 1e-9);
        near(&id, limits.max.mm(), number(row, "overall_max_mm").unwrap(), 1e-9);
        near(&id, wire.overall.value.mm(), limits.middle().mm(), 1e-12);
    }
}

/// Source: another wire maker's calculation tables, grades 1 and 2 of 0.050 to 0.118 mm. Greatest diameters and the least of
/// grade 1 are exact. That page begins grade 2 one micrometre above the end of grade 1; the least increase of the standard
/// lies up to 2 µm below it.
#[test]
fn metric_grades_agree_with_a_second_maker() {
    let catalog = Catalog::builtin().unwrap();
    let rows = rows("wire_iec60317_grades_1_2.csv");
    assert_eq!(rows.len(), 16);
    for row in &rows {
        for grade in [1, 2] {
            let id = format!("cu-{}-grade{grade}", row["d_mm"]);
            let limits = wire(&catalog, &id).wire.overall_limits.expect("limits");
            near(&id, limits.max.mm(), number(row, &format!("g{grade}_max_mm")).unwrap(), 1e-9);
            let below = number(row, &format!("g{grade}_min_mm")).unwrap() - limits.min.mm();
            let most = if grade == 1 { 0.0 } else { 0.002 };
            assert!((-1e-9..=most + 1e-9).contains(&below), "{id}: least {below} mm below the page");
        }
    }
}

/// Source: the same maker's page prints least, nominal and greatest resistance at 20 °C. Its last digits are partly rounded
/// and partly cut: one unit of the last digit that the page distinguishes (three decimals, four where it prints four).
#[test]
fn metric_resistance_limits_are_the_published_ones() {
    let catalog = Catalog::builtin().unwrap();
    let rows = rows("iec-copper-resistance.csv");
    assert_eq!(rows.len(), 16);
    for row in &rows {
        for grade in 1..=3 {
            let id = format!("cu-{}-grade{grade}", row["nominal_mm"]);
            let wire = &wire(&catalog, &id).wire;
            let limits = wire.ohm_per_m_limits.expect("limits");
            let met = [limits.min, wire.ohm_per_m().value, limits.max];
            for (ohm, column) in met.into_iter().zip(["least_ohm_per_m", "nominal_ohm_per_m", "greatest_ohm_per_m"]) {
                let printed = &row[column];
                near(
                    &format!("{id} {column}"),
                    ohm.ohm_per_m(),
                    printed.parse().unwrap(),
                    last_digit(printed).max(1e-4),
                );
            }
        }
    }
}

/// The rule of SOURCES.md I3 over every row that has limits; tolerance: the five digits that the table holds.
#[test]
fn metric_resistances_follow_the_rule_everywhere() {
    let catalog = Catalog::builtin().unwrap();
    let listed = WireFilter { series: Some("metric"), standing: Some(Standing::Listed), ..WireFilter::default() };
    let ohm = |conductivity: f64, d_mm: f64| 4.0 / (std::f64::consts::PI * conductivity * d_mm * d_mm);
    let mut with_limits = 0;
    for record in catalog.wires(listed) {
        let (id, wire) = (&record.id, &record.wire);
        let d = wire.bare.value.mm();
        let nominal = ohm(58.5, d);
        near(id, wire.ohm_per_m().value.ohm_per_m(), nominal, 6e-5 * nominal);
        let Some(limits) = wire.ohm_per_m_limits else { continue };
        with_limits += 1;
        let (min, max) = match wire.bare_limits {
            Some(bare) => (ohm(59.0, bare.max.mm()), ohm(58.0, bare.min.mm())),
            None => {
                let share = if d < 0.058 { 0.09 } else { 0.08 };
                (nominal * (1.0 - share), nominal * (1.0 + share))
            }
        };
        near(id, limits.min.ohm_per_m(), min, 6e-5 * min);
        near(id, limits.max.ohm_per_m(), max, 6e-5 * max);
    }
    assert_eq!(with_limits, 150);
}

/// Regression values: the wires of the project's worked coils, single build, as bare/overall/least/greatest mm, Ω/m, g/m, each
/// to the rounding of the print; the mass to 0.3 %, since these masses were not made by the mass formula.
#[test]
fn worked_coils_have_their_wires() {
    let catalog = Catalog::builtin().unwrap();
    let wires = [
        (28, 0.32004, 0.34671, 0.3378, 0.3556, 0.21433, 0.73411),
        (29, 0.28702, 0.31115, 0.3023, 0.3200, 0.26648, 0.59006),
        (30, 0.25400, 0.27686, 0.2692, 0.2845, 0.34026, 0.46312),
        (31, 0.22606, 0.24638, 0.2388, 0.2540, 0.42957, 0.36698),
        (32, 0.20320, 0.22352, 0.2159, 0.2311, 0.53166, 0.29704),
        (33, 0.18034, 0.19812, 0.1905, 0.2057, 0.67499, 0.23409),
        (34, 0.16002, 0.17653, 0.1702, 0.1829, 0.85730, 0.18498),
    ];
    for (gauge, bare, overall, least, greatest, ohm, mass) in wires {
        let id = format!("cu-awg{gauge}-single");
        let wire = &wire(&catalog, &id).wire;
        let limits = wire.overall_limits.expect("limits");
        near(&id, wire.bare.value.mm(), bare, 5e-6);
        near(&id, wire.overall.value.mm(), overall, 5e-6);
        near(&id, limits.min.mm(), least, 5e-5);
        near(&id, limits.max.mm(), greatest, 5e-5);
        near(&id, wire.ohm_per_m().value.ohm_per_m(), ohm, 1e-5);
        near(&id, wire.g_per_m().value.g_per_m(), mass, 0.003 * mass);
    }
}

/// Each computed wire has the diameters of the copper one; resistance and mass by hand: ρ/(π/4·d²) with 2.8264e-8, 2.671e-8,
/// 2.589e-8 Ω·m (NBS Handbook 109; ASTM B566), and the metal's density under enamel of 1.35 g/cm³.
#[test]
fn computed_wires_have_the_same_sizes_in_another_metal() {
    let catalog = Catalog::builtin().unwrap();
    let metals = [
        ("al-", Conductor::Aluminium, 2.8264e-2, 2.703),
        ("cca10-", Conductor::Cca10, 2.671e-2, 3.32),
        ("cca15-", Conductor::Cca15, 2.589e-2, 3.63),
    ];
    let copper: Vec<&WireRecord> =
        catalog.wires(WireFilter { conductor: Some(Conductor::Copper), ..WireFilter::default() }).collect();
    assert_eq!(copper.len(), 175 + 161);
    for base in copper {
        let (d, over) = (base.wire.bare.value.mm(), base.wire.overall.value.mm());
        for (prefix, conductor, ohm_mm2_per_m, density) in metals {
            let id = base.id.replacen("cu-", prefix, 1);
            let record = wire(&catalog, &id);
            assert_eq!((record.standing, record.wire.conductor), (Standing::Computed, conductor), "{id}");
            assert_eq!(
                (record.wire.bare.value, record.wire.overall_limits),
                (base.wire.bare.value, base.wire.overall_limits)
            );
            let quarter = std::f64::consts::FRAC_PI_4;
            let ohm = ohm_mm2_per_m / (quarter * d * d);
            near(&id, record.wire.ohm_per_m().value.ohm_per_m(), ohm, 1e-9 * ohm);
            let mass = quarter * (density * d * d + 1.35 * (over * over - d * d));
            near(&id, record.wire.g_per_m().value.g_per_m(), mass, 1e-9 * mass);
            // How well the diameter is known does not depend on the metal.
            near(&id, record.wire.bare.u.mm(), base.wire.bare.u.mm(), 1e-12);
        }
    }
    assert_eq!(wire(&catalog, "al-0.125-grade1").label, "0.125 mm grade 1, aluminium");
}
