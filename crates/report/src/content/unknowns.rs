//! What was assumed, and what is not known.

use crate::document::{Section, Text};
use crate::english as say;
use crate::gather::Material;
use crate::words::finding;

pub fn section(material: &Material) -> Section {
    let mut section = Section::new("unknowns", say::UNKNOWNS);
    let missing = finding::missing(&material.result);
    if missing.is_empty() {
        section.paragraph(say::NOTHING_MISSING);
    } else {
        section.heading(say::TO_PROVIDE);
        let points = missing.into_iter().map(|(datum, places)| {
            let wanted = say::wanted_for(&places.join("; "));
            Text::default().strong(datum).plain(wanted)
        });
        section.list(points.collect());
    }
    if !material.plan.missing.is_empty() {
        section.heading(say::TO_AGREE);
        section.list(material.plan.missing.iter().map(Text::from).collect());
    }
    section.heading(say::ASSUMED);
    let assumed = material.result.assumptions.iter().map(Text::from);
    section.list(assumed.chain([Text::from(say::NOT_MODELLED)]).collect());
    section
}
