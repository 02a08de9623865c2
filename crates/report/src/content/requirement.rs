//! What the port carries, what it must survive, and what the circuit behind withstands.

use tidewall_assess::result::Assessment;
use tidewall_stress::catalogue::Sign;
use tidewall_study::{Study, Withstand};
use tidewall_units::{Amps, Ohms, Quantity, Seconds, Volts};

use super::protection::quantity;
use crate::document::{Cell, Section, Table};
use crate::english as say;
use crate::english::head;

pub fn section(study: &Study, result: &Assessment) -> Section {
    let mut section = Section::new("requirement", say::REQUIREMENT);
    let mut port = Table::new(say::REQUIREMENT_TABLE)
        .text(head::WHAT, 2)
        .text(head::VALUE, 2)
        .text(head::ORIGIN, 4);
    // What an origin is about has its own table: stresses below, parts with the ladder.
    let apart = |what: &str| what.starts_with("stress ") || what.starts_with("part ");
    for origin in result.origins.iter().filter(|origin| !apart(&origin.what)) {
        port.row(vec![
            Cell::words(&origin.what),
            Cell::words(&origin.value),
            Cell::words(&origin.origin),
        ]);
    }
    section.table(port);
    section.table(stresses(study));
    withstand(study, &mut section);
    section
}

fn stresses(study: &Study) -> Table {
    let mut table = Table::new(say::STRESS_TABLE)
        .text(head::STRESS, 0)
        .text(head::TEST, 3)
        .numbers(head::OPEN)
        .numbers(head::SHORT)
        .numbers(head::SOURCE)
        .text(head::POLARITY, 0)
        .text(head::COUNT, 0);
    for case in &study.stresses {
        let disturbance = &case.disturbance;
        let polarity = match disturbance.polarities.as_slice() {
            [Sign::Positive] => say::POSITIVE,
            [Sign::Negative] => say::NEGATIVE,
            _ => say::BOTH,
        };
        let count = disturbance.impulses_per_polarity;
        table.row(vec![
            Cell::words(&case.id),
            Cell::words(&disturbance.title),
            quantity(Volts(disturbance.open_circuit_peak_v)),
            quantity(Amps(disturbance.short_circuit_peak_a)),
            quantity(Ohms(disturbance.effective_ohm)),
            Cell::words(polarity),
            Cell::words(count.map_or(say::NOT_KNOWN.to_owned(), |count| count.to_string())),
        ]);
    }
    table
}

fn withstand(study: &Study, section: &mut Section) {
    let pin = &study.pin;
    let mut table = Table::new(say::PIN_TABLE)
        .text(head::WHERE, 3)
        .numbers(head::VOLTAGE)
        .text(head::LASTS, 2);
    let to = if study.port.lines == 2 {
        say::BETWEEN_LINES
    } else {
        say::TO_RETURN
    };
    let lists: [(&str, &[Withstand]); 3] = [
        (to, &pin.withstand),
        (to, &pin.negative_withstand),
        (say::TO_EARTH, &pin.withstand_common),
    ];
    for (place, levels) in lists {
        for level in levels {
            let lasts = if level.lasts_s.is_infinite() {
                say::ANY_TIME.to_owned()
            } else {
                Seconds(level.lasts_s).rounded(3)
            };
            table.row(vec![
                Cell::words(format!("{}, {place}", pin.name)),
                quantity(Volts(level.voltage_v)),
                Cell::words(lasts),
            ]);
        }
    }
    if table.rows.is_empty() {
        section.paragraph(say::PIN_UNKNOWN);
    }
    section.table(table);
}
