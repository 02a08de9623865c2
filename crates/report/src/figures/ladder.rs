//! The ladder as a drawing.

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_plot::Figure;
use tidewall_plot::number::quantity;
use tidewall_plot::schematic::{Ladder, Place, Stage, Symbol};
use tidewall_study::{Between, InLine, SeriesElement, SeriesStage, Stage as StudyStage, Study};

/// The drawing of a study's ladder.
pub fn ladder(study: &Study) -> Figure {
    ladder_of(study).figure("ladder", "The ladder of the port")
}

/// The neutral description that [`ladder`] draws, for pages that mark or extend it.
pub fn ladder_of(study: &Study) -> Ladder {
    let pin = &study.pin;
    let mut pin_values: Vec<String> = pin
        .withstand
        .iter()
        .chain(&pin.negative_withstand)
        .map(|level| {
            let lasts = if level.lasts_s.is_finite() {
                quantity(level.lasts_s, "s", 3)
            } else {
                "any time".to_owned()
            };
            format!("{}, {lasts}", quantity(level.voltage_v, "V", 3))
        })
        .collect();
    if pin_values.is_empty() {
        pin_values.push("withstand unknown".to_owned());
    }
    pin_values.extend(pin.capacitance_f.map(|farads| quantity(farads, "F", 3)));
    Ladder {
        connector: study.port.title.clone(),
        lines: study.port.lines,
        stages: study.ladder.iter().map(|stage| one(study, stage)).collect(),
        pin: pin.name.clone(),
        pin_values,
    }
}

fn one(study: &Study, stage: &StudyStage) -> Stage {
    match stage {
        StudyStage::Series(series) => {
            let (symbol, values, words) = series_of(study, series);
            Stage {
                name: series.name.clone(),
                values,
                symbol,
                place: match series.in_line {
                    InLine::Both => Place::Series,
                    InLine::First => Place::SeriesFirst,
                    InLine::Second => Place::SeriesSecond,
                },
                reversed: false,
                words,
            }
        }
        StudyStage::Shunt(shunt) => {
            let sheet = study.parts.get(&shunt.part);
            let family = sheet.map_or("part without data".to_owned(), |sheet| sheet.family.to_string());
            let sides = match sheet.and_then(|sheet| sheet.bidirectional) {
                Some(true) => "bidirectional ",
                Some(false) => "unidirectional ",
                None => "",
            };
            let mut values = vec![shunt.part.clone()];
            if shunt.lead_h > 0.0 {
                values.push(format!("path {}", quantity(shunt.lead_h, "H", 3)));
            }
            Stage {
                name: shunt.name.clone(),
                values,
                symbol: sheet.map_or(Symbol::Box, shunt_symbol),
                place: across(shunt.between),
                reversed: shunt.reversed,
                words: format!("{sides}{family}"),
            }
        }
        StudyStage::Capacitor(capacitor) => {
            let mut values = vec![quantity(capacitor.capacitance_f, "F", 3)];
            if capacitor.esr_ohm > 0.0 {
                values.push(quantity(capacitor.esr_ohm, "Ω", 3));
            }
            if capacitor.lead_h > 0.0 {
                values.push(quantity(capacitor.lead_h, "H", 3));
            }
            Stage {
                name: capacitor.name.clone(),
                values,
                symbol: Symbol::Capacitor,
                place: across(capacitor.between),
                reversed: false,
                words: "capacitor".to_owned(),
            }
        }
    }
}

fn across(between: Between) -> Place {
    match between {
        Between::LineReturn | Between::EachLineEarth => Place::ShuntReturn,
        Between::LineLine => Place::ShuntBetween,
        Between::FirstEarth => Place::ShuntFirst,
        Between::SecondEarth => Place::ShuntSecond,
    }
}

fn shunt_symbol(sheet: &Datasheet) -> Symbol {
    // Where it is not stated, the symbol of one direction would claim too much.
    let bidirectional = sheet.bidirectional != Some(false);
    match sheet.family {
        Family::Avalanche => Symbol::Avalanche { bidirectional },
        Family::FlatClamp | Family::Snapback => Symbol::FlatClamp { bidirectional },
        Family::Varistor => Symbol::Varistor,
        Family::GasTube => Symbol::GasTube,
        Family::Thyristor => Symbol::Breakover { bidirectional },
        Family::Steering => Symbol::Steering,
        family => part_symbol(family),
    }
}

fn part_symbol(family: Family) -> Symbol {
    match family {
        Family::Resistor => Symbol::Resistor,
        Family::Inductor => Symbol::Inductor,
        Family::Bead => Symbol::Bead,
        Family::Fuse => Symbol::Fuse,
        Family::Ptc => Symbol::Ptc,
        Family::Limiter => Symbol::Limiter,
        _ => Symbol::Box,
    }
}

/// Symbol, values and words of a series element.
fn series_of(study: &Study, series: &SeriesStage) -> (Symbol, Vec<String>, String) {
    match &series.element {
        SeriesElement::Passive {
            resistance_ohm,
            inductance_h,
            saturation_a,
        } => {
            let mut values = Vec::new();
            if *inductance_h > 0.0 {
                values.push(quantity(*inductance_h, "H", 3));
            }
            if *resistance_ohm > 0.0 {
                values.push(quantity(*resistance_ohm, "Ω", 3));
            }
            if let Some(amps) = saturation_a {
                values.push(format!("saturates at {}", quantity(*amps, "A", 3)));
            }
            // A few nanohenries are a piece of track or wire, more is a choke (the bound is a choice of the drawing).
            let (symbol, words) = match (*inductance_h, *resistance_ohm) {
                (0.0, _) => (Symbol::Resistor, "resistance"),
                (henries, _) if henries < 100e-9 => (Symbol::Track, "track or wire"),
                _ => (Symbol::Inductor, "inductance"),
            };
            (symbol, values, words.to_owned())
        }
        SeriesElement::Part(name) => {
            let family = study.parts.get(name).map(|sheet| sheet.family);
            let words = family.map_or("part without data".to_owned(), |family| family.to_string());
            (family.map_or(Symbol::Box, part_symbol), vec![name.clone()], words)
        }
    }
}
