//! Readers of open interchange formats.
