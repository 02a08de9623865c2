//! The ladder: what stands where, and where its data are from.

use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{Between, InLine, SeriesElement, Stage, Study};
use tidewall_units::{Farads, Henries, Ohms, Quantity};

use crate::document::{Cell, Section, Table};
use crate::english as say;
use crate::english::head;
use crate::figures;

pub fn section(study: &Study) -> Section {
    let mut section = Section::new("protection", say::PROTECTION);
    let mut table = Table::new(say::STAGES_TABLE)
        .text(head::STAGE, 0)
        .text(head::IS, 3)
        .text(head::PLACE, 2)
        .numbers(head::PATH)
        .text(head::DATA_FROM, 2);
    for stage in &study.ladder {
        table.row(row(study, stage));
    }
    section.figure(&figures::ladder(study));
    section.table(table.without_empty());
    section
}

/// A quantity as a number on its decimal point.
pub fn quantity<Q: Quantity>(value: Q) -> Cell {
    let text = value.rounded(4);
    match text.rsplit_once(' ') {
        Some((number, unit)) => Cell::number(number, unit),
        None => Cell::number(&text, ""),
    }
}

fn row(study: &Study, stage: &Stage) -> Vec<Cell> {
    let part = |name: &str| study.parts.get(name);
    match stage {
        Stage::Series(series) => {
            let (is, source) = match &series.element {
                SeriesElement::Part(name) => (
                    with_family(name, part(name)),
                    part(name).map(|part| part.source.to_string()),
                ),
                SeriesElement::Passive {
                    resistance_ohm,
                    inductance_h,
                    ..
                } => (passive(*resistance_ohm, *inductance_h), None),
            };
            let place = match series.in_line {
                InLine::Both if study.port.lines == 1 => say::SERIES,
                InLine::Both => say::SERIES_BOTH,
                InLine::First => say::SERIES_FIRST,
                InLine::Second => say::SERIES_SECOND,
            };
            vec![
                Cell::words(&series.name),
                Cell::words(is),
                Cell::words(place),
                Cell::words(""),
                Cell::words(source.unwrap_or(say::STUDY_FILE.to_owned())),
            ]
        }
        Stage::Shunt(shunt) => {
            let turned = if shunt.reversed { say::REVERSED } else { "" };
            let source = part(&shunt.part).map(|part| part.source.to_string());
            vec![
                Cell::words(&shunt.name),
                Cell::words(with_family(&shunt.part, part(&shunt.part))),
                Cell::words(format!("{}{turned}", between(shunt.between))),
                quantity(Henries(shunt.lead_h)),
                Cell::words(source.unwrap_or_default()),
            ]
        }
        Stage::Capacitor(capacitor) => {
            let esr = Ohms(capacitor.esr_ohm).rounded(3);
            let is = format!(
                "{} {}, {esr}",
                say::CAPACITOR,
                Farads(capacitor.capacitance_f).rounded(3)
            );
            vec![
                Cell::words(&capacitor.name),
                Cell::words(is),
                Cell::words(between(capacitor.between)),
                quantity(Henries(capacitor.lead_h)),
                Cell::words(say::STUDY_FILE),
            ]
        }
    }
}

fn with_family(name: &str, part: Option<&Datasheet>) -> String {
    match part {
        Some(part) => format!("{name}, {}", part.family),
        None => name.to_owned(),
    }
}

fn passive(ohm: f64, henry: f64) -> String {
    let mut words = vec![say::TRACK.to_owned()];
    if ohm > 0.0 {
        words.push(Ohms(ohm).rounded(3));
    }
    if henry > 0.0 {
        words.push(Henries(henry).rounded(3));
    }
    words.join(", ")
}

fn between(between: Between) -> &'static str {
    match between {
        Between::LineReturn => say::LINE_RETURN,
        Between::LineLine => say::LINE_LINE,
        Between::EachLineEarth => say::EACH_LINE_EARTH,
        Between::FirstEarth => say::FIRST_EARTH,
        Between::SecondEarth => say::SECOND_EARTH,
    }
}
