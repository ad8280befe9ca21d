//! A QR code as one SVG path, dark on light, with its quiet zone.

use crate::refusal::CannotDraw;
use crate::svg::Svg;
use qrcodegen::{QrCode, QrCodeEcc};

/// Quiet zone on each side, in modules.
///
/// # Sources
/// ISO/IEC 18004: four modules.
const QUIET: i32 = 4;
/// Longest text: a code of 37 modules, which a telephone still reads at 20 mm.
const MOST_BYTES: usize = 84;

/// Draws `text` into a square of `side` mm with its corner at `at`, quiet zone included.
///
/// Error correction level M at least, higher where the same size of code carries it.
///
/// # Errors
/// [`CannotDraw::TooLong`] above 84 bytes.
pub(crate) fn draw(svg: &mut Svg, name: &'static str, text: &str, at: (f64, f64), side: f64) -> Result<(), CannotDraw> {
    let too_long = || CannotDraw::TooLong { name, met: text.len(), allowed: MOST_BYTES };
    if text.len() > MOST_BYTES {
        return Err(too_long());
    }
    let code = QrCode::encode_text(text, QrCodeEcc::Medium).map_err(|_| too_long())?;
    let modules = code.size();
    let mut d = String::new();
    for y in 0..modules {
        let mut x = 0;
        while x < modules {
            let run = (x..modules).take_while(|&i| code.get_module(i, y)).count() as i32;
            if run > 0 {
                d.push_str(&format!("M{} {}h{run}v1h-{run}z", x + QUIET, y + QUIET));
            }
            x += run.max(1);
        }
    }
    let scale = side / f64::from(modules + 2 * QUIET);
    svg.rect(at, (at.0 + side, at.1 + side), "#fff", 0.0);
    svg.tag("path")
        .set("transform", &format!("translate({} {}) scale({scale})", at.0, at.1))
        .set("shape-rendering", "crispEdges")
        .set("d", &d)
        .done();
    Ok(())
}

/// A code as a drawing of its own.
pub(crate) fn alone(name: &'static str, text: &str, side: f64) -> Result<String, CannotDraw> {
    let id = crate::svg::id_of("qr", text);
    let mut svg =
        Svg::sheet(&id, side, side, &format!("QR code: {text}"), "Plain text to be scanned; it opens nothing.");
    draw(&mut svg, name, text, (0.0, 0.0), side)?;
    Ok(svg.finish())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_has_its_quiet_zone_and_its_modules_inside_the_square() {
        let svg = alone("job", "coilwright:job/j-4", 20.0).unwrap();
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let path = doc.descendants().find(|n| n.tag_name().name() == "path").unwrap();
        let code = QrCode::encode_text("coilwright:job/j-4", QrCodeEcc::Medium).unwrap();
        let mut dark = std::collections::BTreeSet::new();
        for run in path.attribute("d").unwrap().split('M').skip(1) {
            let (at, rest) = run.split_once('h').unwrap();
            let (x, y) = at.split_once(' ').unwrap();
            let long: i32 = rest.split('v').next().unwrap().parse().unwrap();
            let (x, y): (i32, i32) = (x.parse().unwrap(), y.parse().unwrap());
            dark.extend((x..x + long).map(|x| (x - QUIET, y - QUIET)));
        }
        for y in 0..code.size() {
            for x in 0..code.size() {
                assert_eq!(dark.contains(&(x, y)), code.get_module(x, y), "{x},{y}");
            }
        }
        assert!(
            path.attribute("transform").unwrap().contains(&format!("scale({})", 20.0 / f64::from(code.size() + 8)))
        );
    }

    #[test]
    fn a_text_too_long_to_scan_is_refused() {
        let refused = alone("spool", &"x".repeat(85), 20.0).unwrap_err();
        assert_eq!(refused, CannotDraw::TooLong { name: "spool", met: 85, allowed: 84 });
        assert!(alone("spool", &"x".repeat(84), 20.0).is_ok());
    }
}
