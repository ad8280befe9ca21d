//! The spool label: what a winder wants to know with the spool in his hand.

use crate::number::{Figure, short};
use crate::page::sheet;
use crate::qr;
use crate::refusal::{CannotDraw, out_of_range, sound, sound_figure};
use crate::svg::{Anchor, Svg, id_of, text_width, wrap};
use maud::{PreEscaped, html};

/// One label.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Spool id; also in the QR code as `coilwright:spool/ID`.
    pub spool: String,
    /// The wire in words.
    pub wire: String,
    /// Mass of the empty spool, g.
    pub tare_g: Option<Figure>,
    /// Length on it, m.
    pub left_m: Figure,
    /// The date of that length, as it is to be printed.
    pub left_on: String,
    /// Width of the label, mm (62 is usual).
    pub width_mm: f64,
    /// Height of the label, mm (29 is usual).
    pub height_mm: f64,
}

/// Space kept free at the edge, where label printers do not print, mm.
const EDGE: f64 = 1.5;

/// The label as one SVG drawing.
///
/// # Errors
/// [`CannotDraw`] for a label under 40 mm × 20 mm or over 200 mm, numbers that are none, an id too long for its code.
pub fn label(l: &Label) -> Result<String, CannotDraw> {
    size("width_mm", l.width_mm, 40.0)?;
    size("height_mm", l.height_mm, 20.0)?;
    sound_figure("left_m", l.left_m)?;
    if let Some(t) = l.tare_g {
        sound_figure("tare_g", t)?;
        sound("tare_g", t.value)?;
    }
    let tare = l.tare_g.map(|t| format!("tare {}", t.with_unit("g", 1)));
    let left = format!("{} left", l.left_m.with_unit("m", 1));
    let desc = format!(
        "Spool {}, {}. {left} on {}{}. Uncertainties are standard (k = 1).",
        l.spool,
        l.wire,
        l.left_on,
        tare.as_ref().map(|t| format!(", {t}")).unwrap_or_default()
    );
    let id = id_of("label", &format!("{l:?}"));
    let mut svg = Svg::sheet(&id, l.width_mm, l.height_mm, &format!("Label of spool {}", l.spool), &desc);
    let side = (l.height_mm - 2.0 * EDGE).min(0.4 * l.width_mm);
    qr::draw(&mut svg, "spool", &format!("coilwright:spool/{}", l.spool), (EDGE, (l.height_mm - side) / 2.0), side)?;

    let x = EDGE + side + 0.5;
    let room = l.width_mm - x - EDGE;
    let unit = l.height_mm / 29.0;
    let fit = |text: &str, size: f64| (size * unit).min(size * unit * room / text_width(text, size * unit).max(1e-6));
    let mut y = EDGE + 5.0 * unit;
    let name = cut(&l.spool, 24);
    svg.bold((x, y), fit(&name, 5.6).min(5.6 * unit), Anchor::Start, &name);
    y += 4.2 * unit;
    let small = 2.2 * unit;
    for line in wrap(&l.wire, (room / (small * 0.58)) as usize, 3) {
        svg.label((x, y), small, Anchor::Start, &line);
        y += 2.6 * unit;
    }
    let foot = l.height_mm - EDGE - 0.8 * unit;
    if let Some(t) = &tare {
        svg.label((x, foot), fit(t, 2.7), Anchor::Start, t);
    }
    let on = format!("on {}", cut(&l.left_on, 20));
    svg.label((x, foot - 3.4 * unit), fit(&on, 2.7), Anchor::Start, &on);
    svg.bold((x, foot - 7.0 * unit), fit(&left, 3.6), Anchor::Start, &left);
    Ok(svg.finish())
}

/// Labels one after the other, each a page of the label's own size.
///
/// # Errors
/// As for [`label`]; all labels must have the size of the first.
pub fn label_sheet(labels: &[Label]) -> Result<String, CannotDraw> {
    let Some(first) = labels.first() else {
        return Err(out_of_range("labels", 0.0, "at least one label"));
    };
    let mut drawn = Vec::new();
    for l in labels {
        if (l.width_mm, l.height_mm) != (first.width_mm, first.height_mm) {
            return Err(out_of_range("width_mm", l.width_mm, "labels of one size on one sheet"));
        }
        drawn.push(label(l)?);
    }
    let style = format!(
        "@page{{size:{}mm {}mm;margin:0}}body{{margin:0}}svg{{display:block;break-after:page}}svg:last-child{{break-after:auto}}",
        short(first.width_mm, 2),
        short(first.height_mm, 2)
    );
    Ok(sheet("Spool labels", &style, html! { @for d in &drawn { (PreEscaped(d)) } }))
}

fn size(name: &'static str, v: f64, least: f64) -> Result<(), CannotDraw> {
    if (least..=200.0).contains(&v) { Ok(()) } else { Err(out_of_range(name, v, "40 × 20 mm up to 200 × 200 mm")) }
}

fn cut(text: &str, most: usize) -> String {
    wrap(text, most, 1).pop().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spool() -> Label {
        Label {
            spool: "s-17".into(),
            wire: "copper AWG 30 single, 0.254 bare, 0.277 overall".into(),
            tare_g: Some(Figure { value: 97.0, u: 0.5 }),
            left_m: Figure { value: 112.4, u: 1.4 },
            left_on: "2031-05-04".into(),
            width_mm: 62.0,
            height_mm: 29.0,
        }
    }

    #[test]
    fn a_label_says_id_wire_tare_length_and_date() {
        let svg = label(&spool()).unwrap();
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let texts: Vec<&str> =
            doc.descendants().filter(|n| n.tag_name().name() == "text").filter_map(|n| n.text()).collect();
        for part in ["s-17", "112.4 ± 1.4 m left", "on 2031-05-04", "tare 97.0 ± 0.5 g"] {
            assert!(texts.contains(&part), "{part:?} is not among {texts:?}");
        }
        assert!(texts.join(" ").contains("copper AWG 30 single, 0.254 bare, 0.277 overall"));
    }

    #[test]
    fn every_text_stays_on_the_label() {
        let long = Label { spool: "a-very-long-spool-id-0001".into(), wire: "w".repeat(400), ..spool() };
        for l in [
            spool(),
            long,
            Label { width_mm: 40.0, height_mm: 20.0, ..spool() },
            Label { width_mm: 100.0, height_mm: 60.0, ..spool() },
        ] {
            let svg = label(&l).unwrap();
            let doc = roxmltree::Document::parse(&svg).unwrap();
            for n in doc.descendants().filter(|n| n.tag_name().name() == "text") {
                let at = |k| n.attribute(k).unwrap().parse::<f64>().unwrap();
                assert!(at("y") < l.height_mm && at("y") > 0.0);
                let end = at("x") + text_width(n.text().unwrap(), at("font-size"));
                assert!(end <= l.width_mm, "{:?} ends at {end} of {}", n.text(), l.width_mm);
            }
        }
    }

    #[test]
    fn labels_that_cannot_be_are_refused() {
        assert!(label(&Label { width_mm: 10.0, ..spool() }).is_err());
        assert!(label(&Label { left_m: Figure { value: f64::NAN, u: 0.0 }, ..spool() }).is_err());
        assert!(label(&Label { spool: "x".repeat(90), ..spool() }).is_err());
        assert!(label_sheet(&[]).is_err());
        assert!(label_sheet(&[spool(), Label { width_mm: 50.0, ..spool() }]).is_err());
        assert_eq!(label_sheet(&[spool(), spool()]).unwrap().matches("<svg").count(), 2);
    }
}
