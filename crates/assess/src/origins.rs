//! Where a study's values come from, what was assumed, and the words of caution.

use tidewall_devices::datasheet::Family;
use tidewall_study::{PortKind, Stage, Study};

use crate::build;
use crate::corners::source_ohm;
use crate::result::{OriginResult, PartSet, WindowResult};
use crate::text::{amps, celsius, farads, ohms, volts};

/// The walls of the design window and the short-circuit current of each stress.
pub fn window(study: &Study) -> WindowResult {
    WindowResult {
        must_not_conduct_v: study
            .port
            .must_not_conduct_v
            .as_ref()
            .map(|levels| levels.value.high),
        withstand_v: study.pin.withstand.last().map(|level| level.voltage_v),
        stress_currents_a: study
            .stresses
            .iter()
            .map(|case| (case.id.clone(), case.disturbance.short_circuit_peak_a))
            .collect(),
    }
}

/// Every value of the port with its origin, then the sources of each stress and of the parts out of the parts library.
pub fn origins(study: &Study) -> Vec<OriginResult> {
    let port = &study.port;
    let mut list = Vec::new();
    let mut add = |what: &str, value: String, origin: String| {
        list.push(OriginResult {
            what: what.to_owned(),
            value,
            origin,
        });
    };
    if let Some(v) = &port.working_v {
        add(
            "working voltage",
            format!("{} to {}", volts(v.value.low), volts(v.value.high)),
            v.origin.to_string(),
        );
    }
    if let Some(v) = &port.must_not_conduct_v {
        add(
            "must not conduct",
            format!("{} to {}", volts(v.value.low), volts(v.value.high)),
            v.origin.to_string(),
        );
    }
    if let Some(v) = &port.must_not_conduct_between_v {
        let text = format!("{} to {}", volts(v.value.low), volts(v.value.high));
        add("must not conduct between the lines", text, v.origin.to_string());
    }
    for level in &port.abnormal {
        let text = format!(
            "{} for {}",
            volts(level.value.level_v),
            crate::text::seconds(level.value.lasts_s)
        );
        add("abnormal level", text, level.origin.to_string());
    }
    if let Some(v) = &port.source_a {
        add("source current", amps(v.value), v.origin.to_string());
    }
    if let Some(v) = &port.source_ohm {
        add("source resistance", ohms(v.value), v.origin.to_string());
    }
    let ambient = &port.ambient_c;
    let text = format!(
        "{} to {}",
        celsius(ambient.value.low),
        celsius(ambient.value.high)
    );
    add("ambient", text, ambient.origin.to_string());
    if let Some(v) = &port.capacitance_limit_f {
        add("capacitance limit", farads(v.value), v.origin.to_string());
    }
    if let Some(v) = &port.leakage_limit_a {
        add("leakage limit", amps(v.value), v.origin.to_string());
    }
    for case in &study.stresses {
        for note in &case.disturbance.sources {
            let mark = mark(note.mark);
            let origin = if note.source.contains(mark) {
                note.source.clone()
            } else {
                format!("{} ({mark})", note.source)
            };
            add(
                &format!("stress {}: {}", case.id, note.what),
                case.disturbance.title.clone(),
                origin,
            );
        }
    }
    for name in &study.library_parts {
        if let Some(sheet) = study.parts.get(name) {
            let origin = format!("parts library: {}", sheet.source);
            add(&format!("part {name}"), sheet.family.to_string(), origin);
        }
    }
    list
}

/// How well a number is known, in words.
pub(crate) fn mark(mark: tidewall_stress::catalogue::Mark) -> &'static str {
    use tidewall_stress::catalogue::Mark;
    match mark {
        Mark::Seen => "source",
        Mark::Memory => "from memory",
        Mark::Derived => "derived",
        Mark::CommonPractice => "common practice, no source",
    }
}

/// What the models and the reader assumed, in words.
pub fn assumptions(study: &Study) -> Vec<String> {
    let mut list = study.assumptions.clone();
    let hot = study.port.ambient_c.value.high;
    for set in [PartSet::Low, PartSet::High] {
        if let Ok(built) = build::port(study, hot, set) {
            list.extend(built.assumptions);
        }
    }
    if study.board_impedance_ohm.is_none() {
        list.push(format!(
            "board: tracks of {} give each node its capacitance (common practice, no source; key `impedance` of [board])",
            ohms(build::TRACK_OHM)
        ));
    }
    if study.port.source_ohm.is_none()
        && let Some(ohm) = source_ohm(study)
    {
        list.push(format!(
            "port: source taken as its highest working voltage behind {} (from its source current)",
            ohms(ohm)
        ));
    }
    let mut seen = Vec::new();
    list.retain(|line| {
        let fresh = !seen.contains(line);
        if fresh {
            seen.push(line.clone());
        }
        fresh
    });
    list
}

/// Words of caution that this study needs.
pub fn cautions(study: &Study) -> Vec<String> {
    let mut list = vec![
        "A calculated pass is not a certified pass: the laboratory test decides.".to_owned(),
        "Surge and discharge generators and charged capacitors can kill; tests belong in trained hands."
            .to_owned(),
    ];
    if study.port.kind == PortKind::Ac {
        list.push("Mains and transformer circuits belong to licensed people under local codes.".to_owned());
    }
    let lightning = [
        "IEC 61000-4-5",
        "ITU-T K.20",
        "ITU-T K.21",
        "ITU-T K.45",
        "GR-1089",
    ];
    let outdoors = study
        .stresses
        .iter()
        .any(|case| lightning.contains(&case.disturbance.standard));
    let tube = study.ladder.iter().any(
        |stage| matches!(stage, Stage::Shunt(shunt) if study.parts[&shunt.part].family == Family::GasTube),
    );
    if outdoors || tube {
        list.push("Lightning protection of a site, its earthing and bonding follow local codes and licensed practice.".to_owned());
    }
    list
}
