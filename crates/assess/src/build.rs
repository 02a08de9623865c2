//! From a study to the port of the `ladder` crate, at one corner.

use tidewall_devices::build::{Assumption, MissingDatum};
use tidewall_devices::datasheet::{Datasheet, Family, PartCorner};
use tidewall_devices::law::{Law, PinClamp};
use tidewall_devices::{Protector, ThermalLadder};
use tidewall_ladder::{
    Across, Capacitor, Conductor, Inductance, Pin, Port, Series, SeriesKind, Shunt, Stage, Steering, Supply,
};
use tidewall_study::{
    Across as LevelAcross, Between, InLine, SeriesElement, SeriesStage, ShuntStage, Stage as StudyStage,
    Study,
};

use crate::corners::source_ohm;
use crate::result::PartSet;
use crate::text;

/// Impedance in ohms of board tracks where the study gives none (usual microstrip, common practice, no source).
pub const TRACK_OHM: f64 = 75.0;
/// Loss tangent of glass-epoxy laminate near 1 GHz (usual value, from memory).
pub const LOSS_TANGENT: f64 = 0.02;
/// Inductance in henries between the port and its own source where the test has no decoupling network: a metre of
/// cable (common practice, no source).
pub const CABLE_H: f64 = 1e-6;
/// Rounding in volts of the corners of a pin's conduction (numerical choice).
const PIN_KNEE_V: f64 = 0.02;
/// Capacitance in farads of a pin's own conduction where the study gives it a capacitance of its own.
const PIN_JUNCTION_F: f64 = 0.5e-12;

/// A port with the assumptions that its models needed.
#[derive(Clone, Debug)]
pub struct BuiltPort {
    /// The port.
    pub port: Port,
    /// Assumptions in words, without repeats.
    pub assumptions: Vec<String>,
    /// Rise in kelvins that each shunt's own pulse rating means in its thermal model; `None` where it has neither.
    pub rated_rises_k: Vec<(String, Option<f64>)>,
}

/// Names of the protectors that a shunt of the study becomes, with the conductors they stand between.
pub fn shunt_places(study: &Study, shunt: &ShuntStage) -> Vec<(String, Across)> {
    places(study, &shunt.name, shunt.between)
}

/// Names and conductors of what stands `between` conductors under one name.
pub fn places(study: &Study, name: &str, between: Between) -> Vec<(String, Across)> {
    let first = Across::ToReturn(Conductor::First);
    let second = Across::ToReturn(Conductor::Second);
    let name = name.to_owned();
    match between {
        Between::LineReturn | Between::FirstEarth => vec![(name, first)],
        Between::SecondEarth => vec![(name, second)],
        Between::LineLine => vec![(name, Across::LineToLine)],
        Between::EachLineEarth if study.port.lines == 2 => {
            vec![
                (format!("{name} (line 1)"), first),
                (format!("{name} (line 2)"), second),
            ]
        }
        Between::EachLineEarth => vec![(name, first)],
    }
}

/// Names of the elements that a series stage becomes, with their conductors.
pub fn series_places(study: &Study, series: &SeriesStage) -> Vec<(String, Conductor)> {
    let name = series.name.clone();
    match series.in_line {
        InLine::Second => vec![(name, Conductor::Second)],
        InLine::Both if study.port.lines == 2 => vec![
            (format!("{name} (line 1)"), Conductor::First),
            (format!("{name} (line 2)"), Conductor::Second),
        ],
        InLine::First | InLine::Both => vec![(name, Conductor::First)],
    }
}

/// On which line of a pair (0 or 1) something stands; what stands between the lines counts as on the first.
pub fn line_of(across: Across) -> usize {
    match across {
        Across::ToReturn(Conductor::Second) => 1,
        _ => 0,
    }
}

/// The tolerance corner of one protector within a set.
fn corner_of(set: PartSet, across: Across, last_shunt: bool) -> PartCorner {
    let low = match set {
        PartSet::Typical => return PartCorner::Typical,
        // A specimen has one model: its corners are the same.
        PartSet::Drawn | PartSet::Low => true,
        PartSet::High => false,
        PartSet::Crossed => last_shunt,
        PartSet::UnlikeLines => across == Across::ToReturn(Conductor::First),
        PartSet::UnlikeLinesMirrored => across == Across::ToReturn(Conductor::Second),
    };
    if low { PartCorner::Low } else { PartCorner::High }
}

/// Builds the unpowered port of a study at an ambient in °C with parts of one set.
pub fn port(study: &Study, ambient_c: f64, set: PartSet) -> Result<BuiltPort, MissingDatum> {
    let mut notes = Vec::new();
    let mut stages = Vec::new();
    let mut rated_rises_k = Vec::new();
    let last_shunt = study
        .ladder
        .iter()
        .rposition(|stage| matches!(stage, StudyStage::Shunt(_)));
    for (index, stage) in study.ladder.iter().enumerate() {
        match stage {
            StudyStage::Series(series) => {
                let (kind, assumed) = series_kind(study, series)?;
                notes.extend(assumed);
                for (name, conductor) in series_places(study, series) {
                    stages.push(Stage::Series(Box::new(Series {
                        name,
                        conductor,
                        kind: kind.clone(),
                    })));
                }
            }
            StudyStage::Capacitor(capacitor) => {
                for (name, across) in places(study, &capacitor.name, capacitor.between) {
                    stages.push(Stage::Capacitor(Capacitor {
                        name,
                        across,
                        capacitance_f: capacitor.capacitance_f,
                        esr_ohm: capacitor.esr_ohm,
                        lead_h: capacitor.lead_h,
                    }));
                }
            }
            StudyStage::Shunt(shunt) => {
                let last = last_shunt == Some(index);
                rated_rises_k.extend(push_shunt(
                    study,
                    shunt,
                    set,
                    last,
                    ambient_c,
                    &mut stages,
                    &mut notes,
                )?);
            }
        }
    }
    notes.sort();
    notes.dedup();
    let port = Port {
        conductors: study.port.lines,
        stages,
        pin: pin(study),
        supply: None,
        ambient_c,
        track_ohm: study.board_impedance_ohm.unwrap_or(TRACK_OHM),
        loss_tangent: LOSS_TANGENT,
    };
    Ok(BuiltPort {
        port,
        assumptions: notes,
        rated_rises_k,
    })
}

/// The port's own supply at a working voltage; `None` where there is none, or its source is not known.
pub fn supply(study: &Study, volts: Option<f64>) -> Option<Supply> {
    Some(Supply {
        volts: volts?,
        source_ohm: source_ohm(study)?,
        cable_h: CABLE_H,
        on_both: study.port.working_across == LevelAcross::LineEarth,
    })
}

fn push_shunt(
    study: &Study,
    shunt: &ShuntStage,
    set: PartSet,
    last: bool,
    ambient_c: f64,
    stages: &mut Vec<Stage>,
    notes: &mut Vec<String>,
) -> Result<Vec<(String, Option<f64>)>, MissingDatum> {
    let mut rises = Vec::new();
    let sheet = &study.parts[&shunt.part];
    for (name, across) in shunt_places(study, shunt) {
        if sheet.family == Family::Steering {
            if let Across::ToReturn(conductor) = across {
                stages.push(Stage::Steering(Box::new(steering(
                    sheet,
                    name,
                    conductor,
                    shunt.lead_h,
                    notes,
                )?)));
            }
            continue;
        }
        let corner = corner_of(set, across, last);
        let built = match set {
            PartSet::Drawn => sheet.on_line(line_of(across)).protector(corner, ambient_c)?,
            _ => sheet.protector(corner, ambient_c)?,
        };
        notes.extend(
            built
                .assumptions
                .iter()
                .map(|assumed| sentence(&sheet.name, assumed)),
        );
        rises.push((name.clone(), built.rated_rise_k));
        stages.push(Stage::Shunt(Box::new(Shunt {
            name,
            across,
            protector: built.protector,
            lead_h: shunt.lead_h,
            reversed: shunt.reversed,
        })));
    }
    Ok(rises)
}

/// An assumption of a part's model as a sentence. What the models assume ends in its unit ("turn-on time in s").
fn sentence(part: &str, assumed: &Assumption) -> String {
    type Print = fn(f64) -> String;
    let units: [(&str, Print); 7] = [
        (" in V", text::volts),
        (" in A", text::amps),
        (" in s", text::seconds),
        (" in Ω", text::ohms),
        (" in F", text::farads),
        (" in H", text::henries),
        (" in 1/K", text::per_kelvin),
    ];
    let known = units
        .iter()
        .find_map(|(ending, print)| Some((assumed.what.strip_suffix(ending)?, print)));
    let (what, value) = match known {
        Some((what, print)) => (what, print(assumed.value)),
        None => (assumed.what, format!("{}", assumed.value)),
    };
    format!("{part}: {what} taken as {value} ({})", assumed.why)
}

fn steering(
    sheet: &Datasheet,
    name: String,
    conductor: Conductor,
    lead_h: f64,
    notes: &mut Vec<String>,
) -> Result<Steering, MissingDatum> {
    let model = sheet.steering()?;
    notes.extend(
        model
            .assumptions
            .iter()
            .map(|assumed| sentence(&sheet.name, assumed)),
    );
    let clamp = Protector {
        law: Law::Avalanche(model.rail_clamp),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    };
    Ok(Steering {
        name,
        conductor,
        // The two diodes of one array are alike; the second stands from return to line.
        to_rail: model.diode,
        from_return: model.diode,
        lead_h,
        rail_f: model.rail_f,
        rail_v: model.rail_v,
        // The rail's clamp sits beside the diodes: the same path length again.
        rail_clamp: Some((clamp, lead_h)),
    })
}

fn series_kind(study: &Study, series: &SeriesStage) -> Result<(SeriesKind, Vec<String>), MissingDatum> {
    let plain = |resistance_ohm: f64, inductance: Inductance| SeriesKind::Plain {
        resistance_ohm,
        inductance,
    };
    let name = match &series.element {
        SeriesElement::Passive {
            resistance_ohm,
            inductance_h,
            saturation_a,
        } => {
            let inductance = Inductance {
                henries: *inductance_h,
                saturation_a: *saturation_a,
            };
            return Ok((plain(*resistance_ohm, inductance), Vec::new()));
        }
        SeriesElement::Part(name) => name,
    };
    let sheet = &study.parts[name];
    let package = Inductance::linear(sheet.package_h.unwrap_or(0.0));
    let kind = match sheet.family {
        Family::Inductor => {
            let model = sheet.inductor()?;
            let saturation_a = model.saturation_a.is_finite().then_some(model.saturation_a);
            plain(
                model.winding_ohm,
                Inductance {
                    henries: model.inductance_h,
                    saturation_a,
                },
            )
        }
        Family::Bead => {
            let model = sheet.bead()?;
            let saturation_a = model.saturation_a.is_finite().then_some(model.saturation_a);
            SeriesKind::Bead {
                winding_ohm: model.winding_ohm,
                inductance: Inductance {
                    henries: model.inductance_h,
                    saturation_a,
                },
                loss_ohm: model.parallel_ohm,
            }
        }
        Family::Fuse => plain(sheet.fuse()?.resistance_ohm, package),
        Family::Ptc => plain(sheet.ptc()?.resistance_ohm, package),
        Family::Limiter => {
            let built = sheet.limiter()?;
            let notes = built
                .assumptions
                .iter()
                .map(|assumed| sentence(name, assumed))
                .collect();
            let protector = Protector {
                law: built.model,
                // Contact resistance keeps the limiter's own capacitance apart from the node.
                series_ohm: 1e-3,
                package_h: 0.0,
                thermal: ThermalLadder::default(),
            };
            return Ok((
                SeriesKind::Device {
                    protector,
                    lead_h: sheet.package_h.unwrap_or(0.0),
                },
                notes,
            ));
        }
        // A resistor, and whatever else is put in the line by its resistance.
        _ => plain(sheet.resistor_ohm()?, package),
    };
    Ok((kind, Vec::new()))
}

fn pin(study: &Study) -> Pin {
    let pin = &study.pin;
    let conduction = (pin.positive_conduction.is_some() || pin.negative_conduction.is_some()).then(|| {
        // A side that is not given does not conduct: a threshold far away.
        let side = |side: Option<tidewall_study::Conduction>| {
            side.map_or((1e6, 1.0), |side| (side.threshold_v.abs(), side.resistance_ohm))
        };
        let (positive_v, positive_ohm) = side(pin.positive_conduction);
        let (negative_v, negative_ohm) = side(pin.negative_conduction);
        PinClamp {
            positive_v,
            positive_ohm,
            negative_v,
            negative_ohm,
            knee_v: PIN_KNEE_V,
            c_f: PIN_JUNCTION_F,
        }
    });
    Pin {
        capacitance_f: pin.capacitance_f.unwrap_or(0.0),
        esr_ohm: pin.esr_ohm.unwrap_or(0.0),
        conduction,
    }
}
