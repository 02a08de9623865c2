//! The `[pin]` table.

use tidewall_units::{Amps, Farads, Joules, Ohms, Seconds, Volts};

use crate::error::StudyError;
use crate::files::Files;
use crate::levels::lasts;
use crate::model::{Conduction, Pin, Withstand};
use crate::read::ibis;
use crate::table::{Item, Section};

const KEYS: &[&str] = &[
    "name",
    "withstand",
    "negative_withstand",
    "withstand_common",
    "capacitance",
    "esr",
    "conduction",
    "ibis",
    "failure_current",
    "failure_energy",
];

pub(super) fn read(
    item: &Item<'_>,
    lines: usize,
    files: &mut Files<'_>,
    assumptions: &mut Vec<String>,
) -> Result<Pin, StudyError> {
    let section = item.table(KEYS)?;
    let mut withstand = Vec::new();
    let mut negative_withstand = Vec::new();
    for (level, both) in levels(&section, "withstand", true)? {
        if level.voltage_v <= 0.0 {
            return Err(section.error(
                "`withstand` holds a voltage that is not above zero",
                "voltages above zero",
                "negative voltages stand in `negative_withstand`",
            ));
        }
        withstand.push(level);
        if both {
            negative_withstand.push(Withstand {
                voltage_v: -level.voltage_v,
                ..level
            });
        }
    }
    for (level, _) in levels(&section, "negative_withstand", false)? {
        if level.voltage_v >= 0.0 {
            return Err(section.error(
                "`negative_withstand` holds a voltage that is not below zero",
                "voltages below zero, such as \"-1 V\"",
                "",
            ));
        }
        negative_withstand.push(level);
    }
    let withstand_common: Vec<Withstand> = levels(&section, "withstand_common", false)?
        .into_iter()
        .map(|(level, _)| level)
        .collect();
    if let Some(item) = section.get("withstand_common") {
        if lines == 1 {
            return Err(item.error(
                "a port of one line has no common mode",
                "`withstand`",
                "or set lines = 2",
            ));
        }
        if withstand_common.iter().any(|level| level.voltage_v <= 0.0) {
            return Err(item.error("`withstand_common` must be above zero", "voltages above zero", ""));
        }
    }
    let failure_current = section.optional("failure_current", failure_current)?;
    let failure_energy_j = section.optional("failure_energy", Item::positive::<Joules>)?;
    let own = ibis::Electrical {
        capacitance_f: section.optional("capacitance", Item::not_negative::<Farads>)?,
        conduction: conduction(&section)?,
    };
    let ibis::Electrical {
        capacitance_f,
        conduction: (positive_conduction, negative_conduction),
    } = match section.get("ibis") {
        None => own,
        Some(item) => {
            let current_counts = failure_current.is_some() || failure_energy_j.is_some();
            ibis::fill(&item, own, current_counts, files, assumptions)?
        }
    };
    let esr_ohm = section.optional("esr", |item| {
        let esr = item.not_negative::<Ohms>()?;
        if capacitance_f.is_none_or(|capacitance| capacitance <= 0.0) {
            return Err(item.error("`esr` without a capacitance", "`capacitance` beside it", ""));
        }
        Ok(esr)
    })?;
    Ok(Pin {
        name: section
            .optional("name", |item| item.name().map(str::to_owned))?
            .unwrap_or_else(|| "pin".to_owned()),
        withstand: check_order(&section, "withstand", withstand)?,
        negative_withstand: check_order(&section, "negative_withstand", negative_withstand)?,
        withstand_common: check_order(&section, "withstand_common", withstand_common)?,
        capacitance_f,
        esr_ohm,
        positive_conduction,
        negative_conduction,
        failure_current,
        failure_energy_j,
        line: section.line(),
    })
}

/// `"60 V"`, or a list of `{ voltage, lasts, polarity }`; the flag says that the level holds for both signs.
fn levels(
    section: &Section<'_>,
    key: &'static str,
    signs: bool,
) -> Result<Vec<(Withstand, bool)>, StudyError> {
    let Some(item) = section.get(key) else {
        return Ok(Vec::new());
    };
    if !item.is_list() {
        return Ok(vec![(
            Withstand {
                voltage_v: item.quantity::<Volts>()?,
                lasts_s: f64::INFINITY,
            },
            false,
        )]);
    }
    let keys: &'static [&'static str] = if signs {
        &["voltage", "lasts", "polarity"]
    } else {
        &["voltage", "lasts"]
    };
    let read = |item: &Item<'_>| {
        let entry = item.table(keys)?;
        let voltage_v = entry
            .require("voltage", "the voltage the pin withstands")?
            .quantity::<Volts>()?;
        let lasts_s = lasts(
            &entry.require("lasts", "for how long: \"any\", or a time such as \"100 ns\"")?,
            "any",
        )?;
        let both = if signs {
            let choices = [("positive", false), ("both", true)];
            entry
                .optional("polarity", |item| item.choice(&choices))?
                .unwrap_or(false)
        } else {
            false
        };
        Ok((Withstand { voltage_v, lasts_s }, both))
    };
    item.list()?.iter().map(read).collect()
}

/// Shortest first; what is withstood longer cannot be withstood less when it is shorter.
fn check_order(
    section: &Section<'_>,
    key: &'static str,
    mut levels: Vec<Withstand>,
) -> Result<Vec<Withstand>, StudyError> {
    levels.sort_by(|a, b| a.lasts_s.total_cmp(&b.lasts_s));
    let place = section.get(key).or_else(|| section.get("withstand"));
    let fail = |message: String, hint: &str| {
        let expected = "voltages that fall, or stay, as the time grows";
        Err(match &place {
            Some(item) => item.error(message, expected, hint),
            None => section.error(message, expected, hint),
        })
    };
    for pair in levels.windows(2) {
        if pair[0].lasts_s == pair[1].lasts_s {
            return fail(
                format!("`{key}` gives two voltages for one duration"),
                "keep the one that is true",
            );
        }
        if pair[0].voltage_v.abs() < pair[1].voltage_v.abs() {
            return fail(
                format!("`{key}` is an impossible range: the pin would withstand more the longer it lasts"),
                "have two of the values changed places?",
            );
        }
    }
    Ok(levels)
}

fn conduction(section: &Section<'_>) -> Result<(Option<Conduction>, Option<Conduction>), StudyError> {
    let Some(item) = section.get("conduction") else {
        return Ok((None, None));
    };
    let table = item.table(&[
        "positive_threshold",
        "positive_resistance",
        "negative_threshold",
        "negative_resistance",
    ])?;
    let side = |threshold: &'static str, resistance: &'static str, negative: bool| match (
        table.get(threshold),
        table.get(resistance),
    ) {
        (None, None) => Ok(None),
        (Some(volts), Some(ohms)) => {
            let threshold_v = volts.quantity::<Volts>()?;
            if (threshold_v < 0.0) != negative || threshold_v == 0.0 {
                let expected = if negative {
                    "a voltage below zero, such as \"-0.7 V\""
                } else {
                    "a voltage above zero"
                };
                return Err(volts.error(format!("`{threshold}` has the wrong sign"), expected, ""));
            }
            Ok(Some(Conduction {
                threshold_v,
                resistance_ohm: ohms.positive::<Ohms>()?,
            }))
        }
        _ => Err(table.error(
            format!("`{threshold}` and `{resistance}` belong together"),
            "both of them, or none",
            "",
        )),
    };
    Ok((
        side("positive_threshold", "positive_resistance", false)?,
        side("negative_threshold", "negative_resistance", true)?,
    ))
}

fn failure_current(item: &Item<'_>) -> Result<(f64, f64), StudyError> {
    let section = item.table(&["value", "width"])?;
    let value = section
        .require("value", "the current that destroys the pin")?
        .positive::<Amps>()?;
    let width = section
        .require("width", "the pulse width that current is known for")?
        .positive::<Seconds>()?;
    Ok((value, width))
}
