//! Tables without frames: columns that line up, headed in capitals.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

/// A table of `rows` under `head`; the columns in `right` line up on the right.
pub fn table(head: &[&str], rows: Vec<Vec<String>>, right: &[usize]) -> String {
    let mut t = Table::new();
    t.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    t.set_header(head.iter().map(|h| h.to_uppercase()));
    t.add_rows(rows.into_iter().map(|row| row.iter().map(|c| plain(c)).collect::<Vec<_>>()));
    t.column_iter_mut().for_each(|c| {
        c.set_padding((0, 2));
    });
    for column in right {
        if let Some(c) = t.column_mut(*column) {
            c.set_cell_alignment(CellAlignment::Right);
        }
    }
    let lines: Vec<String> = t.lines().map(|l| l.trim_end().to_owned()).collect();
    lines.join("\n") + "\n"
}

/// The same rows for the next program: tabs between, nothing above.
pub fn tab_separated(rows: Vec<Vec<String>>) -> String {
    rows.iter().map(|row| row.iter().map(|c| plain(c)).collect::<Vec<_>>().join("\t") + "\n").collect()
}

/// A cell without what would break a column, a row, or a terminal.
fn plain(cell: &str) -> String {
    cell.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}
