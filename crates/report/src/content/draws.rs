//! Monte Carlo draws, where they were made.

use tidewall_assess::draws::{DrawsResult, Sensitivity};
use tidewall_assess::result::Assessment;

use crate::document::{Cell, Section, Table, Text, Tone};
use crate::english as say;
use crate::english::head;
use crate::figures;
use crate::words::draws::{
    any_failure, beyond_words, place, probability, rank_words, specimen_words, worth_showing,
};
use crate::words::number::percent;

/// Tolerances shown of each check.
const AXES: usize = 8;
/// Checks whose tolerances are shown.
const SENSITIVE: usize = 3;

pub fn section(result: &Assessment) -> Option<Section> {
    let draws = result.draws.as_ref()?;
    let mut section = Section::new("draws", say::DRAWS);
    let mut text = Text::from(say::drawn(
        draws.done,
        draws.asked,
        draws.seed,
        draws.distribution.words(),
    ));
    if let Some(any) = &draws.any_failure {
        text = text.strong(any_failure(any, draws.undecided));
    }
    section.paragraph(text);
    section.table(checks(draws));
    section.figure(&figures::draws(draws));
    if let Some(worst) = &draws.worst {
        let text = Text::default().strong(format!("{} {}: ", say::WORST_SPECIMEN, worst.draw));
        section.paragraph(text.plain(format!("{}.", specimen_words(worst))));
    }
    let mut notes: Vec<Text> = draws
        .beyond_corners
        .iter()
        .map(|beyond| Text::from(beyond_words(beyond)))
        .collect();
    notes.extend(draws.notes.iter().map(Text::from));
    section.list(notes);
    for sensitivity in result.sensitivity.iter().flatten().take(SENSITIVE) {
        section.figure(&figures::sensitivity(sensitivity));
        section.table(axes(sensitivity));
    }
    Some(section)
}

fn checks(draws: &DrawsResult) -> Table {
    let mut table = Table::new(say::DRAWN_TABLE)
        .text(head::CHECK, 2)
        .text(head::STRESS, 1)
        .text(head::ELEMENT, 1)
        .numbers(head::FAILS)
        .text(head::PROBABILITY, 2)
        .numbers(head::WORST)
        .numbers(head::P05)
        .numbers(head::P50)
        .numbers(head::P95);
    for check in worth_showing(draws, false) {
        let margin = |margin: Option<f64>| Cell::number(margin.map(percent).unwrap_or_default(), "");
        let tone = match check {
            check if check.failures > 0 => Tone::Fail,
            check if check.unknown > 0 => Tone::Unknown,
            _ => Tone::Plain,
        };
        table.row(vec![
            Cell::words(check.check),
            Cell::words(check.stress.as_deref().unwrap_or("–")),
            Cell::words(&check.element),
            Cell {
                tone,
                ..Cell::number(check.failures.to_string(), "")
            },
            Cell::words(probability(check)),
            margin(check.worst_margin),
            margin(check.margin_p05),
            margin(check.margin_p50),
            margin(check.margin_p95),
        ]);
    }
    table
}

fn axes(of: &Sensitivity) -> Table {
    let place = place(of.check, of.stress.as_deref(), &of.element);
    let mut table = Table::new(say::sensitivity_table(&place, &percent(of.margin), of.draw))
        .text(head::TOLERANCE, 1)
        .text(head::OF, 2)
        .numbers(head::LOW_END)
        .numbers(head::HIGH_END)
        .numbers(head::SWING)
        .numbers(head::RANK);
    for axis in of.axes.iter().take(AXES) {
        let share = |share: Option<f64>| match share {
            Some(share) => Cell::number(percent(share), "%"),
            None => Cell::number("?", ""),
        };
        table.row(vec![
            Cell::words(&axis.axis),
            Cell::words(&axis.what),
            share(axis.margin_low),
            share(axis.margin_high),
            share(axis.swing),
            Cell::number(rank_words(axis.rank_correlation), ""),
        ]);
    }
    table
}
