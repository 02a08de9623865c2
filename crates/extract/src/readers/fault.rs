//! Why a text could not be read.

use std::fmt;

/// A fault in a measured text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadFault {
    /// Line, counted from 1; 0 if the text as a whole is meant.
    pub line: usize,
    /// Cell of the line, counted from 1; 0 if the line as a whole is meant.
    pub cell: usize,
    /// What is wrong.
    pub message: String,
    /// What would have been right.
    pub expected: String,
    /// What to do; may be empty.
    pub hint: String,
}

impl ReadFault {
    /// About the whole text.
    pub(crate) fn whole(message: impl Into<String>, expected: &str, hint: &str) -> ReadFault {
        ReadFault::at(0, 0, message, expected, hint)
    }

    /// About a place.
    pub(crate) fn at(
        line: usize,
        cell: usize,
        message: impl Into<String>,
        expected: &str,
        hint: &str,
    ) -> ReadFault {
        ReadFault {
            line,
            cell,
            message: message.into(),
            expected: expected.to_owned(),
            hint: hint.to_owned(),
        }
    }
}

impl fmt::Display for ReadFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, self.cell) {
            (0, _) => {}
            (line, 0) => write!(f, "line {line}: ")?,
            (line, cell) => write!(f, "line {line}, cell {cell}: ")?,
        }
        write!(f, "{}; expected {}", self.message, self.expected)?;
        if self.hint.is_empty() {
            Ok(())
        } else {
            write!(f, " ({})", self.hint)
        }
    }
}

impl std::error::Error for ReadFault {}
