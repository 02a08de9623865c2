//! The laboratory test in short; `tidewall plan` has it shot by shot.

use tidewall_assess::plan::{PlaceKind, Reading, ShotGroup, StressTest, TestPlan};
use tidewall_assess::result::Polarity;
use tidewall_units::{Quantity, Volts};

use super::protection::quantity;
use crate::document::{Block, Cell, Section, Table, Text};
use crate::english as say;
use crate::english::head;
use crate::words::number::in_one_unit;
use crate::words::plan::{count, duration, level, levels, marked};

pub fn section(plan: &TestPlan) -> Section {
    let mut section = Section::new("lab", say::LAB);
    section.paragraph(say::LAB_TEXT);
    for test in &plan.tests {
        section.heading(format!("{}: {}", test.stress, test.title));
        section.blocks.push(Block::Terms(terms(test)));
    }
    section.table(shots(plan));
    if let (Some(shots), Some(lasts_s)) = (plan.shots, plan.lasts_s) {
        section.paragraph(say::all_shots(&shots.to_string(), &duration(lasts_s)));
    }
    section.table(health(plan));
    section.heading(say::STOP);
    section.list(plan.stop.iter().map(|note| Text::from(marked(note))).collect());
    section
}

fn terms(test: &StressTest) -> Vec<(String, Text)> {
    let mut terms = vec![
        (say::LEVELS, levels(test)),
        (say::STATES, test.states.join("; ")),
        (say::COUNT, count(test)),
        (say::ACCEPTED, test.criterion.clone()),
    ];
    if let Some(volts) = test.connector_probe_v {
        terms.push((say::PROBE, say::probe(&Volts(volts).rounded(3))));
    }
    let terms = terms.into_iter();
    terms
        .map(|(label, text)| (label.to_owned(), Text::from(text)))
        .collect()
}

/// The reading at the pin with the largest peak.
fn at_pin(group: &ShotGroup) -> Option<&Reading> {
    let pins = group.readings.iter().rev();
    let pins = pins.filter(|reading| reading.kind == PlaceKind::Pin && reading.unit == "V");
    pins.max_by(|a, b| a.peak.typical.abs().total_cmp(&b.peak.typical.abs()))
}

/// Shots at the required level with the peak to expect.
fn shots(plan: &TestPlan) -> Table {
    let mut table = Table::new(say::LAB_TABLE)
        .numbers(head::NUMBER)
        .text(head::STRESS, 1)
        .numbers(head::LEVEL)
        .text(head::POINT, 2)
        .text(head::POLARITY, 0)
        .numbers(head::STATE)
        .numbers(head::SHOTS)
        .numbers(head::PEAK)
        .numbers(head::FROM)
        .numbers(head::TO);
    for test in &plan.tests {
        for group in test.groups.iter().filter(|group| group.level == test.level) {
            let sign = match group.polarity {
                Polarity::Positive => say::POSITIVE,
                Polarity::Negative => say::NEGATIVE,
            };
            let text = level(group.level, test.unit);
            let (number, unit) = text.rsplit_once(' ').unwrap_or((&text, ""));
            let mut row = vec![
                Cell::number(group.number.to_string(), ""),
                Cell::words(&test.stress),
                Cell::number(number, unit),
                Cell::words(&group.point),
                Cell::words(sign),
                group
                    .supply_v
                    .map_or(Cell::words(say::UNPOWERED), |volts| quantity(Volts(volts))),
                Cell::number(group.shots.map_or("?".to_owned(), |shots| shots.to_string()), ""),
            ];
            match at_pin(group) {
                Some(reading) => {
                    let peak = &reading.peak;
                    let (texts, unit) =
                        in_one_unit(&[Some(peak.typical), Some(peak.low), Some(peak.high)], "V");
                    row.extend(texts.iter().map(|text| Cell::number(text, &unit)));
                }
                None => row.extend([Cell::number("?", ""), Cell::words(""), Cell::words("")]),
            }
            table.row(row);
        }
    }
    table.without_empty()
}

fn health(plan: &TestPlan) -> Table {
    let mut table = Table::new(say::HEALTH_TABLE)
        .text(head::ELEMENT, 0)
        .text(head::PART, 0)
        .text(head::QUANTITY, 2)
        .numbers(head::AT_LEAST)
        .numbers(head::AT_MOST)
        .text(head::LIMITS_FROM, 3);
    for check in &plan.health {
        let (texts, unit) = in_one_unit(&[check.lowest, check.highest], check.unit);
        let number = |k: usize| {
            let unit = if texts[k].is_empty() { "" } else { unit.as_str() };
            Cell::number(&texts[k], unit)
        };
        let nothing = check.lowest.is_none() && check.highest.is_none();
        table.row(vec![
            Cell::words(&check.element),
            Cell::words(&check.part),
            Cell::words(&check.quantity),
            number(0),
            if nothing { Cell::number("?", "") } else { number(1) },
            Cell::words(&check.note),
        ]);
    }
    table.without_empty()
}
