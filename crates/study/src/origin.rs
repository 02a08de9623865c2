//! Where a value comes from.

use std::fmt;

/// How firm the knowledge behind a profile's value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mark {
    /// Read in the named public source.
    Seen,
    /// Engineering knowledge, not read again; verify before claiming compliance.
    Memory,
    /// Computed from other values, the formula is in the source text.
    Derived,
    /// What the trade usually does; no standard says so.
    CommonPractice,
}

impl Mark {
    /// The mark in words.
    pub fn text(self) -> &'static str {
        match self {
            Self::Seen => "source",
            Self::Memory => "from memory",
            Self::Derived => "derived",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// The origin of one value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Written in the study, or in a file it refers to.
    Study {
        /// Line, counted from 1.
        line: usize,
    },
    /// Filled in from a port profile.
    Profile {
        /// Key of the profile.
        key: String,
        /// How firm the value is.
        mark: Mark,
        /// Description of the source, or the formula.
        source: String,
    },
    /// Follows from other values of the study.
    Assumed {
        /// The reason in a few words.
        why: String,
    },
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Study { line } => write!(f, "study, line {line}"),
            Self::Profile { key, mark, source } if source.is_empty() => {
                write!(f, "profile {key} ({})", mark.text())
            }
            Self::Profile { key, mark, source } => write!(f, "profile {key} ({}: {source})", mark.text()),
            Self::Assumed { why } => write!(f, "assumed: {why}"),
        }
    }
}

/// A value with its origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Valued<T> {
    /// The value, in SI units (°C for temperatures).
    pub value: T,
    /// Where it comes from.
    pub origin: Origin,
}
