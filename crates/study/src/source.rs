//! A text with its name, and errors that point into it.

use std::ops::Range;

use crate::error::{Fault, StudyError};

/// Longest piece of a source line an error shows, in characters.
const SHOWN: usize = 120;

/// A file's text under the name the user knows it by.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    pub(crate) name: String,
    pub(crate) text: String,
}

impl Source {
    /// Takes bytes for text; a byte order mark is dropped.
    pub(crate) fn from_bytes(name: &str, bytes: Vec<u8>) -> Result<Source, StudyError> {
        match String::from_utf8(bytes) {
            Ok(text) => {
                let text = match text.strip_prefix('\u{feff}') {
                    Some(rest) => rest.to_owned(),
                    None => text,
                };
                Ok(Source {
                    name: name.to_owned(),
                    text,
                })
            }
            Err(error) => {
                let good = error.utf8_error().valid_up_to();
                let bytes = error.into_bytes();
                let byte = bytes.get(good).copied().unwrap_or_default();
                // What follows the bad byte on its line is shown as far as it can be.
                let end = bytes[good..]
                    .iter()
                    .position(|b| *b == b'\n')
                    .map_or(bytes.len(), |n| good + n);
                let mut text = String::from_utf8_lossy(&bytes[..good]).into_owned();
                let at = text.len();
                text.push_str(&String::from_utf8_lossy(&bytes[good..end]));
                let source = Source {
                    name: name.to_owned(),
                    text,
                };
                Err(source.error(
                    at..at + '\u{fffd}'.len_utf8(),
                    format!("the file is not UTF-8: byte {byte:#04x} cannot stand here"),
                    "text encoded in UTF-8",
                    "save the file as UTF-8 in your editor; °, µ and Ω are the usual culprits",
                ))
            }
        }
    }

    /// Line of a byte offset, counted from 1.
    pub(crate) fn line(&self, offset: usize) -> usize {
        let end = offset.min(self.text.len());
        self.text.as_bytes()[..end]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count()
            + 1
    }

    /// An error at `span`; any span is accepted and moved onto character boundaries.
    pub(crate) fn error(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> StudyError {
        let start = self.boundary(span.start);
        let end = self.boundary(span.end).max(start);
        let line_start = self.text[..start].rfind('\n').map_or(0, |at| at + 1);
        let rest = &self.text[line_start..];
        let line = rest[..rest.find('\n').unwrap_or(rest.len())].trim_end_matches('\r');
        let before = self.text[line_start..start].chars().count();
        let on_line = self.text[start..end.min(line_start + line.len()).max(start)]
            .chars()
            .count();
        // A long line is shown from shortly before the fault on.
        let skipped = if before + on_line > SHOWN {
            before.saturating_sub(20)
        } else {
            0
        };
        let source_line: String = line.chars().skip(skipped).take(SHOWN).map(printable).collect();
        let shown = source_line.chars().count();
        let at = (before - skipped).min(shown);
        Fault {
            file: self.name.clone(),
            line: self.line(start),
            column: before + 1,
            span: start..end,
            source_line,
            caret: (at, on_line.clamp(1, (shown - at).max(1))),
            message: message.into(),
            expected: expected.into(),
            hint: hint.into(),
        }
        .into()
    }

    fn boundary(&self, offset: usize) -> usize {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    }
}

/// An error about a file as a whole.
pub(crate) fn whole(
    file: &str,
    message: impl Into<String>,
    expected: impl Into<String>,
    hint: impl Into<String>,
) -> StudyError {
    Fault {
        file: file.to_owned(),
        line: 0,
        column: 0,
        span: 0..0,
        source_line: String::new(),
        caret: (0, 0),
        message: message.into(),
        expected: expected.into(),
        hint: hint.into(),
    }
    .into()
}

/// Control characters would spoil the terminal and the caret; a tab keeps its width of one.
fn printable(c: char) -> char {
    if c.is_control() { ' ' } else { c }
}

/// A hint with the names nearest to `word`: those that can be a slip of it, else the first few of all.
pub(crate) fn nearest<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> String {
    let folded = word.to_lowercase().replace('-', "_");
    let mut scored: Vec<(usize, &str)> = names
        .map(|name| {
            let other = name.to_lowercase().replace('-', "_");
            (
                strsim::osa_distance(&tidewall_units::clip(&folded), &tidewall_units::clip(&other)),
                name,
            )
        })
        .collect();
    scored.sort();
    let slips: Vec<String> = scored
        .iter()
        .filter(|(distance, name)| *distance <= 1 + name.chars().count().min(folded.chars().count()) / 3)
        .take(3)
        .map(|(_, name)| format!("`{name}`"))
        .collect();
    if !slips.is_empty() {
        return format!("did you mean {}?", slips.join(" or "));
    }
    let mut all: Vec<&str> = scored.into_iter().map(|(_, name)| name).collect();
    all.sort_unstable();
    match all.len() {
        0 => String::new(),
        1..=24 => format!("known here: {}", all.join(", ")),
        n => format!("known here: {}, … ({n} in all)", all[..24].join(", ")),
    }
}
