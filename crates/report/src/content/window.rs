//! The design window: walls, currents, and the clamp between them.

use tidewall_study::Study;

use crate::document::Section;
use crate::english as say;
use crate::figures;
use crate::gather::Material;
use crate::words::{finding, sentence};

pub fn section(study: &Study, material: &Material) -> Section {
    let mut section = Section::new("window", say::WINDOW);
    section.paragraph(sentence(&finding::window(&material.result)));
    section.paragraph(say::WINDOW_TEXT);
    if let Some(figure) = figures::design_window(study, &material.result, Some(&material.traces)) {
        section.figure(&figure);
    }
    section
}
