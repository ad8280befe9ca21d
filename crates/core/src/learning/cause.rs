//! Why a coil measures what nobody expected: the causes that fit its figure, the likely ones first.

/// A coil that lies off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Measured over expected resistance.
    pub ratio: f64,
    /// Standard uncertainty of the expectation, relative.
    pub u: f64,
    /// Turns of the coil; 0 where they are not known.
    pub turns: u32,
    /// Metres drawn over metres planned, if they were measured.
    pub drawn: Option<f64>,
}

/// A whole gauge step changes the resistance of a fixed length by this factor: 92^(2/39). [d, ASTM B258]
const ONE_GAUGE: f64 = 1.261;

/// What most likely happened, in words that tell what to look at.
///
/// Stretch of ε raises the resistance of the same turns by about 2ε and takes less wire; a turn counted wrongly changes
/// both alike, by 1/N; a shorted turn takes its 1/N of the resistance and no wire at all. Where the wire was not measured
/// all of these stay possible and are named in the order of likelihood.
pub fn likely_cause(seen: &Seen) -> String {
    let off = seen.ratio - 1.0;
    let part = |u: f64| u.max(0.005);
    if near(seen.ratio, ONE_GAUGE, part(seen.u)) || near(seen.ratio, 1.0 / ONE_GAUGE, part(seen.u)) {
        let which = if off > 0.0 { "thinner" } else { "thicker" };
        return format!("a gauge {which} than planned? measure the wire's diameter");
    }
    let turns = f64::from(seen.turns) * off.abs();
    let some_turns = (seen.turns > 0 && (0.6..=12.5).contains(&turns)).then(|| {
        let n = libm::round(turns).max(1.0);
        format!("{n:.0} turn{}", if n > 1.0 { "s" } else { "" })
    });
    let wire_follows = seen.drawn.is_some_and(|d| (d - 1.0 - off).abs() < 0.5 * off.abs());
    match (off > 0.0, some_turns) {
        (true, Some(n)) if wire_follows => format!("miscounted: about {n} more than noted"),
        (false, Some(n)) if wire_follows => format!("miscounted: about {n} fewer than noted"),
        (true, n) => {
            let stretch = format!("stretched by about {:.1} %", 50.0 * off);
            let count = n.map_or_else(String::new, |n| format!(", or miscounted by {n}"));
            format!("{stretch}{count}, or thinner wire than the table's")
        }
        (false, Some(n)) => {
            format!("a shorted turn (about {n} bridged: look at the inductance), or miscounted by {n}, or thicker wire")
        }
        (false, None) => "a shorted turn or several, a wrong count, or other wire than planned".to_owned(),
    }
}

fn near(ratio: f64, factor: f64, u: f64) -> bool {
    (ratio / factor - 1.0).abs() < (2.0 * u).min(0.05)
}
