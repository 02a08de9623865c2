//! The one error of the readers.

use std::fmt;
use std::ops::Range;

/// Why a text cannot be read. Exactly one per failure: the first fault found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextFault {
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// Bytes of the offending piece in the text.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What would have been right.
    pub expected: String,
    /// What to do; may be empty.
    pub hint: String,
}

impl fmt::Display for TextFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}:{}: {}\n  expected: {}",
            self.line, self.column, self.message, self.expected
        )?;
        if self.hint.is_empty() {
            Ok(())
        } else {
            write!(f, "\n  hint: {}", self.hint)
        }
    }
}

impl std::error::Error for TextFault {}

/// A word of a line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Word<'t> {
    pub(crate) text: &'t str,
    /// Byte offset in the whole text.
    pub(crate) at: usize,
}

/// A line without its comment and its end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line<'t> {
    pub(crate) text: &'t str,
    /// Byte offset in the whole text.
    pub(crate) at: usize,
    /// Number, counted from 1.
    pub(crate) number: usize,
}

impl<'t> Line<'t> {
    /// The lines of a text, with their ends (LF, or CR and LF) taken off.
    pub(crate) fn all(text: &'t str) -> impl Iterator<Item = Line<'t>> {
        let mut at = 0;
        text.split('\n').enumerate().map(move |(index, raw)| {
            let line = Line {
                text: raw.strip_suffix('\r').unwrap_or(raw),
                at,
                number: index + 1,
            };
            at += raw.len() + 1;
            line
        })
    }

    /// The line up to the first `mark`.
    pub(crate) fn before(self, mark: char) -> Line<'t> {
        Line {
            text: self.text.split(mark).next().unwrap_or_default(),
            ..self
        }
    }

    pub(crate) fn words(self) -> Vec<Word<'t>> {
        let mut words = Vec::new();
        let mut start = None;
        for (index, c) in self.text.char_indices() {
            match (c.is_whitespace(), start) {
                (false, None) => start = Some(index),
                (true, Some(from)) => {
                    words.push(self.word(from, index));
                    start = None;
                }
                _ => {}
            }
        }
        if let Some(from) = start {
            words.push(self.word(from, self.text.len()));
        }
        words
    }

    /// The piece between two offsets of the line that lie on character boundaries.
    pub(crate) fn word(self, from: usize, to: usize) -> Word<'t> {
        Word {
            text: &self.text[from..to],
            at: self.at + from,
        }
    }

    /// The keyword in brackets that begins the line, and what follows it; `None` for a line without one.
    pub(crate) fn bracketed(self, text: &str) -> Result<Option<(Word<'t>, Line<'t>)>, TextFault> {
        let whole = self.whole();
        if !whole.text.starts_with('[') {
            return Ok(None);
        }
        let Some(close) = whole.text.find(']') else {
            return Err(fault(
                text,
                whole,
                "the keyword has no closing bracket",
                "[Keyword] with both brackets",
                "",
            ));
        };
        let lead = whole.at - self.at;
        let end = lead + close + 1;
        let rest = Line {
            text: &self.text[end..],
            at: self.at + end,
            ..self
        };
        Ok(Some((self.word(lead, end), rest)))
    }

    /// What stands on the line, without blanks around it.
    pub(crate) fn whole(self) -> Word<'t> {
        let lead = self.text.len() - self.text.trim_start().len();
        self.word(lead, lead + self.text.trim().len())
    }

    pub(crate) fn is_blank(self) -> bool {
        self.text.trim().is_empty()
    }
}

/// A fault at a word of `text`.
pub(crate) fn fault(
    text: &str,
    word: Word<'_>,
    message: impl Into<String>,
    expected: impl Into<String>,
    hint: impl Into<String>,
) -> TextFault {
    let start = text.floor_char_boundary(word.at);
    let before = &text[..start];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    TextFault {
        line: before.bytes().filter(|byte| *byte == b'\n').count() + 1,
        column: before[line_start..].chars().count() + 1,
        span: start..(start + word.text.len()).min(text.len()),
        message: message.into(),
        expected: expected.into(),
        hint: hint.into(),
    }
}

/// A fault at the end of `text`.
pub(crate) fn fault_at_end(
    text: &str,
    message: impl Into<String>,
    expected: impl Into<String>,
    hint: impl Into<String>,
) -> TextFault {
    let at = text.trim_end().len();
    fault(text, Word { text: "", at }, message, expected, hint)
}
