//! What an import did, or would do.

use schemars::JsonSchema;
use serde::Serialize;

/// Version of the report's form.
pub const SCHEMA: &str = "tidewall/import/1";

/// Most rows of each kind that are listed; the counts are of all.
pub const LISTED: usize = 1000;

/// How an import ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Every row is in the library.
    Complete,
    /// The good rows are in the library, the bad ones are not.
    Partial,
    /// No row is in the library, and it is as it was.
    Nothing,
}

/// One fault of a row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct CellFault {
    /// Where: `B17`, or `line 17, column 2`; the row if no cell is at fault.
    pub place: String,
    /// Header of the column; may be empty.
    pub header: String,
    /// What the cell holds; may be empty.
    pub value: String,
    /// What is wrong.
    pub reason: String,
    /// What would have been right; may be empty.
    pub expected: String,
    /// What to do; may be empty.
    pub hint: String,
}

/// A row that was not imported.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct BadRow {
    /// Line or row, counted from 1.
    pub row: u64,
    /// Name of the part, so far as it is known; may be empty.
    pub part: String,
    /// All that was found.
    pub faults: Vec<CellFault>,
}

/// A part that is new or changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PartChange {
    /// Its name.
    pub part: String,
    /// Line or row it is from.
    pub row: u64,
    /// What changed in words, old and new; empty for a new part.
    pub changes: Vec<String>,
}

/// The report of an import.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ImportReport {
    /// Version of this form.
    pub schema: &'static str,
    /// The table.
    pub file: String,
    /// How it is written.
    pub form: String,
    /// Whether nothing was to be kept.
    pub dry_run: bool,
    /// How it ended; of a dry run, how it would end.
    pub outcome: Outcome,
    /// Why nothing was imported though some rows are good.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refused: Option<String>,
    /// Rows read below the header, blank ones not counted.
    pub rows: u64,
    /// Parts that are new.
    pub added: u64,
    /// Parts of which a datum is new or says something else.
    pub changed: u64,
    /// Parts whose data say what they said, and stand in another place of the document.
    pub moved: u64,
    /// Parts that were there as they are.
    pub unchanged: u64,
    /// Rows that repeat an earlier row of the file.
    pub repeated: u64,
    /// Rows that were not imported.
    pub bad: u64,
    /// The new parts, up to 1000.
    pub added_parts: Vec<PartChange>,
    /// The changed parts, up to 1000.
    pub changed_parts: Vec<PartChange>,
    /// The bad rows, up to 1000.
    pub bad_rows: Vec<BadRow>,
    /// Columns that nothing was taken from.
    pub unused_columns: Vec<String>,
    /// What people should know.
    pub notes: Vec<String>,
}
