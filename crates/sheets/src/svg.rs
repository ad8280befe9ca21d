//! Writes SVG: every element closed, every text escaped, every number short.
//!
//! Looks are given as presentation attributes, never as a style sheet: a sheet inside an inlined drawing would leak into
//! the page around it, and a page that forbids inline styles would lose them.

use crate::number::plain;

/// Type used in all drawings; the first that the reader's machine has.
pub(crate) const FONT: &str = "DejaVu Sans, Verdana, Arial, sans-serif";

/// A drawing being written.
#[derive(Debug, Default)]
pub(crate) struct Svg {
    out: String,
    open: Vec<&'static str>,
}

/// An element whose attributes are being written.
#[must_use = "an element must be ended with `done`, `open` or `text`"]
pub(crate) struct Tag<'a> {
    svg: &'a mut Svg,
    name: &'static str,
}

/// Where a text hangs on its point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Svg {
    /// The outermost element, in millimetres, white behind everything, with its accessible name and description.
    ///
    /// `id` must be unique on the page and is used as a prefix for every id inside.
    pub(crate) fn sheet(id: &str, width_mm: f64, height_mm: f64, title: &str, desc: &str) -> Svg {
        let mut svg = Svg::default();
        svg.tag("svg")
            .set("xmlns", "http://www.w3.org/2000/svg")
            .set("width", &format!("{}mm", plain(width_mm)))
            .set("height", &format!("{}mm", plain(height_mm)))
            .set("viewBox", &format!("0 0 {} {}", plain(width_mm), plain(height_mm)))
            .set("role", "img")
            .set("aria-labelledby", &format!("{id}-title {id}-desc"))
            .set("font-family", FONT)
            .set("fill", "#000")
            .open();
        svg.tag("title").set("id", &format!("{id}-title")).text(title);
        svg.tag("desc").set("id", &format!("{id}-desc")).text(desc);
        svg.tag("rect").num("width", width_mm).num("height", height_mm).set("fill", "#fff").done();
        svg
    }

    pub(crate) fn tag(&mut self, name: &'static str) -> Tag<'_> {
        self.out.push('<');
        self.out.push_str(name);
        Tag { svg: self, name }
    }

    /// Closes the innermost open element.
    pub(crate) fn end(&mut self) {
        if let Some(name) = self.open.pop() {
            self.out.push_str("</");
            self.out.push_str(name);
            self.out.push_str(">\n");
        }
    }

    /// Closes what is open and gives the text.
    pub(crate) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.end();
        }
        self.out
    }

    /// A straight line of the given weight, mm.
    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), weight: f64) {
        self.line_as(from, to, weight, "");
    }

    /// A straight line with a dash pattern ("" for none).
    pub(crate) fn line_as(&mut self, from: (f64, f64), to: (f64, f64), weight: f64, dash: &str) {
        self.tag("line")
            .num("x1", from.0)
            .num("y1", from.1)
            .num("x2", to.0)
            .num("y2", to.1)
            .set("stroke", "#000")
            .num("stroke-width", weight)
            .set_if("stroke-dasharray", dash)
            .done();
    }

    /// A rectangle; `weight` 0 draws no outline. Corners may be given in any order.
    pub(crate) fn rect(&mut self, a: (f64, f64), b: (f64, f64), fill: &str, weight: f64) {
        let stroke = if weight > 0.0 { "#000" } else { "none" };
        self.tag("rect")
            .num("x", a.0.min(b.0))
            .num("y", a.1.min(b.1))
            .num("width", (b.0 - a.0).abs())
            .num("height", (b.1 - a.1).abs())
            .set("fill", fill)
            .set("stroke", stroke)
            .num("stroke-width", weight)
            .done();
    }

    /// Hatches a rectangle with lines at 45 degrees, `step` apart, rising to the right or falling.
    ///
    /// Real lines, not a pattern: printers and PDF makers turn patterns into coarse pictures.
    pub(crate) fn hatch(&mut self, a: (f64, f64), b: (f64, f64), step: f64, rising: bool, weight: f64) {
        let (left, right) = (a.0.min(b.0), a.0.max(b.0));
        let (top, foot) = (a.1.min(b.1), a.1.max(b.1));
        let along = step * std::f64::consts::SQRT_2;
        // A line is x + y = c (rising) or x − y = c (falling); c runs in whole steps, so that neighbours line up.
        let side = if rising { 1.0 } else { -1.0 };
        let ends = [left + side * top, left + side * foot, right + side * top, right + side * foot];
        let (least, most) = ends.into_iter().fold((f64::INFINITY, f64::NEG_INFINITY), |m, c| (m.0.min(c), m.1.max(c)));
        let mut d = String::new();
        let mut line = libm::ceil(least / along);
        while line * along <= most {
            let c = line * along;
            let (x1, x2) = if rising {
                (left.max(c - foot), right.min(c - top))
            } else {
                (left.max(c + top), right.min(c + foot))
            };
            if x2 > x1 {
                d.push_str(&format!(
                    "M{} {}L{} {}",
                    plain(x1),
                    plain(side * (c - x1)),
                    plain(x2),
                    plain(side * (c - x2))
                ));
            }
            line += 1.0;
        }
        if !d.is_empty() {
            self.path(&d, "none", weight);
        }
    }

    /// A path in SVG's own words.
    pub(crate) fn path(&mut self, d: &str, fill: &str, weight: f64) {
        self.tag("path")
            .set("d", d)
            .set("fill", fill)
            .set("stroke", if weight > 0.0 { "#000" } else { "none" })
            .num("stroke-width", weight)
            .done();
    }

    /// A line of text with a white halo, so that it stays readable over hatching and extension lines.
    pub(crate) fn label(&mut self, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        self.words(at, size, anchor, false, false, text);
    }

    /// The same in bold.
    pub(crate) fn bold(&mut self, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        self.words(at, size, anchor, true, false, text);
    }

    /// The same, read from the right-hand side of the sheet.
    pub(crate) fn upright(&mut self, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        self.words(at, size, anchor, false, true, text);
    }

    fn words(&mut self, (x, y): (f64, f64), size: f64, anchor: Anchor, bold: bool, upright: bool, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let turn = if upright { format!("rotate(-90 {} {})", plain(x), plain(y)) } else { String::new() };
        self.tag("text")
            .num("x", x)
            .num("y", y)
            .num("font-size", size)
            .set_if("font-weight", if bold { "bold" } else { "" })
            .set_if("text-anchor", anchor)
            .set_if("transform", &turn)
            .set("stroke", "#fff")
            .num("stroke-width", size * 0.28)
            .set("stroke-linejoin", "round")
            .set("paint-order", "stroke")
            .text(text);
    }
}

impl Tag<'_> {
    pub(crate) fn set(self, key: &str, value: &str) -> Self {
        self.svg.out.push(' ');
        self.svg.out.push_str(key);
        self.svg.out.push_str("=\"");
        escape_into(&mut self.svg.out, value);
        self.svg.out.push('"');
        self
    }

    pub(crate) fn set_if(self, key: &str, value: &str) -> Self {
        if value.is_empty() { self } else { self.set(key, value) }
    }

    pub(crate) fn num(self, key: &str, value: f64) -> Self {
        self.set(key, &plain(value))
    }

    /// Ends an element without content.
    pub(crate) fn done(self) {
        self.svg.out.push_str("/>\n");
    }

    /// Leaves the element open for children, until [`Svg::end`].
    pub(crate) fn open(self) {
        self.svg.out.push_str(">\n");
        self.svg.open.push(self.name);
    }

    /// Ends an element that holds a text.
    pub(crate) fn text(self, text: &str) {
        self.svg.out.push('>');
        escape_into(&mut self.svg.out, text);
        self.svg.out.push_str("</");
        self.svg.out.push_str(self.name);
        self.svg.out.push_str(">\n");
    }
}

/// Writes `text` so that no character of it can act as markup, in a text or in a quoted attribute.
///
/// White space becomes a blank; what XML 1.0 cannot carry (control characters, U+FFFE, U+FFFF) becomes U+FFFD.
fn escape_into(out: &mut String, text: &str) {
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || c == '\u{FFFE}' || c == '\u{FFFF}' => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
}

/// A short id that depends on the content only (FNV-1a, 64 bit), so that two drawings on one page do not share ids.
pub(crate) fn id_of(kind: &str, content: &str) -> String {
    let hash =
        content.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
    format!("{kind}-{hash:016x}")
}

/// Breaks a text into lines of at most `columns` characters at blanks; a longer word is cut.
///
/// What does not go into `lines` lines ends in an ellipsis.
pub(crate) fn wrap(text: &str, columns: usize, lines: usize) -> Vec<String> {
    let columns = columns.max(2);
    let mut done: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut used = 0;
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        while !word.is_empty() {
            let blank = usize::from(used > 0);
            if used + blank + word.len() <= columns {
                if blank == 1 {
                    line.push(' ');
                }
                line.extend(word.iter());
                used += blank + word.len();
                word.clear();
            } else if used > 0 {
                done.push(std::mem::take(&mut line));
                used = 0;
            } else {
                let rest = word.split_off(columns);
                done.push(word.iter().collect());
                word = rest;
            }
        }
    }
    if used > 0 {
        done.push(line);
    }
    if done.len() > lines {
        done.truncate(lines);
        if let Some(last) = done.last_mut() {
            while last.chars().count() >= columns {
                last.pop();
            }
            last.push('…');
        }
    }
    done
}

/// Width of a text in mm, roughly: the mean advance of the wide faces named in [`FONT`].
pub(crate) fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * 0.58
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_a_text_or_an_attribute_stays_text() {
        let evil = "\"/><script>alert('1')</script>&\u{0}\u{1b}\n";
        let mut svg = Svg::sheet("x", 10.0, 10.0, evil, evil);
        svg.tag("g").set("data-name", evil).open();
        svg.label((1.0, 1.0), 2.0, Anchor::Start, evil);
        let out = svg.finish();
        let doc = roxmltree::Document::parse(&out).unwrap();
        assert!(!doc.descendants().any(|n| n.has_tag_name("script")));
        let text = doc.descendants().find(|n| n.tag_name().name() == "text").unwrap();
        assert_eq!(text.text().unwrap(), "\"/><script>alert('1')</script>&\u{FFFD}\u{FFFD} ");
        let g = doc.descendants().find(|n| n.tag_name().name() == "g").unwrap();
        assert_eq!(g.attribute("data-name"), text.text());
    }

    #[test]
    fn hatching_stays_in_its_rectangle_and_keeps_its_distance() {
        for rising in [true, false] {
            let mut svg = Svg::default();
            svg.hatch((10.0, 20.0), (17.0, 50.0), 1.7, rising, 0.1);
            let out = svg.finish();
            let doc = roxmltree::Document::parse(&out).unwrap();
            let d = doc.root_element().attribute("d").unwrap();
            let lines: Vec<Vec<f64>> =
                d[1..].split('M').map(|l| l.split(['L', ' ']).map(|v| v.parse().unwrap()).collect()).collect();
            assert!((14..=17).contains(&lines.len()), "{}", lines.len());
            for l in &lines {
                assert!(l[0] >= 10.0 - 1e-3 && l[2] <= 17.0 + 1e-3);
                assert!(l[1].min(l[3]) >= 20.0 - 1e-3 && l[1].max(l[3]) <= 50.0 + 1e-3);
                assert_eq!(l[3] < l[1], rising);
            }
        }
    }

    #[test]
    fn long_texts_are_wrapped_and_cut_with_an_ellipsis() {
        assert_eq!(wrap("one two three", 7, 5), ["one two", "three"]);
        assert_eq!(wrap("abcdefghij", 4, 5), ["abcd", "efgh", "ij"]);
        assert_eq!(wrap("one two three four", 5, 2), ["one", "two…"]);
        assert_eq!(wrap("one two three", 5, 2), ["one", "two…"]);
        assert!(wrap("   ", 5, 2).is_empty());
    }
}
