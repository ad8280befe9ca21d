//! Numbers for people: a value rounded to where its uncertainty begins.

pub use coilwright_proto::quantity::shown;
use serde_json::Value;

/// A `{value, u}` or a bare number of an answer as a person reads it.
pub fn figure(v: &Value) -> String {
    match (v["value"].as_f64(), v["u"].as_f64(), v.as_f64()) {
        (Some(value), Some(u), _) if u > 0.0 => shown(value, u),
        (Some(value), _, _) | (_, _, Some(value)) => trimmed(value),
        _ => "–".into(),
    }
}

/// Four decimals at most, no zeros behind.
fn trimmed(x: f64) -> String {
    let text = format!("{x:.4}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}
