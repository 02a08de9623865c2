//! What the paths on the board cost.

use tidewall_assess::paths::PathCost;
use tidewall_study::Study;
use tidewall_units::{Henries, Quantity, Volts};

use super::protection::quantity;
use crate::document::{Cell, Section, Table};
use crate::english as say;
use crate::english::head;
use crate::gather::Material;

/// Share of the peak below which a path does not count.
const COUNTS: f64 = 0.01;

pub fn section(_study: &Study, material: &Material) -> Section {
    let mut section = Section::new("layout", say::LAYOUT);
    if material.paths.is_empty() {
        section.paragraph(say::NO_LEADS);
        return section;
    }
    section.paragraph(say::LAYOUT_TEXT);
    let mut table = Table::new(say::LAYOUT_TABLE)
        .text(head::STRESS, 1)
        .text(head::STAGE, 1)
        .numbers(head::PATH)
        .numbers(head::NOW)
        .numbers(head::WITH_MORE)
        .numbers(head::COSTS);
    for lead in &material.paths {
        table.row(vec![
            Cell::words(&lead.stress),
            Cell::words(&lead.stage),
            quantity(Henries(lead.lead_h)),
            quantity(Volts(lead.pin_v)),
            quantity(Volts(lead.with_more_v)),
            cost(lead),
        ]);
    }
    section.table(table);
    let dearest = material
        .paths
        .iter()
        .max_by(|a, b| a.volts().total_cmp(&b.volts()))
        .filter(|lead| lead.volts() > COUNTS * lead.pin_v.abs());
    match dearest {
        Some(lead) => section.paragraph(say::dearest(
            &lead.stage,
            &lead.stress,
            &Volts(lead.volts()).rounded(2),
            &Henries(lead.lead_h).rounded(3),
        )),
        None => section.paragraph(say::NO_PATH_COUNTS),
    }
    section.paragraph(say::MEASURE_PATHS);
    section
}

fn cost(lead: &PathCost) -> Cell {
    let volts = lead.volts();
    // The integration is good to a thousandth of the peak; a difference below that is its noise.
    let noise = 1e-3 * lead.pin_v.abs();
    if volts.abs() < noise {
        let below = quantity(Volts(two_digits(noise)));
        return Cell::number(format!("< {}{}", below.text, below.decimals), below.unit);
    }
    quantity(Volts(two_digits(volts)))
}

fn two_digits(value: f64) -> f64 {
    format!("{value:.1e}").parse().unwrap_or(value)
}
