//! Why a table cannot be imported at all.

use std::fmt;

/// Why a file or a mapping cannot be used. Nothing has been imported.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ImportError {
    /// The file.
    pub file: String,
    /// Line and column, or cell; may be empty.
    pub place: String,
    /// What is wrong.
    pub message: String,
    /// What would have been right; may be empty.
    pub expected: String,
    /// What to do; may be empty.
    pub hint: String,
}

impl ImportError {
    pub(super) fn new(file: &str, place: impl Into<String>, message: impl Into<String>) -> ImportError {
        ImportError {
            file: file.to_owned(),
            place: place.into(),
            message: message.into(),
            ..ImportError::default()
        }
    }

    pub(super) fn expected(mut self, text: impl Into<String>) -> ImportError {
        self.expected = text.into();
        self
    }

    pub(super) fn hint(mut self, text: impl Into<String>) -> ImportError {
        self.hint = text.into();
        self
    }
}

impl fmt::Display for ImportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if !self.place.is_empty() {
            write!(f, ", {}", self.place)?;
        }
        write!(f, ": {}", self.message)?;
        if !self.expected.is_empty() {
            write!(f, "\n  expected: {}", self.expected)?;
        }
        if !self.hint.is_empty() {
            write!(f, "\n  hint: {}", self.hint)?;
        }
        Ok(())
    }
}

impl std::error::Error for ImportError {}
