//! What the note was made from, and how to make it again.

use tidewall_assess::explain;
use tidewall_study::Study;

use super::{Form, file_name, program};
use crate::document::{Block, Cell, Section, Style, Table, Text};
use crate::english as say;
use crate::english::head;
use crate::gather::Material;
use crate::words::finding::computed;

pub fn section(study: &Study, material: &Material, form: &Form) -> Section {
    let result = &material.result;
    let mut section = Section::new("provenance", say::PROVENANCE);
    let terms = vec![
        (say::STUDY, Text::from(file_name(&study.path))),
        (
            say::DIGEST,
            Text::default().and(Style::Code, &result.study.digest),
        ),
        (say::PROGRAM, Text::from(program())),
        (say::COMPUTED, Text::from(computed(result))),
    ];
    let terms = terms.into_iter();
    section.blocks.push(Block::Terms(
        terms.map(|(label, text)| (label.to_owned(), text)).collect(),
    ));
    section.paragraph(say::REPRODUCE);
    section.blocks.push(Block::Code(form.command.clone()));
    section.paragraph(say::SAME_BYTES);
    let mut sources = Table::new(say::PROVENANCE_TABLE)
        .text(head::WHAT, 2)
        .text(head::ORIGIN, 3);
    for origin in result
        .origins
        .iter()
        .filter(|origin| origin.what.starts_with("stress "))
    {
        sources.row(vec![
            Cell::words(origin.what.trim_start_matches("stress ")),
            Cell::words(&origin.origin),
        ]);
    }
    section.table(sources);
    section.table(rules(material));
    section
}

/// The rules behind the checks that were made, each once.
fn rules(material: &Material) -> Table {
    let mut table = Table::new(say::SOURCES_TABLE)
        .text(head::CHECK, 2)
        .text(head::SOURCE_OF_RULE, 3);
    let made = |name: &str| material.result.checks.iter().any(|check| check.check == name);
    for rule in explain::ALL.iter().filter(|rule| made(rule.check)) {
        table.row(vec![Cell::words(rule.check), Cell::words(rule.source)]);
    }
    table.note(say::EXPLAIN);
    table
}
