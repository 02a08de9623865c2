//! The design window: walls, currents, and the clamp between them.

use tidewall_study::Study;

use crate::document::Section;
use crate::english as say;
use crate::gather::Material;
use crate::words::{finding, sentence};

pub fn section(_study: &Study, material: &Material) -> Section {
    let mut section = Section::new("window", say::WINDOW);
    section.paragraph(sentence(&finding::window(&material.result)));
    section.paragraph(say::WINDOW_TEXT);
    section
}
