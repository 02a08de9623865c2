//! The one error type of this crate.

use std::fmt;
use std::ops::{Deref, DerefMut, Range};

/// Why a study, or a file it refers to, cannot be used. Exactly one per failure.
///
/// `Display` prints `file:line:column: message`, the line of the text with a caret, the expectation and the hint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StudyError(Box<Fault>);

/// The pieces of a [`StudyError`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The file as it was named.
    pub file: String,
    /// Line, counted from 1; 0 if the file as a whole is meant.
    pub line: usize,
    /// Column in characters, counted from 1; 0 if the file as a whole is meant.
    pub column: usize,
    /// Bytes of the offending piece in the file's text.
    pub span: Range<usize>,
    /// The line of the text, shortened if it is very long; empty if the file as a whole is meant.
    pub source_line: String,
    /// Where the caret stands below `source_line`, in characters from its start, and how wide it is.
    pub caret: (usize, usize),
    /// What is wrong.
    pub message: String,
    /// What would have been right.
    pub expected: String,
    /// What to do.
    pub hint: String,
}

impl From<Fault> for StudyError {
    fn from(fault: Fault) -> Self {
        StudyError(Box::new(fault))
    }
}

impl Deref for StudyError {
    type Target = Fault;

    fn deref(&self) -> &Fault {
        &self.0
    }
}

impl DerefMut for StudyError {
    fn deref_mut(&mut self) -> &mut Fault {
        &mut self.0
    }
}

impl fmt::Display for StudyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line == 0 {
            writeln!(f, "{}: {}", self.file, self.message)?;
        } else {
            writeln!(f, "{}:{}:{}: {}", self.file, self.line, self.column, self.message)?;
            let number = self.line.to_string();
            let gutter = " ".repeat(number.len());
            writeln!(f, "  {number} | {}", self.source_line)?;
            let (at, width) = self.caret;
            writeln!(f, "  {gutter} | {}{}", " ".repeat(at), "^".repeat(width.max(1)))?;
        }
        write!(f, "  expected: {}", self.expected)?;
        if self.hint.is_empty() {
            Ok(())
        } else {
            write!(f, "\n  hint: {}", self.hint)
        }
    }
}

impl std::error::Error for StudyError {}
