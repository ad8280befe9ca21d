//! The page around a sheet: HTML with its own style, no script, nothing fetched.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Forbids every request and every script, whatever a text may contain.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

const PLAIN: &str = "\
body{font:14px/1.4 'DejaVu Sans',Verdana,Arial,sans-serif;color:#000;background:#fff;margin:1.2em auto;max-width:50em;padding:0 1em}\
figure{margin:1em 0}svg{max-width:100%;height:auto}table{border-collapse:collapse;font-variant-numeric:tabular-nums}\
caption{text-align:left;font-weight:bold;padding:.3em 0}th,td{border:1px solid #000;padding:.15em .5em;text-align:left;vertical-align:top}\
table{font-size:12px}th,td{white-space:nowrap}td.n{text-align:right}td.w{white-space:normal}figure{overflow-x:auto}@media print{body{margin:0;max-width:none;font-size:9pt}}";

/// Puts a fragment made by this crate (a drawing, [`crate::bars::plan_bars`], [`crate::outlook::outlook`]) on a page.
///
/// `fragment` is taken as it is; the title is escaped.
pub fn page(title: &str, fragment: &str) -> String {
    sheet(title, PLAIN, html! { h1 { (title) } (PreEscaped(fragment)) })
}

/// A whole page with its own style.
pub(crate) fn sheet(title: &str, style: &str, body: Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="only light";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    page.into_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_cannot_leave_its_place() {
        let out = page("</title><script>alert(1)</script>", "<p>x</p>");
        assert!(!out.contains("<script") && out.contains("&lt;script&gt;"));
        assert!(out.contains("default-src 'none'"));
    }
}
