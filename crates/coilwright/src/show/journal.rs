//! Entries and the check of their chain.

use super::plain::findings;
use serde_json::Value;

/// Entries, one a line, as they stand in the journal.
pub fn lines(answer: &Value) -> String {
    answer["items"].as_array().into_iter().flatten().map(|entry| format!("{entry}\n")).collect()
}

/// Whether the chain holds.
pub fn verified(answer: &Value) -> String {
    let word = if answer["ok"] == true { "the chain holds" } else { "the chain does not hold" };
    format!(
        "{word}: {} entries, hash {}\n{}",
        answer["head"],
        answer["hash"].as_str().unwrap_or_default(),
        findings(answer)
    )
}
