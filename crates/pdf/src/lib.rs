//! Typesetting: a template, one JSON file and pictures become a PDF. Knows nothing of protection.
//!
//! No network, no packages, no clock and no file of the machine: a template sees what it is handed and the three fonts
//! bundled here. The same input gives the same bytes.

mod fonts;
mod pages;
mod world;

use std::fmt;

use typst::comemo;
use typst::diag::{Severity, SourceDiagnostic};
use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

pub use fonts::{covers, readable};
use world::Desk;

/// What is to be typeset.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// The template, in the typesetter's own language. It reads `data.json` and the pictures by their names.
    pub template: &'a str,
    /// What it shows, as JSON: `data.json`.
    pub data: String,
    /// Pictures by name: SVG, PNG or JPEG.
    pub pictures: Vec<(String, Vec<u8>)>,
    /// Identifies the document: the same for the same content.
    pub ident: String,
    /// Name of the program, for the file's metadata.
    pub creator: String,
}

/// A typeset document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typeset {
    /// The PDF: tagged, and checked against PDF/UA-1 as it is written.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// The text of its pages in the order in which it was set, without that of pictures; pages are parted by form feeds.
    pub text: String,
    /// Pieces of text that reach beyond the paper; empty unless something does not fit.
    pub outside: Vec<String>,
    /// What the typesetter was not content with.
    pub warnings: Vec<String>,
}

/// Why nothing was typeset.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PdfError {
    /// The faults, the first one first.
    pub faults: Vec<String>,
}

impl fmt::Display for PdfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.faults.join("; "))
    }
}

impl std::error::Error for PdfError {}

/// Typesets a job.
///
/// Characters that no bundled font has are written as their code points (see [`readable`]), in the data and in SVG
/// pictures.
///
/// # Errors
/// The template or a picture cannot be used, or the result would not conform to PDF/UA-1.
pub fn typeset(job: &Job) -> Result<Typeset, PdfError> {
    let desk = Desk::new(job)?;
    let done = typst::compile::<PagedDocument>(&desk);
    let document = done.output.map_err(|faults| refused(&faults))?;
    let standards = PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|fault| PdfError {
        faults: vec![fault.message().to_string()],
    })?;
    let options = PdfOptions {
        ident: Smart::Custom(job.ident.clone()),
        creator: Smart::Custom(Some(job.creator.clone())),
        timestamp: None,
        standards,
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|faults| refused(&faults))?;
    let pages = document.pages().len();
    let texts = pages::texts(&document);
    // What the typesetter remembers between runs would only grow.
    comemo::evict(0);
    Ok(Typeset {
        bytes,
        pages,
        text: texts.all,
        outside: texts.outside,
        warnings: done.warnings.iter().map(words).collect(),
    })
}

fn refused(faults: &[SourceDiagnostic]) -> PdfError {
    let errors = faults.iter().filter(|fault| fault.severity == Severity::Error);
    PdfError {
        faults: errors.map(words).collect(),
    }
}

fn words(fault: &SourceDiagnostic) -> String {
    let hints: Vec<&str> = fault.hints.iter().map(|hint| hint.v.as_str()).collect();
    if hints.is_empty() {
        fault.message.to_string()
    } else {
        format!("{} ({})", fault.message, hints.join("; "))
    }
}
