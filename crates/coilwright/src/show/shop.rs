//! `shop.status` at one look.

use serde_json::Value;

/// Health first, then what there is.
pub fn status(s: &Value) -> String {
    let mut out =
        format!("coilwright {}: {}\n", s["version"].as_str().unwrap_or("?"), s["health"].as_str().unwrap_or("?"));
    for fault in s["faults"].as_array().into_iter().flatten() {
        out.push_str(&format!("  fault: {}\n", fault.as_str().unwrap_or_default()));
    }
    let c = &s["counts"];
    out.push_str(&format!(
        "shelf: {} · {} not ended · {} on the winder\n",
        counted(&c["spools"], "spool", "spools"),
        counted(&c["jobs"], "job", "jobs"),
        counted(&c["winding"], "coil", "coils")
    ));
    for alert in s["alerts"].as_array().into_iter().flatten() {
        out.push_str(&format!("  look: {}\n", alert["text"].as_str().unwrap_or_default()));
    }
    let hash: String = s["journal"]["hash"].as_str().unwrap_or_default().chars().take(12).collect();
    out.push_str(&format!("journal: {} entries, hash {hash}…\n", s["journal"]["head"]));
    out.push_str(&format!("catalog: {} wires, {} former materials\n", s["counts"]["wires"], s["counts"]["formers"]));
    for p in s["plugins"].as_array().into_iter().flatten() {
        let text = |name: &str| p[name].as_str().unwrap_or_default();
        out.push_str(&format!(
            "plugin {} {} ({}): {}\n",
            text("plugin"),
            text("version"),
            text("origin"),
            text("title")
        ));
    }
    out
}

fn counted(n: &Value, one: &str, more: &str) -> String {
    format!("{n} {}", if n.as_u64() == Some(1) { one } else { more })
}

/// What the shop decides by: name, value, origin.
pub fn figures(answer: &Value) -> String {
    let rows = answer["figures"].as_array().into_iter().flatten().map(|f| {
        let origin = f["origin"].as_str().unwrap_or_default().replace('_', " ");
        let by = f["set_by"].as_u64().map_or_else(String::new, |seq| format!(", entry {seq}"));
        vec![f["name"].as_str().unwrap_or_default().into(), f["value"].to_string(), format!("{origin}{by}")]
    });
    super::table::table(&["figure", "value", "origin"], rows.collect(), &[])
}
