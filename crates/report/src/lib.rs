//! The recommendation note of a study: content once, then HTML, PDF and workbook.
//!
//! [`gather::gather`] has everything computed, [`content::note`] says it as a [`document::Note`], and the back ends render
//! that: [`html::html`], `pdf::pdf` (feature `pdf`) and [`sheet::workbook`].

pub mod content;
pub mod document;
mod english;
pub mod figures;
pub mod gather;
pub mod html;
pub mod outputs;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod sheet;
pub mod template;
pub mod words;
