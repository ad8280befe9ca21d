//! `care.*`: what keeps the shop's memory safe, asked of a running daemon.

use crate::coil::FindingAnswer;
use crate::quantity::{Figure, M};
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// Asks for a backup now.
    CareBackup {} may {}
}
method!(CareBackup => CareBackedUp, "care.backup", "Adds to the backup what it does not hold yet, into the folder that the setting store.backup names.", writes: true);

tells! {
    /// How far the backup goes.
    CareBackedUp {
        /// Its last entry.
        head: u64,
        /// Hash of that entry.
        hash: String,
        /// Entries added this time.
        added: u64,
        /// When, UTC.
        at: String,
    } may {}
}

asks! {
    /// A table of spools or weighings.
    CareImport {
        /// The table as text: columns named as the params of `spool.receive` (`wire`, `gross_g`, `tare_g` …) or of `spool.weigh`
        /// (`spool`, `gross_g`), set apart by commas, semicolons or tabs. A row with a `spool` is a weighing.
        #[schemars(extend("x-file" = true))]
        csv: String,
    } may {
        /// Only says what would be done; yes if left out. `false` writes.
        dry_run: bool,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(CareImport => CareImported, "care.import", "Takes a table of spools or weighings in as one entry, all rows or none; first as a dry run that reports every row.", writes: true, leading: ["csv"]);

tells! {
    /// What became of a table.
    CareImported {
        /// Whether it was written.
        written: bool,
        /// Rows that are taken, or would be.
        taken: u64,
        /// Rows that cannot be taken; while there is one, nothing is written.
        refused: u64,
        /// Row by row.
        rows: Vec<ImportedRow>,
        /// What was noticed, with the line.
        findings: Vec<FindingAnswer>,
        /// What to do now.
        next: String,
    } may {
        /// The entry in the journal; `journal.undo` of it takes all rows back.
        seq: u64,
    }
}

/// What a row asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RowKind {
    /// A spool arrives.
    Receive,
    /// A spool is weighed.
    Weigh,
}

tells! {
    /// What becomes of a row.
    ImportedRow {
        /// Its line in the table; the header is line 1.
        line: u64,
    } may {
        /// What it asks for.
        what: RowKind,
        /// The spool; of one that arrives the id it gets, as long as nothing else arrives before.
        spool: String,
        /// What is left on it afterwards.
        left_m: Figure<M>,
        /// Why it cannot be taken.
        error: RowError,
    }
}

tells! {
    /// Why a row cannot be taken.
    RowError {
        /// What is wrong, in a sentence.
        detail: String,
    } may {
        /// The column.
        column: String,
        /// What was met.
        met: serde_json::Value,
        /// What would be taken.
        allowed: serde_json::Value,
        /// What to do.
        next_step: String,
    }
}

/// What is written out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ExportWhat {
    /// Every entry of the journal as a line of JSON, byte for byte as hashed.
    Entries,
    /// The spools in use as a table that `care.import` takes.
    Spools,
}

asks! {
    /// Asks for everything in a form that other programs read.
    CareExport {} may {
        /// `entries` if left out.
        what: ExportWhat,
        /// Of `entries` only those after this sequence.
        after: u64,
    }
}
method!(CareExport => CareExported, "care.export", "Writes out every entry as JSON lines, or the spools in use as a table that care.import takes.");

tells! {
    /// A part of an export, whole lines.
    CareExported {
        /// The lines, each with its newline.
        text: String,
        /// How many entries or spools.
        count: u64,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// Of entries: ask on with `after` this; left out at the end.
        next_cursor: u64,
    }
}
