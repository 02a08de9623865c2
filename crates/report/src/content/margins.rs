//! Margins by check and corner.

use tidewall_assess::result::{Assessment, Verdict};
use tidewall_study::Study;
use tidewall_units::{Quantity, Ratio};

use super::tone;
use crate::document::{Block, Cell, Section, Table, Text};
use crate::english as say;
use crate::english::head;
use crate::figures;
use crate::words::finding::{counts, letters, line, place};
use crate::words::number::corner_words;
use crate::words::{ended, sentence};

pub fn section(study: &Study, result: &Assessment) -> Section {
    let mut section = Section::new("margins", say::MARGINS);
    section.paragraph(format!(
        "{} {}: {}. {}",
        say::ASKED_FOR,
        Ratio(study.margin).rounded(3),
        counts(result),
        say::MARGINS_TEXT
    ));
    let (table, corners) = table(result);
    section.table(table);
    if !corners.is_empty() {
        section.heading(say::CORNERS);
        let corners = corners.into_iter().enumerate();
        section.blocks.push(Block::Terms(
            corners
                .map(|(number, words)| (letters(number), Text::from(words)))
                .collect(),
        ));
    }
    let told: Vec<Text> = result
        .checks
        .iter()
        .filter(|check| check.verdict != Verdict::Pass)
        .map(|check| {
            let text = Text::default().strong(format!("{}, {}: ", check.verdict.word(), place(check)));
            let text = text.plain(sentence(&check.why));
            match &check.limit_origin {
                Some(origin) => text.plain(format!(" {}: {}", say::LIMIT_FROM, ended(origin))),
                None => text,
            }
        })
        .collect();
    if !told.is_empty() {
        section.heading(say::REASONS);
        section.list(told);
    }
    section.figure(&figures::margins(study, result));
    section
}

/// The checks, and the corners behind their letters.
fn table(result: &Assessment) -> (Table, Vec<String>) {
    let mut corners: Vec<String> = Vec::new();
    let mut table = Table::new(say::MARGINS_TABLE)
        .text(head::CHECK, 3)
        .text(head::STRESS, 2)
        .text(head::ELEMENT, 2)
        .numbers(head::VALUE)
        .numbers(head::LIMIT)
        .numbers(head::MARGIN)
        .text(head::VERDICT, 0)
        .text(head::CORNER, 0);
    for check in &result.checks {
        let line = line(check);
        let letter = check.corner.as_ref().map(|corner| {
            let words = corner_words(corner);
            let known = corners.iter().position(|known| *known == words);
            letters(known.unwrap_or_else(|| {
                corners.push(words);
                corners.len() - 1
            }))
        });
        let unit = |text: &str| {
            if text.is_empty() || text == "?" {
                ""
            } else {
                line.unit.as_str()
            }
            .to_owned()
        };
        table.row(vec![
            Cell::words(check.check),
            Cell::words(check.stress.as_deref().unwrap_or("–")),
            Cell::words(&check.element),
            Cell::number(&line.value, unit(&line.value)),
            Cell::number(&line.limit, unit(&line.limit)),
            Cell::number(&line.margin, line.margin_unit),
            Cell::toned(check.verdict.word(), tone(check.verdict)),
            Cell::words(letter.unwrap_or("–".to_owned())),
        ]);
    }
    (table, corners)
}
