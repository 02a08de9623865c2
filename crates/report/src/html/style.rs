//! The style sheet, and the policy that lets nothing else in.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use super::pieces::widths;
use crate::document::{Align, Block, Note, Paper};

const SHEET: &str = include_str!("note.css");

/// The style sheet of a note: paper and the widths of its number columns come before what all notes share.
pub fn sheet(note: &Note) -> String {
    let size = match note.paper {
        Paper::A4 => "A4",
        Paper::UsLetter => "letter",
    };
    let mut used: Vec<u32> = Vec::new();
    for block in note.sections.iter().flat_map(|section| &section.blocks) {
        let Block::Table(table) = block else { continue };
        for (k, column) in table.columns.iter().enumerate() {
            if column.align == Align::Point {
                let (decimals, unit) = widths(table, k);
                used.extend([decimals, unit]);
            }
        }
    }
    used.sort_unstable();
    used.dedup();
    let mut sheet = format!("@page{{size:{size}}}\n");
    for tenths in used.into_iter().filter(|tenths| *tenths > 0) {
        sheet.push_str(&format!(
            ".w{tenths}{{min-width:{}.{}em}}\n",
            tenths / 10,
            tenths % 10
        ));
    }
    sheet.push_str(SHEET);
    sheet
}

/// Content security policy: this style sheet and pictures within the file, nothing else.
pub fn policy(sheet: &str) -> String {
    let digest = STANDARD.encode(Sha256::digest(sheet.as_bytes()));
    format!(
        "default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"
    )
}
