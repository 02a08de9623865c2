//! The note as PDF.

use serde::Serialize;
use tidewall_pdf::{Job, PdfError, Typeset, typeset};

use crate::document::Note;

const TEMPLATE: &str = include_str!("note.typ");

/// Typesets a note.
///
/// # Errors
/// A logo that cannot be used; anything else is a defect.
pub fn pdf(note: &Note) -> Result<Typeset, PdfError> {
    let mut pictures: Vec<(String, Vec<u8>)> = note
        .pictures()
        .map(|picture| (format!("{}.svg", picture.id), picture.svg.clone().into_bytes()))
        .collect();
    if let Some(logo) = &note.sender.logo {
        pictures.push((logo.file.clone(), logo.bytes.clone()));
    }
    typeset(&Job {
        template: TEMPLATE,
        data: json(note)?,
        pictures,
        ident: format!("{} {}", note.kind, note.digest),
        creator: note.program.clone(),
    })
}

fn json(note: &impl Serialize) -> Result<String, PdfError> {
    serde_json::to_string(note).map_err(|fault| PdfError {
        faults: vec![fault.to_string()],
    })
}
