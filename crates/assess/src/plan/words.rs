//! What to write down, to record, and when to stop.

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_study::{Stage, StressCase, Study};

use super::LAB_C;
use super::result::{HealthCheck, Noted};
use crate::build::shunt_places;
use crate::checks::standing::{as_seen, is_symmetrical, leakage_a, leakage_v, must_not_conduct};
use crate::origins;
use crate::text::{amps, celsius, seconds, volts};

/// Read in a source that was at hand.
pub(super) const SOURCE: &str = "source";
/// Recalled, not read again.
pub(super) const MEMORY: &str = "from memory";
/// Worked out.
pub(super) const DERIVED: &str = "derived";
/// Common practice.
pub(super) const PRACTICE: &str = "common practice, no source";

pub(super) fn noted(text: impl Into<String>, mark: &'static str) -> Noted {
    Noted {
        text: text.into(),
        mark,
    }
}

/// The criteria of the basic standards in general words.
const CRITERIA: [(&str, &str); 3] = [
    ("A", "normal performance during and after the test"),
    (
        "B",
        "temporary degradation or loss that ends by itself, no loss of data",
    ),
    ("C", "temporary loss that an operator or a reset ends"),
];

/// The acceptance criterion of a stress: the study's, with the meaning of its letter, or to be agreed.
pub(super) fn criterion(case: &StressCase) -> String {
    let Some(own) = case.criterion.as_deref().map(str::trim) else {
        return "to be agreed".to_owned();
    };
    let known = CRITERIA.iter().find(|(letter, _)| *letter == own);
    known.map_or_else(
        || own.to_owned(),
        |(letter, meaning)| format!("{letter}: {meaning}"),
    )
}

/// Stresses whose criterion is to be agreed, as one line.
pub(super) fn to_agree(study: &Study) -> Vec<String> {
    let open = study.stresses.iter().filter(|case| case.criterion.is_none());
    let ids: Vec<&str> = open.map(|case| case.id.as_str()).collect();
    if ids.is_empty() {
        return Vec::new();
    }
    let criteria = CRITERIA.map(|(letter, meaning)| format!("{letter}: {meaning}"));
    vec![format!(
        "acceptance criterion of {} (key `criterion` of the stress). Write down the functions that are watched and how, the \
         deviation that is still performance, how long recovery may take and whether by itself. {}",
        ids.join(", "),
        criteria.join(". ")
    )]
}

/// What to measure on each protector, with the limits that its data give at the laboratory's temperature.
pub(super) fn health(study: &Study) -> Vec<HealthCheck> {
    let mut list = Vec::new();
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        let sheet = &study.parts[&shunt.part];
        for (element, across) in shunt_places(study, shunt) {
            let check = |quantity: String, unit, lowest, highest, note: String| HealthCheck {
                element: element.clone(),
                part: shunt.part.clone(),
                quantity,
                unit,
                lowest,
                highest,
                note,
            };
            match must_not_conduct(study, across) {
                Some(levels) => {
                    let seen = as_seen(levels.value, shunt.reversed);
                    let at_v = leakage_v(sheet, seen);
                    let highest = leakage_a(sheet, seen, LAB_C);
                    let note = match (highest, sheet.family) {
                        (Some(_), Family::GasTube) => {
                            "10 GΩ, as any family of tubes (from memory)".to_owned()
                        }
                        (Some(_), _) => format!("part at {} ({})", celsius(LAB_C), sheet.source),
                        (None, _) => format!(
                            "not known: leakage of `{}` at or above {}",
                            sheet.name,
                            volts(at_v)
                        ),
                    };
                    let ways = if is_symmetrical(sheet) {
                        ", both polarities"
                    } else {
                        ""
                    };
                    list.push(check(
                        format!("leakage at {}{ways}", volts(at_v)),
                        "A",
                        None,
                        highest,
                        note,
                    ));
                }
                None => list.push(check(
                    "leakage".to_owned(),
                    "A",
                    None,
                    None,
                    "not known: the port's `must_not_conduct` level, at which it is measured".to_owned(),
                )),
            }
            let (lowest, highest) = (sheet.breakdown_v.min, sheet.breakdown_v.max);
            if lowest.is_some() || highest.is_some() {
                list.push(check(
                    breakdown(sheet),
                    "V",
                    lowest,
                    highest,
                    format!("part at {} ({})", celsius(LAB_C), sheet.source),
                ));
            }
        }
    }
    list
}

fn breakdown(sheet: &Datasheet) -> String {
    let what = match sheet.family {
        Family::GasTube => "direct spark-over voltage",
        Family::Thyristor => "breakover voltage",
        Family::FlatClamp | Family::Snapback => "trigger voltage",
        _ => "breakdown voltage",
    };
    match (sheet.family, sheet.breakdown_at_a) {
        (Family::GasTube, _) | (_, None) => what.to_owned(),
        (_, Some(current_a)) => format!("{what} at {}", amps(current_a)),
    }
}

/// What to write down before the first shot.
pub(super) fn before() -> Vec<Noted> {
    [
        "drawing of the set-up: reference plane, distances, cable lengths, earth of the port and of every probe",
        "generator, coupling network, probes, shunts and oscilloscope with their numbers and dates of calibration",
        "specimen: number, revision, serial number, date codes of the protectors; spare specimens",
        "climate: temperature, humidity, air pressure at the beginning and at the end",
        "supply of the port: voltage, current limit, and the current it takes before the first shot",
        "verification of the generator as tabled with each test, before the specimen is connected",
        "one shot into the connected probes with the coupling open: what they pick up is no signal",
    ]
    .map(|text| noted(text, PRACTICE))
    .into()
}

/// What to record at each shot.
pub(super) fn record(study: &Study) -> Vec<Noted> {
    let mut list = vec![
        noted(
            "number of the group and of the shot, time, set level, polarity, phase angle",
            PRACTICE,
        ),
        noted(
            "waveforms: voltage at the connector, current of each shunt protector and voltage across it, voltage at the \
             pin; save them as samples, with the settings",
            PRACTICE,
        ),
        noted(
            "what the equipment did: function by function, until it has recovered",
            PRACTICE,
        ),
        noted(
            "current from the supply before the shot and one second after: a protector that goes on conducting shows \
             there",
            PRACTICE,
        ),
        noted(
            "after each group: the measurements on the protectors, as tabled",
            PRACTICE,
        ),
        noted(
            "after each level: what is to be seen: cracks, discoloured board, solder, smell, sound",
            PRACTICE,
        ),
    ];
    if study.pin.positive_conduction.is_none() && study.pin.negative_conduction.is_none() {
        list.push(noted(
            "current into the pin, if it can be reached: none is predicted, because the study does not say where the pin \
             conducts",
            PRACTICE,
        ));
    }
    list
}

/// When to stop.
pub(super) fn stop(study: &Study) -> Vec<Noted> {
    let mut list = vec![
        noted(
            "a measurement on a protector leaves its limits, or leakage rises from group to group",
            PRACTICE,
        ),
        noted(
            "the current from the supply does not return to what it was: switch the supply off before touching anything",
            PRACTICE,
        ),
        noted(
            "a peak lies outside the predicted span by more than the errors of the measurement: look at probes and \
             set-up first, then at the model, and go on when it is explained",
            PRACTICE,
        ),
        noted(
            "the connector shows the open-circuit voltage of the generator: a protector is open",
            PRACTICE,
        ),
        noted(
            "the connector stays near zero without the supply coming back: a protector is shorted, or a fuse is gone",
            PRACTICE,
        ),
        noted("smoke, flame, crack, flash-over outside the protectors", PRACTICE),
    ];
    let sides = [
        &study.pin.withstand,
        &study.pin.negative_withstand,
        &study.pin.withstand_common,
    ];
    let limits: Vec<String> = sides
        .iter()
        .flat_map(|levels| levels.iter())
        .map(|level| format!("{} for {}", volts(level.voltage_v), seconds(level.lasts_s)))
        .fold(Vec::new(), |mut list, text| {
            if !list.contains(&text) {
                list.push(text);
            }
            list
        });
    if !limits.is_empty() {
        list.insert(
            0,
            noted(
                format!(
                    "the pin goes beyond what it withstands by the study: {}",
                    limits.join(", ")
                ),
                DERIVED,
            ),
        );
    }
    list
}

/// Words of caution: those of the study, and those of a bench.
pub(super) fn cautions(study: &Study) -> Vec<String> {
    let mut list = origins::cautions(study);
    list.extend(
        [
            "Nobody inside the barrier while the generator is charged; emergency stop and a second person within reach.",
            "Storage and coupling capacitors keep their charge: discharge and short the output before touching port, probe \
             or coupling network, after every shot that did not come as well.",
            "Shield the specimen: protectors may burst. Probes and the earth of the oscilloscope are part of the circuit: \
             use probes rated for the open-circuit voltage.",
        ]
        .map(str::to_owned),
    );
    list
}
