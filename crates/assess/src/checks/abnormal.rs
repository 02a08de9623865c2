//! Abnormal levels: miswiring, reversal, jump start, long over-voltage.

use tidewall_devices::datasheet::{Datasheet, Family, PartCorner};
use tidewall_devices::law::{Bias, State};
use tidewall_devices::{Law, Protector};
use tidewall_ladder::Across;
use tidewall_study::{AbnormalLevel, Across as LevelAcross, ShuntStage, Stage, Study, Valued};

use super::standing::{is_symmetrical, lowest_breakdown, missing_breakdown};
use super::{Context, Finding};
use crate::build::shunt_places;
use crate::corners::source_ohm;
use crate::result::{CheckResult, Corner, PartSet};
use crate::text::{amps, celsius, kelvins, seconds, volts, watts};

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    let study = context.study;
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        let sheet = &study.parts[&shunt.part];
        let Some((_, across)) = shunt_places(study, shunt).into_iter().next() else {
            continue;
        };
        for level in &study.port.abnormal {
            let meets = matches!(
                (level.value.across, across),
                (LevelAcross::LineEarth, Across::ToReturn(_)) | (LevelAcross::LineLine, Across::LineToLine)
            );
            if meets && sheet.family == Family::Steering {
                results.push(steering(shunt, sheet, level));
            } else if meets {
                results.push(judge(study, shunt, sheet, level));
            }
        }
    }
}

/// Steering diodes block from the return up to their rail; beyond, they feed the rail, which only its own study shows.
fn steering(shunt: &ShuntStage, sheet: &Datasheet, level: &Valued<AbnormalLevel>) -> CheckResult {
    let finding = Finding {
        check: "abnormal-level",
        stress: None,
        element: &shunt.name,
        unit: "V",
        corner: None,
        wanted: 0.0,
        origin: Some(level.origin.to_string()),
    };
    let abnormal = &level.value;
    let text = format!("{} for {}", volts(abnormal.level_v), seconds(abnormal.lasts_s));
    match sheet.rail_v {
        Some(rail) if (0.0..=rail).contains(&abnormal.level_v) => finding.at_least(
            rail,
            abnormal.level_v,
            format!("the rail stands at {}, above {text}", volts(rail)),
        ),
        rail => finding.unknown(
            rail,
            "a level between the return and the rail, or a series element that ends the current",
            format!("at {text} the diodes conduct and feed the rail or the return"),
        ),
    }
}

fn judge(study: &Study, shunt: &ShuntStage, sheet: &Datasheet, level: &Valued<AbnormalLevel>) -> CheckResult {
    let range = study.port.ambient_c.value;
    let abnormal = &level.value;
    let size = abnormal.level_v.abs();
    let against = (abnormal.level_v < 0.0) != shunt.reversed;
    let blocks = !against || is_symmetrical(sheet);
    let text = format!("{} for {}", volts(abnormal.level_v), seconds(abnormal.lasts_s));
    let finding = |unit, ambient_c| Finding {
        check: "abnormal-level",
        stress: None,
        element: &shunt.name,
        unit,
        corner: Some(Corner {
            part: Some(PartSet::Low),
            ..Corner::at(ambient_c)
        }),
        wanted: 0.0,
        origin: Some(level.origin.to_string()),
    };
    let mut worst: Option<CheckResult> = None;
    for ambient_c in [range.low, range.high] {
        let result = if blocks {
            match lowest_breakdown(sheet, ambient_c) {
                None => finding("V", ambient_c).unknown(
                    None,
                    missing_breakdown(sheet),
                    format!("whether the part conducts at {text} is not known"),
                ),
                Some(lowest) if lowest >= size => finding("V", ambient_c).at_least(
                    lowest,
                    size,
                    format!(
                        "lowest breakdown {} at {} against {text}",
                        volts(lowest),
                        celsius(ambient_c)
                    ),
                ),
                Some(lowest) if !abnormal.may_conduct => finding("V", ambient_c).at_least(
                    lowest,
                    size,
                    format!(
                        "the part must not conduct at {text}, but its lowest breakdown at {} is {}",
                        celsius(ambient_c),
                        volts(lowest)
                    ),
                ),
                Some(_) => conducts(
                    study,
                    shunt,
                    sheet,
                    abnormal,
                    ambient_c,
                    &finding("K", ambient_c),
                    &text,
                ),
            }
        } else {
            conducts(
                study,
                shunt,
                sheet,
                abnormal,
                ambient_c,
                &finding("K", ambient_c),
                &text,
            )
        };
        if worst
            .as_ref()
            .is_none_or(|other| super::worse_first(&result, other).is_lt())
        {
            worst = Some(result);
        }
    }
    // The range always has its two ends, so there is a result.
    worst.unwrap_or_else(|| finding("V", range.low).unknown(None, "`ambient` of the port", "no temperature"))
}

/// The part conducts for as long as the level lasts: does it survive?
fn conducts(
    study: &Study,
    shunt: &ShuntStage,
    sheet: &Datasheet,
    abnormal: &AbnormalLevel,
    ambient_c: f64,
    finding: &Finding,
    text: &str,
) -> CheckResult {
    if matches!(
        sheet.family,
        Family::GasTube | Family::Snapback | Family::Thyristor
    ) {
        return finding.unknown(
            None,
            "a level below the trigger voltage, or a series element that ends the current",
            format!("at {text} the part breaks over and the source feeds it until it is cut off"),
        );
    }
    let Some(source) = source_ohm(study) else {
        return finding.unknown(
            None,
            "`source_current` or `source_resistance` of the port",
            format!("the part conducts at {text}; the source decides how much"),
        );
    };
    let built = match sheet.protector(PartCorner::Low, ambient_c) {
        Ok(built) => built,
        Err(missing) => {
            return finding.unknown(
                None,
                format!(
                    "{} of part `{}` (key `{}`)",
                    missing.datum, missing.part, missing.key
                ),
                missing.why,
            );
        }
    };
    let signed = if shunt.reversed {
        -abnormal.level_v
    } else {
        abnormal.level_v
    };
    let (current, voltage) = load_line(&built.protector, signed, source, ambient_c);
    let power = current * voltage;
    let Some(junction_max) = sheet.junction_max_c else {
        return finding.unknown(
            None,
            format!("`junction_max` of part `{}`", sheet.name),
            format!("the part conducts {} ({}) at {text}", amps(current), watts(power)),
        );
    };
    let thermal = &built.protector.thermal;
    if thermal.is_empty() || (abnormal.lasts_s > 0.1 && sheet.thermal_k_per_w.is_none()) {
        return finding.unknown(
            None,
            format!("`rating` and `thermal_resistance` of part `{}`", sheet.name),
            format!("the part conducts {} ({}) at {text}", amps(current), watts(power)),
        );
    }
    let resistance = if abnormal.lasts_s.is_infinite() {
        thermal.total_k_per_w()
    } else {
        thermal.step_response(abnormal.lasts_s)
    };
    let rise = power * resistance;
    // Short levels meet the pulse ratings' own temperature scale, long ones the highest junction temperature.
    let steady_k = junction_max - ambient_c;
    let pulse_k = built.rated_rise_k.zip(sheet.derating_at(ambient_c).ok());
    let limit = pulse_k.map_or(steady_k, |(rise, derating)| steady_k.min(rise * derating));
    finding.at_most(
        rise,
        limit,
        format!(
            "at {text} the part conducts {} and burns {}; its junction would rise by {} from {}",
            amps(current),
            watts(power),
            kelvins(rise),
            celsius(ambient_c)
        ),
    )
}

/// Current and voltage, as sizes, of a protector across a source of `volts` behind `source_ohm`, at a fixed
/// temperature: bisection on the voltage, since conduction rises with it.
fn load_line(protector: &Protector, volts: f64, source_ohm: f64, temperature_c: f64) -> (f64, f64) {
    let law: &Law = &protector.law;
    let at = |v: f64| {
        let bias = Bias {
            volts: v,
            junction_c: temperature_c,
            inner: law.inner_initial(v),
        };
        law.conduction(State::INITIAL, &bias).amps
    };
    let total = source_ohm + protector.series_ohm;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let v = middle * volts;
        if at(v).abs() * total > (volts - v).abs() {
            high = middle;
        } else {
            low = middle;
        }
    }
    let v = low * volts;
    let amps = ((volts - v) / total).abs();
    (amps, v.abs() + amps * protector.series_ohm)
}
