//! The recommendation note of a study: content once, then HTML, PDF and workbook.

pub mod figures;
