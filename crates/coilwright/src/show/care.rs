//! A table that was taken in, or would be, line by line.

use super::plain::findings;
use super::table::table;
use super::{figure, items, text};
use serde_json::Value;

pub fn imported(answer: &Value) -> String {
    let rows: Vec<Vec<String>> = items(answer, "rows")
        .map(|row| {
            let error = &row["error"];
            let says = match (error["column"].as_str(), error["detail"].as_str()) {
                (Some(column), Some(detail)) => format!("NOT TAKEN, {column}: {detail}"),
                (None, Some(detail)) => format!("NOT TAKEN: {detail}"),
                _ => String::new(),
            };
            let next = error["next_step"].as_str().map_or(String::new(), |step| format!("; {step}"));
            let left = if row["left_m"].is_null() { String::new() } else { format!("{} m", figure(&row["left_m"])) };
            vec![row["line"].to_string(), text(row, "what"), text(row, "spool"), left, says + next.as_str()]
        })
        .collect();
    let head = if answer["written"] == true { "written" } else { "dry run, nothing written" };
    let count = |name: &str| answer[name].as_u64().unwrap_or(0);
    format!(
        "{}{}{head}: {} taken, {} not\n{}\n",
        table(&["line", "what", "spool", "left", ""], rows, &[0, 3]),
        findings(answer),
        count("taken"),
        count("refused"),
        answer["next"].as_str().unwrap_or_default(),
    )
}
