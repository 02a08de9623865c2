//! Parts compared on one page: technology against technology at the currents that really flow.

use tidewall_assess::compare::{Compared, Comparison, UnderStress};
use tidewall_study::Study;
use tidewall_units::{Amps, Celsius, Joules, Volts};

use super::protection::quantity;
use super::{Form, file_name, program, tone};
use crate::document::{Block, Cell, Note, Section, Style, Table, Text, clean};
use crate::english as say;
use crate::english::head;
use crate::words::number::percent;
use crate::words::{compare, finding, sentence};

/// The note of a comparison.
pub fn compared(study: &Study, comparison: &Comparison, form: &Form) -> Note {
    let parts = &comparison.parts;
    let mut verdicts = Section::new("verdicts", say::VERDICTS);
    verdicts
        .blocks
        .push(Block::Terms(parts.iter().map(verdict).collect()));
    let mut data = Section::new("data", say::DATA);
    data.table(general(&comparison.stage, parts));
    let mut under = Section::new("stress", say::UNDER_STRESS);
    under.table(stresses(parts));
    under.paragraph(say::CALCULATED);
    under.blocks.push(Block::Code(clean(&form.command)));
    Note {
        lang: say::LANG,
        kind: form.template.kind().unwrap_or(say::COMPARISON_KIND).to_owned(),
        title: clean(&study.title),
        date: form.date.as_deref().map(clean),
        sender: form.template.sender.clone(),
        paper: form.paper,
        facts: vec![
            (say::PORT.to_owned(), Text::from(finding::port(study))),
            (
                say::PLACE.to_owned(),
                Text::from(format!("{} ({})", comparison.stage, file_name(&study.path))),
            ),
            (
                say::STUDY.to_owned(),
                Text::default().and(Style::Code, format!("SHA-256 {}", comparison.study.digest)),
            ),
        ],
        sections: vec![verdicts, data, under],
        labels: say::LABELS,
        digest: comparison.study.digest.clone(),
        program: program(),
    }
}

fn verdict(part: &Compared) -> (String, Text) {
    let margin = part
        .worst_margin
        .map_or(String::new(), |m| format!(", {} %", percent(m)));
    let mut text = Text::default().strong(format!("{}{margin}. ", part.verdict.word()));
    if let Some(worst) = part.checks.first() {
        let place = match &worst.stress {
            Some(stress) => format!("{}, {stress}: ", worst.check),
            None => format!("{}: ", worst.check),
        };
        text = text.plain(format!("{place}{}", sentence(&worst.why)));
    }
    (clean(&part.part), text)
}

/// What does not depend on a stress.
fn general(stage: &str, parts: &[Compared]) -> Table {
    let mut table = Table::new(say::beside_table(stage)).text(head::WHAT, 2);
    for part in parts {
        table = table.text(&part.part, 3);
    }
    // Rows of a stress are in the other table: those that name one, and what stands indented below it. The band would take
    // the note over its page.
    let of_stress = |label: &str| {
        let names = |part: &Compared| {
            part.stresses
                .iter()
                .any(|s| label.starts_with(&format!("{}, ", s.stress)))
        };
        label.starts_with(' ') || parts.iter().any(names)
    };
    for (label, cells) in compare::rows(parts) {
        if of_stress(&label) || label.starts_with(compare::BAND_ROWS) {
            continue;
        }
        let verdicts = label == compare::VERDICT_ROW;
        let mut row = vec![Cell::words(&label)];
        row.extend(cells.into_iter().zip(parts).map(|(cell, part)| {
            if verdicts {
                Cell::toned(cell, tone(part.verdict))
            } else {
                Cell::words(cell)
            }
        }));
        table.row(row);
    }
    table
}

/// Each part in each stress at each ambient.
fn stresses(parts: &[Compared]) -> Table {
    let mut table = Table::new(say::UNDER_STRESS_TABLE)
        .text(head::STRESS, 1)
        .numbers(head::AMBIENT)
        .text(head::PART, 1)
        .numbers(head::CURRENT)
        .numbers(head::CLAMPS)
        .numbers(head::PIN)
        .numbers(head::ENERGY)
        .numbers(head::JUNCTION);
    table.group = parts.len();
    let mut places: Vec<(&str, f64)> = Vec::new();
    for stress in parts.iter().flat_map(|part| &part.stresses) {
        let place = (stress.stress.as_str(), stress.ambient_c);
        if !places.contains(&place) {
            places.push(place);
        }
    }
    for (stress, ambient_c) in places {
        for part in parts {
            let mut own = part.stresses.iter();
            let found = own.find(|other| other.stress == stress && other.ambient_c == ambient_c);
            let number = |value: Option<Cell>| value.unwrap_or(Cell::number("?", ""));
            let of = |cell: fn(&UnderStress) -> Cell| number(found.map(cell));
            table.row(vec![
                Cell::words(stress),
                quantity(Celsius(ambient_c)),
                Cell::words(&part.part),
                of(|s| quantity(Amps(s.current_a))),
                of(|s| quantity(Volts(s.clamp_v))),
                of(|s| quantity(Volts(s.let_through_v))),
                of(|s| quantity(Joules(s.energy_j))),
                number(found.and_then(|s| s.junction_c).map(|c| quantity(Celsius(c)))),
            ]);
        }
    }
    table
}
