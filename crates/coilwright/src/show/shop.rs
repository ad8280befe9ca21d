//! `shop.status` at one look.

use serde_json::Value;

/// Health first, then what there is.
pub fn status(s: &Value) -> String {
    let mut out =
        format!("coilwright {}: {}\n", s["version"].as_str().unwrap_or("?"), s["health"].as_str().unwrap_or("?"));
    for fault in s["faults"].as_array().into_iter().flatten() {
        out.push_str(&format!("  fault: {}\n", fault.as_str().unwrap_or_default()));
    }
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
