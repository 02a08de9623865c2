//! What reaches the pin, stress by stress.

use tidewall_assess::traces::worst_transient;
use tidewall_study::Study;
use tidewall_units::{Amps, Joules, Volts};

use super::energy::elements;
use super::protection::quantity;
use crate::document::{Cell, Section, Table};
use crate::english as say;
use crate::english::head;
use crate::figures;
use crate::gather::Material;
use crate::words::number::corner_words;

pub fn section(study: &Study, material: &Material) -> Section {
    let mut section = Section::new("let-through", say::LET_THROUGH);
    if material.result.transients.is_empty() {
        section.paragraph(say::NO_TRANSIENT);
        return section;
    }
    section.paragraph(say::LET_THROUGH_TEXT);
    let mut table = Table::new(say::LET_THROUGH_TABLE)
        .text(head::STRESS, 0)
        .numbers(head::CONNECTOR)
        .numbers(head::PIN)
        .numbers(head::INTO_PIN)
        .numbers(head::INTO_PORT)
        .text(head::CORNER, 3);
    for case in &study.stresses {
        let Some(worst) = worst_transient(&material.result, &case.id) else {
            continue;
        };
        table.row(vec![
            Cell::words(&case.id),
            quantity(Volts(worst.connector_peak_v)),
            quantity(Volts(worst.pin_peak_v)),
            worst
                .pin_peak_a
                .map_or(Cell::words(""), |amps| quantity(Amps(amps))),
            quantity(Joules(worst.audit.delivered_j)),
            Cell::words(corner_words(&worst.corner)),
        ]);
    }
    section.table(table.without_empty());
    for (number, case) in study.stresses.iter().enumerate() {
        let Some(worst) = worst_transient(&material.result, &case.id) else {
            continue;
        };
        section.heading(format!("{}: {}", case.id, case.disturbance.title));
        let run = material.traces.of(number);
        if let Some(figure) = run.and_then(|run| figures::waveforms_of(study, run)) {
            section.figure(&figure);
        }
        section.table(elements(&case.id, worst));
    }
    section
}
