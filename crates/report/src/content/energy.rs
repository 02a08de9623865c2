//! Who absorbs what, and how hot it gets.

use tidewall_assess::result::{Assessment, TransientResult};
use tidewall_study::Study;
use tidewall_units::{Amps, Celsius, Joules, Quantity, Volts};

use super::protection::quantity;
use crate::document::{Cell, Section, Table};
use crate::english as say;
use crate::english::head;
use crate::figures;
use crate::words::number::{corner_words, percent};

/// A share of the largest below which a value is arithmetic.
const NOTHING: f64 = 1e-9;

pub fn section(study: &Study, result: &Assessment) -> Section {
    let mut section = Section::new("energy", say::ENERGY);
    if result.transients.is_empty() {
        section.paragraph(say::NO_TRANSIENT);
    }
    if let Some(figure) = figures::energy(study, result) {
        section.figure(&figure);
    }
    if let Some(figure) = figures::junctions(result) {
        section.figure(&figure);
    }
    section.table(hottest(study, result));
    section
}

/// Who absorbs what in a run.
pub fn elements(stress: &str, run: &TransientResult) -> Table {
    let mut table = Table::new(say::energy_table(stress))
        .text(head::ELEMENT, 2)
        .numbers(head::VOLTAGE)
        .numbers(head::CURRENT)
        .numbers(head::ENERGY)
        .numbers(head::SHARE)
        .numbers(head::JUNCTION);
    let total: f64 = run.elements.iter().map(|element| element.energy_j.max(0.0)).sum();
    let strongest = run
        .elements
        .iter()
        .map(|element| element.peak_a)
        .fold(0.0, f64::max);
    for element in &run.elements {
        let share = (total > 0.0).then(|| percent(element.energy_j.max(0.0) / total));
        table.row(vec![
            Cell::words(&element.name),
            above::<Volts>(element.peak_v, run.connector_peak_v),
            above::<Amps>(element.peak_a, strongest),
            above::<Joules>(element.energy_j, total),
            Cell::number(
                share.as_deref().unwrap_or_default(),
                share.as_ref().map_or("", |_| "%"),
            ),
            element
                .peak_junction_c
                .map_or(Cell::words(""), |c| quantity(Celsius(c))),
        ]);
    }
    table.without_empty()
}

/// A value; one that is arithmetic beside the largest is told as below that bound.
fn above<Q: Quantity>(value: f64, largest: f64) -> Cell {
    let bound = NOTHING * largest;
    // Adding zero turns a negative zero into zero.
    if value == 0.0 || value.abs() >= bound {
        return quantity(Q::from_si(value + 0.0));
    }
    let text = Q::from_si(bound).rounded(1);
    let (number, unit) = text.rsplit_once(' ').unwrap_or((&text, ""));
    Cell::number(format!("< {number}"), unit)
}

/// Of each element with a thermal model the hottest junction over all corners and stresses.
fn hottest(study: &Study, result: &Assessment) -> Table {
    let mut table = Table::new(say::HOTTEST_TABLE)
        .text(head::ELEMENT, 1)
        .numbers(head::JUNCTION)
        .numbers(head::ENERGY)
        .text(head::STRESS, 1)
        .text(head::CORNER, 4);
    let mut found: Vec<(&TransientResult, usize, f64)> = Vec::new();
    for run in &result.transients {
        for (k, element) in run.elements.iter().enumerate() {
            let Some(junction) = element.peak_junction_c else {
                continue;
            };
            let known = found
                .iter_mut()
                .find(|other| other.0.elements[other.1].name == element.name);
            match known {
                Some(other) if junction > other.2 => *other = (run, k, junction),
                Some(_) => {}
                None => found.push((run, k, junction)),
            }
        }
    }
    let order = |name: &str| {
        let mut stages = study.ladder.iter();
        stages.position(|stage| name == stage.name() || name.starts_with(&format!("{} ", stage.name())))
    };
    found.sort_by_key(|(run, k, _)| order(&run.elements[*k].name));
    for (run, k, junction) in found {
        let element = &run.elements[k];
        table.row(vec![
            Cell::words(&element.name),
            quantity(Celsius(junction)),
            quantity(Joules(element.energy_j)),
            Cell::words(&run.stress),
            Cell::words(corner_words(&run.corner)),
        ]);
    }
    table
}
