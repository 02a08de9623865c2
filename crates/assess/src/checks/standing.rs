//! Checks that need no transient: stand-off, polarity, leakage, capacitance, and whether there is a window at all.

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_ladder::Across;
use tidewall_study::{Between, Interval, PortKind, ShuntStage, Stage, Study, Valued, Withstand};

use super::{Context, Finding, NEXT_TO_NOTHING_V};
use crate::build::{line_of, places, shunt_places};
use crate::result::{CheckResult, Corner};
use crate::text::{amps, celsius, farads, volts};

/// Smallest ratio of direct spark-over voltage to peak working voltage of a gas tube (common practice; gas-tube
/// selection article).
const SPARK_OVER_RATIO: f64 = 1.2;

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    let study = context.study;
    window(study, results);
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        let sheet = &study.parts[&shunt.part];
        let mut done: Option<Across> = None;
        for (_, across) in shunt_places(study, shunt) {
            // Both lines of a pair carry the same part under the same levels.
            if done.is_some() {
                continue;
            }
            done = Some(across);
            stand_off(study, shunt, sheet, across, results);
            leakage(study, shunt, sheet, across, results);
        }
    }
    capacitance(study, results);
    matching(study, results);
}

/// Temperature coefficient in 1/K of a varistor's voltage where the part gives none (varistor terminology page); the
/// varistor's model takes the same.
const VARISTOR_PER_K: f64 = -5e-4;

/// Levels at which a protector across `across` must not conduct.
pub fn must_not_conduct(study: &Study, across: Across) -> Option<&Valued<Interval>> {
    match across {
        Across::ToReturn(_) => study.port.must_not_conduct_v.as_ref(),
        Across::LineToLine => study.port.must_not_conduct_between_v.as_ref(),
    }
}

/// The levels as the part sees them: blocking side first, other side second, both as sizes.
pub fn as_seen(interval: Interval, reversed: bool) -> (f64, f64) {
    let (up, down) = (interval.high.max(0.0), (-interval.low).max(0.0));
    if reversed { (down, up) } else { (up, down) }
}

fn finding<'a>(
    check: &'static str,
    shunt: &'a ShuntStage,
    unit: &'static str,
    corner: Option<Corner>,
) -> Finding<'a> {
    Finding {
        corner,
        ..Finding::new(check, &shunt.name, unit)
    }
}

/// True for a part that blocks both ways: by its family, or because its data say so.
pub fn is_symmetrical(sheet: &Datasheet) -> bool {
    match sheet.family {
        Family::Varistor | Family::GasTube => true,
        Family::Table => sheet.bidirectional != Some(false),
        _ => sheet.bidirectional == Some(true),
    }
}

/// Lowest breakdown, trigger or spark-over voltage of a part at a temperature in °C. A varistor's drift counts where
/// it is given; gas tubes and measured tables are taken as they are.
pub fn lowest_breakdown(sheet: &Datasheet, temperature_c: f64) -> Option<f64> {
    let minimum = sheet.breakdown_v.min?;
    match sheet.family {
        Family::GasTube | Family::Table => Some(minimum),
        Family::Varistor => {
            Some(minimum * (1.0 + sheet.alpha_per_k.unwrap_or(VARISTOR_PER_K) * (temperature_c - 25.0)))
        }
        _ => Some(minimum * (1.0 + sheet.alpha_per_k? * (temperature_c - 25.0))),
    }
}

/// What [`lowest_breakdown`] lacks, in words.
pub fn missing_breakdown(sheet: &Datasheet) -> String {
    let datum = match (sheet.breakdown_v.min, sheet.alpha_per_k) {
        (None, None) => "minimum of `breakdown` and `temperature_coefficient`",
        (None, Some(_)) => "minimum of `breakdown`",
        _ => "`temperature_coefficient`",
    };
    format!("{datum} of part `{}`", sheet.name)
}

fn stand_off(
    study: &Study,
    shunt: &ShuntStage,
    sheet: &Datasheet,
    across: Across,
    results: &mut Vec<CheckResult>,
) {
    let Some(levels) = must_not_conduct(study, across) else {
        let key = match across {
            Across::ToReturn(_) => "`must_not_conduct` of the port",
            Across::LineToLine => "`must_not_conduct_between` of the port",
        };
        let why = "without the highest normal voltage the part may conduct in normal operation";
        results.push(finding("stand-off", shunt, "V", None).unknown(sheet.stand_off_v, key, why));
        return;
    };
    let (blocking, other) = as_seen(levels.value, shunt.reversed);
    let bidirectional = match sheet.family {
        Family::Varistor | Family::GasTube => true,
        Family::Table => is_symmetrical(sheet),
        Family::Steering => false,
        _ => match sheet.bidirectional {
            Some(bidirectional) => bidirectional,
            None => {
                let why = "a unidirectional part clips whatever goes below the return";
                results.push(finding("polarity", shunt, "V", None).unknown(
                    Some(other),
                    format!("`bidirectional` of part `{}`", sheet.name),
                    why,
                ));
                return;
            }
        },
    };
    let needed = if bidirectional {
        blocking.max(other)
    } else {
        blocking
    };
    let mut polarity = finding("polarity", shunt, "V", None);
    polarity.origin = Some(levels.origin.to_string());
    if bidirectional {
        // Nothing is clipped; whether both sides are blocked is the stand-off check's matter.
        let why = format!(
            "the part blocks in both directions; the line goes {} to the other side",
            volts(other)
        );
        results.push(polarity.holds(other, why));
    } else {
        let why = format!(
            "the line goes {} to the other side; a unidirectional part conducts there",
            volts(other)
        );
        results.push(polarity.at_most(other, NEXT_TO_NOTHING_V, why));
    }
    let mut off = finding("stand-off", shunt, "V", None);
    off.origin = Some(levels.origin.to_string());
    match sheet.family {
        Family::GasTube => match sheet.breakdown_v.min {
            Some(minimum) => results.push(off.at_least(
                minimum,
                SPARK_OVER_RATIO * needed,
                format!(
                    "lowest direct spark-over {} against {SPARK_OVER_RATIO} × {}",
                    volts(minimum),
                    volts(needed)
                ),
            )),
            None => results.push(off.unknown(
                None,
                format!(
                    "minimum direct spark-over voltage of part `{}` (key `breakdown`)",
                    sheet.name
                ),
                "a tube that fires on the working voltage is a short circuit",
            )),
        },
        Family::Steering => match sheet.rail_v {
            Some(rail) => results.push(off.at_least(
                rail,
                needed,
                format!(
                    "the rail stands at {}, the line reaches {}",
                    volts(rail),
                    volts(needed)
                ),
            )),
            None => results.push(off.unknown(
                None,
                format!("rail voltage of part `{}` (key `rail_voltage`)", sheet.name),
                "steering diodes conduct once the line is above the rail",
            )),
        },
        _ => match sheet.stand_off_v {
            Some(value) => results.push(off.at_least(
                value,
                needed,
                format!(
                    "stand-off {} against a highest normal voltage of {}",
                    volts(value),
                    volts(needed)
                ),
            )),
            None => results.push(off.unknown(
                None,
                format!("stand-off voltage of part `{}` (key `stand_off`)", sheet.name),
                "leakage is only guaranteed up to the stand-off voltage",
            )),
        },
    }
    cold_breakdown(study, shunt, sheet, needed, levels, results);
}

/// The lowest breakdown at the end of the temperature range where it is lowest must clear the normal voltage.
fn cold_breakdown(
    study: &Study,
    shunt: &ShuntStage,
    sheet: &Datasheet,
    needed: f64,
    levels: &Valued<Interval>,
    results: &mut Vec<CheckResult>,
) {
    if matches!(sheet.family, Family::GasTube | Family::Steering) {
        return;
    }
    let range = study.port.ambient_c.value;
    for ambient_c in [range.low, range.high] {
        let mut finding = finding("cold-breakdown", shunt, "V", Some(Corner::at(ambient_c)));
        finding.origin = Some(levels.origin.to_string());
        match lowest_breakdown(sheet, ambient_c) {
            Some(value) => results.push(finding.at_least(
                value,
                needed,
                format!(
                    "lowest breakdown {} at {} against a highest normal voltage of {}",
                    volts(value),
                    celsius(ambient_c),
                    volts(needed)
                ),
            )),
            None => results.push(finding.unknown(
                None,
                missing_breakdown(sheet),
                "the breakdown falls in the cold, by spread and by temperature",
            )),
        }
    }
}

/// Voltage in volts at which leakage counts, from the levels as the part sees them.
pub fn leakage_v(sheet: &Datasheet, (blocking, other): (f64, f64)) -> f64 {
    if is_symmetrical(sheet) {
        blocking.max(other)
    } else {
        blocking
    }
}

/// Leakage in amperes of a part at the levels it sees and a temperature in °C; `None` where no datum says it.
pub fn leakage_a(sheet: &Datasheet, seen: (f64, f64), temperature_c: f64) -> Option<f64> {
    let at_v = leakage_v(sheet, seen);
    match sheet.family {
        // The insulation of a gas tube is above 10 GΩ in any family (from memory).
        Family::GasTube => Some(at_v / 1e10),
        _ => sheet.leakage_at(at_v, temperature_c).ok(),
    }
}

fn leakage(
    study: &Study,
    shunt: &ShuntStage,
    sheet: &Datasheet,
    across: Across,
    results: &mut Vec<CheckResult>,
) {
    let Some(levels) = must_not_conduct(study, across) else {
        return;
    };
    let hot = study.port.ambient_c.value.high;
    let mut finding = finding("leakage", shunt, "A", Some(Corner::at(hot)));
    finding.origin = study
        .port
        .leakage_limit_a
        .as_ref()
        .map(|limit| limit.origin.to_string());
    let seen = as_seen(levels.value, shunt.reversed);
    let at_v = leakage_v(sheet, seen);
    let value = leakage_a(sheet, seen, hot);
    results.push(match (value, &study.port.leakage_limit_a) {
        (Some(value), Some(limit)) => finding.at_most(
            value,
            limit.value,
            format!("leakage {} at {} and {}", amps(value), volts(at_v), celsius(hot)),
        ),
        (None, _) => finding.unknown(
            None,
            format!(
                "leakage of part `{}` at or above {} (key `leakage`)",
                sheet.name,
                volts(at_v)
            ),
            "leakage doubles every 10 K or so; the cold value says little",
        ),
        (Some(value), None) => finding.unknown(
            Some(value),
            "`leakage_limit` of the port",
            format!("leakage {} at {} and {}", amps(value), volts(at_v), celsius(hot)),
        ),
    });
}

/// Largest capacitance in farads of a part.
pub fn largest_capacitance(sheet: &Datasheet) -> Option<f64> {
    let sizes = sheet
        .capacitance
        .iter()
        .filter_map(|point| point.capacitance_f.max.or(point.capacitance_f.typ));
    sizes.reduce(f64::max)
}

/// Capacitance of the shunts that each line sees, against the port's budget.
fn capacitance(study: &Study, results: &mut Vec<CheckResult>) {
    let Some(limit) = &study.port.capacitance_limit_f else {
        if study.port.kind == PortKind::Signal {
            let finding = Finding::new("line-capacitance", "port", "F");
            results.push(finding.unknown(
                None,
                "`capacitance_limit` of the port",
                "a signal line bears only so much capacitance",
            ));
        }
        return;
    };
    // Of each line: specimens differ from one to the other.
    let mut sums = [0.0; 2];
    for stage in &study.ladder {
        if let Stage::Capacitor(capacitor) = stage {
            let size = share(study, &capacitor.name, capacitor.between) * capacitor.capacitance_f;
            sums = sums.map(|sum| sum + size);
        }
        let Stage::Shunt(shunt) = stage else { continue };
        let sheet = &study.parts[&shunt.part];
        let sizes = [0, 1].map(|line| largest_capacitance(&sheet.on_line(line)));
        let [Some(first), Some(second)] = sizes else {
            let mut finding = Finding::new("line-capacitance", "port", "F");
            finding.element = &shunt.name;
            results.push(finding.unknown(
                None,
                format!("capacitance of part `{}` (key `capacitance`)", sheet.name),
                "the line's budget cannot be judged without it",
            ));
            return;
        };
        let share = share(study, &shunt.name, shunt.between);
        sums[0] += share * first;
        sums[1] += share * second;
    }
    let sum = sums[0].max(sums[1]);
    let mut finding = Finding::new("line-capacitance", "port", "F");
    finding.origin = Some(limit.origin.to_string());
    let why = format!(
        "{} from each line to earth, of {} allowed",
        farads(sum),
        farads(limit.value)
    );
    results.push(finding.at_most(sum, limit.value, why));
}

/// How often the capacitance of a shunt counts from each line to earth: twice between the lines, once otherwise.
pub fn share(study: &Study, name: &str, between: Between) -> f64 {
    if matches!(
        places(study, name, between).first(),
        Some((_, Across::LineToLine))
    ) {
        2.0
    } else {
        1.0
    }
}

fn matching(study: &Study, results: &mut Vec<CheckResult>) {
    let (Some(limit), 2) = (&study.port.capacitance_matching_f, study.port.lines) else {
        return;
    };
    // Least and most of each line; capacitors count at their nominal value.
    let (mut least, mut most) = ([0.0; 2], [0.0; 2]);
    for stage in &study.ladder {
        let places = match stage {
            Stage::Series(_) => continue,
            Stage::Capacitor(stage) => places(study, &stage.name, stage.between),
            Stage::Shunt(stage) => shunt_places(study, stage),
        };
        for (_, across) in places {
            if across == Across::LineToLine {
                continue;
            }
            let line = line_of(across);
            let range = match stage {
                Stage::Shunt(stage) => capacitance_range(&study.parts[&stage.part].on_line(line)),
                Stage::Capacitor(stage) => Some((stage.capacitance_f, stage.capacitance_f)),
                Stage::Series(_) => None,
            };
            let Some((low, high)) = range else {
                let mut finding = Finding::new("capacitance-matching", "port", "F");
                finding.element = stage.name();
                results.push(finding.unknown(
                    None,
                    format!(
                        "minimum and maximum `capacitance` of the part of `{}`",
                        stage.name()
                    ),
                    "unequal capacitance turns common mode into differential mode",
                ));
                return;
            };
            least[line] += low;
            most[line] += high;
        }
    }
    let apart = f64::max(most[0] - least[1], most[1] - least[0]);
    let mut finding = Finding::new("capacitance-matching", "port", "F");
    finding.origin = Some(limit.origin.to_string());
    let why = format!(
        "the two lines may differ by {}, capacitors at their nominal value",
        farads(apart)
    );
    results.push(finding.at_most(apart, limit.value, why));
}

/// Least and most capacitance in farads of specimens of a part, at the bias where they differ most.
fn capacitance_range(sheet: &Datasheet) -> Option<(f64, f64)> {
    let ranges = sheet
        .capacitance
        .iter()
        .filter_map(|point| Some((point.capacitance_f.min?, point.capacitance_f.max?)));
    ranges.reduce(|a, b| if b.1 - b.0 > a.1 - a.0 { b } else { a })
}

/// Whether a clamp can stand between the two walls at all, on either side of zero; on a pair to earth and between the
/// lines.
fn window(study: &Study, results: &mut Vec<CheckResult>) {
    let (port, pin) = (&study.port, &study.pin);
    let origin = Some(format!("withstand of the pin, study, line {}", pin.line));
    let mut finding = Finding::new("window", "port", "V");
    if port.must_not_conduct_v.is_none() && port.must_not_conduct_between_v.is_none() {
        results.push(finding.unknown(
            None,
            "`must_not_conduct` of the port",
            "the left wall is not known",
        ));
        return;
    }
    finding.origin = origin;
    if port.lines == 1 {
        if let Some(levels) = &port.must_not_conduct_v {
            walls(
                &finding,
                levels.value,
                (&pin.withstand, "withstand"),
                (&pin.negative_withstand, "negative_withstand"),
                results,
            );
        }
        return;
    }
    if let Some(levels) = &port.must_not_conduct_v {
        let common = (&pin.withstand_common, "withstand_common");
        walls(&finding, levels.value, common, common, results);
    }
    if let Some(levels) = &port.must_not_conduct_between_v {
        finding.element = "port pair";
        let up = (&pin.withstand, "withstand");
        let down = if pin.negative_withstand.is_empty() {
            up
        } else {
            (&pin.negative_withstand, "negative_withstand")
        };
        walls(&finding, levels.value, up, down, results);
    }
}

/// The walls above and below zero: levels that must not conduct against the steady withstand of that side.
fn walls(
    finding: &Finding,
    levels: Interval,
    up: (&Vec<Withstand>, &str),
    down: (&Vec<Withstand>, &str),
    results: &mut Vec<CheckResult>,
) {
    for (level, (list, key)) in [(levels.high, up), (-levels.low, down)] {
        if level <= NEXT_TO_NOTHING_V {
            continue;
        }
        results.push(match list.iter().find(|entry| entry.lasts_s.is_infinite()) {
            Some(entry) => {
                let limit = entry.voltage_v.abs();
                let why = format!(
                    "the clamp must climb between {} and {}; a series element, a second stage or a stronger pin widens that",
                    volts(level),
                    volts(limit)
                );
                finding.at_most(level, limit, why)
            }
            None => finding.unknown(
                Some(level),
                format!("a `{key}` of the pin with `lasts = \"any\"`"),
                "the right wall is not known",
            ),
        });
    }
}
