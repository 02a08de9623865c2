//! The one error type of this crate.

use std::fmt;
use std::ops::Range;

/// Why a text is not the quantity that was asked for.
///
/// `Display` writes it on one line. The pieces are public so that a caller who knows where the text
/// stands in a file can point at the very characters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// Bytes of the offending piece; both ends lie inside the text and on character boundaries.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What would have been right, with an example.
    pub expected: String,
    /// What to write instead, where that can be guessed.
    pub hint: Option<String>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; expected {}", self.message, self.expected)?;
        match &self.hint {
            Some(hint) => write!(f, " ({hint})"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for QuantityError {}

/// Text of unknown origin made fit for a one-line message: shortened, control characters escaped.
pub fn clip(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut short: String = text.chars().take(LONGEST).flat_map(char::escape_debug).collect();
    if text.chars().nth(LONGEST).is_some() {
        short.push('…');
    }
    short
}
