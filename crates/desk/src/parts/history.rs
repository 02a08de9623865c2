//! What happened to a part.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_parts::wire::{DatumExport, PartExport};
use tidewall_parts::{Event, HistoryEntry};

/// Something that happened to a part.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HistoryLine {
    /// When, in UTC; null if it is not known.
    pub at: Option<String>,
    /// What was done.
    pub action: String,
    /// Document or file it drew on.
    pub document: String,
    /// `user` or `program`.
    pub by: &'static str,
    /// `added`, `changed` or `retired`.
    pub event: &'static str,
    /// The event in words.
    pub words: String,
    /// What was stated before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old: Option<DatumExport>,
    /// What is stated since.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub new: Option<DatumExport>,
    /// The part as it was when it was retired.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<PartExport>,
}

impl From<&HistoryEntry> for HistoryLine {
    fn from(entry: &HistoryEntry) -> Self {
        let mut line = HistoryLine {
            at: entry.action.at_unix_s.map(time),
            action: entry.action.what.clone(),
            document: entry.action.document.clone(),
            by: if entry.by_program { "program" } else { "user" },
            event: "added",
            words: "added to the library".to_owned(),
            old: None,
            new: None,
            part: None,
        };
        match &entry.event {
            Event::Added => {}
            Event::Changed(change) => {
                line.event = "changed";
                line.words = change.in_words();
                line.old = change.old.as_ref().map(DatumExport::from);
                line.new = change.new.as_ref().map(DatumExport::from);
            }
            Event::Retired(record) => {
                line.event = "retired";
                line.words = format!("taken out of the library, with {} data", record.data.len());
                line.part = Some(record.into());
            }
        }
        line
    }
}

/// A time in seconds since 1970-01-01 as `2026-11-25 13:05:12 UTC`.
fn time(unix_s: i64) -> String {
    let (days, second) = (unix_s.div_euclid(86_400), unix_s.rem_euclid(86_400));
    // Days to year, month and day in the Gregorian calendar, with years that begin in March (from memory; the tests
    // hold dates that are known).
    let day = days + 719_468;
    let (era, of_era) = (day.div_euclid(146_097), day.rem_euclid(146_097));
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 {
        march_month + 3
    } else {
        march_month - 9
    };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    let (hour, minute) = (second / 3_600, second / 60 % 60);
    format!(
        "{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{:02} UTC",
        second % 60
    )
}

#[cfg(test)]
mod tests {
    use super::time;

    #[test]
    fn known_dates_are_right() {
        assert_eq!(time(0), "1970-01-01 00:00:00 UTC");
        assert_eq!(time(-1), "1969-12-31 23:59:59 UTC");
        assert_eq!(time(951_782_400), "2000-02-29 00:00:00 UTC");
        assert_eq!(time(1_234_567_890), "2009-02-13 23:31:30 UTC");
        assert_eq!(time(4_102_444_800), "2100-01-01 00:00:00 UTC");
    }
}
