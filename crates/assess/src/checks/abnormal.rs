//! Abnormal levels: miswiring, reversal, jump start, long over-voltage.

use std::cell::RefCell;
use std::rc::Rc;

use tidewall_devices::build::{Built, MissingDatum};
use tidewall_devices::datasheet::{Datasheet, Family, PartCorner};
use tidewall_devices::law::{Bias, Mode, State, Trigger};
use tidewall_devices::{Law, Protector};
use tidewall_ladder::Across;
use tidewall_study::{AbnormalLevel, Across as LevelAcross, ShuntStage, Stage, Study, Valued};

use super::standing::{is_symmetrical, lowest_breakdown, missing_breakdown};
use super::{Context, Finding, NEXT_TO_NOTHING_V, datum};
use crate::build::shunt_places;
use crate::corners::source_ohm;
use crate::result::{CheckResult, Corner, PartSet};
use crate::text::{amps, celsius, kelvins, seconds, volts, watts};

/// The models that several levels ask for, each built once.
struct Models<'s> {
    study: &'s Study,
    built: RefCell<Vec<(Key<'s>, Rc<Model>)>>,
}

/// Part, corner and ambient in °C.
type Key<'s> = (&'s str, PartCorner, f64);
type Model = Result<Built, MissingDatum>;

impl<'s> Models<'s> {
    fn of(&self, shunt: &'s ShuntStage, corner: PartCorner, ambient_c: f64) -> Rc<Model> {
        let key = (shunt.part.as_str(), corner, ambient_c);
        if let Some((_, model)) = self.built.borrow().iter().find(|(other, _)| *other == key) {
            return model.clone();
        }
        let model = Rc::new(self.study.parts[&shunt.part].protector(corner, ambient_c));
        self.built.borrow_mut().push((key, model.clone()));
        model
    }
}

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    let study = context.study;
    let models = Models {
        study,
        built: RefCell::default(),
    };
    for level in &study.port.abnormal {
        for stage in &study.ladder {
            let Stage::Shunt(shunt) = stage else { continue };
            let sheet = &study.parts[&shunt.part];
            let places = shunt_places(study, shunt);
            let Some((_, across)) = places.first() else {
                continue;
            };
            results.push(if !meets(level.value.across, *across) {
                crosswise(study, shunt, sheet, level, places.len())
            } else if sheet.family == Family::Steering {
                steering(shunt, sheet, level)
            } else {
                judge(&models, shunt, sheet, level)
            });
        }
        results.extend(at_the_pin(&models, level));
    }
}

/// True if a level stands between the same conductors as a part.
pub fn meets(level: LevelAcross, part: Across) -> bool {
    matches!(
        (level, part),
        (LevelAcross::LineEarth, Across::ToReturn(_)) | (LevelAcross::LineLine, Across::LineToLine)
    )
}

fn finding<'a>(level: &Valued<AbnormalLevel>, element: &'a str, unit: &'static str) -> Finding<'a> {
    Finding {
        origin: Some(level.origin.to_string()),
        ..Finding::new("abnormal-level", element, unit)
    }
}

/// A finding about a part at its lowest breakdown, at an ambient in °C.
fn at_lowest<'a>(
    level: &Valued<AbnormalLevel>,
    shunt: &'a ShuntStage,
    unit: &'static str,
    ambient_c: f64,
) -> Finding<'a> {
    Finding {
        corner: Some(Corner {
            part: Some(PartSet::Low),
            ..Corner::at(ambient_c)
        }),
        ..finding(level, &shunt.name, unit)
    }
}

/// The level and how long it lasts, in words.
fn in_words(level: &AbnormalLevel) -> String {
    format!("{} for {}", volts(level.level_v), seconds(level.lasts_s))
}

/// A level in volts as a part in the shunt sees it.
fn as_seen(level: &AbnormalLevel, shunt: &ShuntStage) -> f64 {
    if shunt.reversed {
        -level.level_v
    } else {
        level.level_v
    }
}

/// A level between the lines under parts to earth, or to earth under a part between the lines. What the other line does
/// is not known, so only a part that blocks in the worst case is judged.
fn crosswise(
    study: &Study,
    shunt: &ShuntStage,
    sheet: &Datasheet,
    level: &Valued<AbnormalLevel>,
    parts: usize,
) -> CheckResult {
    let finding = at_lowest(level, shunt, "V", study.port.ambient_c.value.low);
    let size = level.value.level_v.abs();
    let text = in_words(&level.value);
    let range = study.port.ambient_c.value;
    // A part from each line to earth: the level finds both in series, the second one blocking only if it is symmetrical.
    let in_series = if parts == 2 && is_symmetrical(sheet) {
        2.0
    } else {
        1.0
    };
    let lone_diode = parts == 1 && !is_symmetrical(sheet);
    let lowest = [range.low, range.high].map(|ambient_c| lowest_breakdown(sheet, ambient_c));
    match (lowest, sheet.family) {
        ([Some(a), Some(b)], family) if family != Family::Steering && !lone_diode => {
            let blocks = in_series * a.min(b);
            if blocks >= size {
                let why = format!(
                    "blocks {} against {text} across other conductors, whatever the other line does",
                    volts(blocks)
                );
                return finding.at_least(blocks, size, why);
            }
            finding.unknown(
                Some(blocks),
                "where the other line stands at this level, as an `abnormal` level across the part itself",
                format!(
                    "{text} stands across other conductors; the part blocks {} for certain",
                    volts(blocks)
                ),
            )
        }
        _ => finding.unknown(
            None,
            "where the other line stands at this level, as an `abnormal` level across the part itself",
            format!("{text} stands across other conductors than the part"),
        ),
    }
}

/// The pin must withstand the level for as long as it lasts: the level itself, or what a conducting part leaves of it.
fn at_the_pin(models: &Models<'_>, level: &Valued<AbnormalLevel>) -> Option<CheckResult> {
    let study = models.study;
    let (abnormal, pin) = (&level.value, &study.pin);
    let pair = study.port.lines == 2;
    let element = if pair && abnormal.across == LevelAcross::LineLine {
        "pin pair"
    } else {
        "pin"
    };
    let finding = finding(level, element, "V");
    let mirrored = pair && pin.negative_withstand.is_empty();
    let (list, key) = match abnormal.across {
        LevelAcross::LineEarth if pair => (&pin.withstand_common, "withstand_common"),
        _ if abnormal.level_v >= 0.0 || mirrored => (&pin.withstand, "withstand"),
        _ => (&pin.negative_withstand, "negative_withstand"),
    };
    let reaches = reaching(models, abnormal);
    let text = in_words(abnormal);
    let lasting = list.iter().filter(|entry| entry.lasts_s >= abnormal.lasts_s);
    let limit = lasting.map(|entry| entry.voltage_v.abs()).reduce(f64::max);
    let why = format!("at {text} up to {} reach the pin", volts(reaches));
    Some(match limit {
        Some(limit) => finding.at_most(reaches, limit, format!("{why}, which stands {}", volts(limit))),
        // Next to nothing reaches it, which every pin withstands.
        None if reaches <= NEXT_TO_NOTHING_V => return None,
        None => finding.unknown(
            Some(reaches),
            format!("a `{key}` of the pin for at least {}", seconds(abnormal.lasts_s)),
            why,
        ),
    })
}

/// The most that reaches the pin at a level, as a size: the level, less what the best of the conducting parts across the
/// same conductors holds off. An unknown source is taken as stiff, which lets the most through.
fn reaching(models: &Models<'_>, abnormal: &AbnormalLevel) -> f64 {
    let study = models.study;
    let range = study.port.ambient_c.value;
    let whole = abnormal.level_v.abs();
    let Some(source) = source_ohm(study) else {
        return whole;
    };
    let mut least = whole;
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        let places = shunt_places(study, shunt);
        // A part on one line of a pair does nothing for the other.
        let covers = places.iter().all(|(_, across)| meets(abnormal.across, *across))
            && (study.port.lines == 1 || places.len() == 2 || abnormal.across == LevelAcross::LineLine);
        if !covers {
            continue;
        }
        let signed = as_seen(abnormal, shunt);
        let held = [range.low, range.high].map(|ambient_c| {
            let model = models.of(shunt, PartCorner::High, ambient_c);
            Some(
                load_line(
                    &model.as_ref().as_ref().ok()?.protector,
                    signed,
                    source,
                    ambient_c,
                )
                .1,
            )
        });
        if let [Some(cold), Some(hot)] = held {
            least = least.min(cold.max(hot));
        }
    }
    least
}

/// Steering diodes block from the return up to their rail; beyond, they feed the rail, which only its own study shows.
fn steering(shunt: &ShuntStage, sheet: &Datasheet, level: &Valued<AbnormalLevel>) -> CheckResult {
    let finding = finding(level, &shunt.name, "V");
    let abnormal = &level.value;
    let text = in_words(abnormal);
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

fn judge<'s>(
    models: &Models<'s>,
    shunt: &'s ShuntStage,
    sheet: &Datasheet,
    level: &Valued<AbnormalLevel>,
) -> CheckResult {
    let study = models.study;
    let range = study.port.ambient_c.value;
    let abnormal = &level.value;
    let size = abnormal.level_v.abs();
    let against = (abnormal.level_v < 0.0) != shunt.reversed;
    let blocks = !against || is_symmetrical(sheet);
    let text = in_words(abnormal);
    let finding = |unit, ambient_c| at_lowest(level, shunt, unit, ambient_c);
    let mut worst: Option<CheckResult> = None;
    for ambient_c in [range.low, range.high] {
        let breakdown = blocks.then(|| lowest_breakdown(sheet, ambient_c));
        let result = match breakdown {
            Some(None) => finding("V", ambient_c).unknown(
                None,
                missing_breakdown(sheet),
                format!("whether the part conducts at {text} is not known"),
            ),
            Some(Some(lowest)) if lowest >= size => finding("V", ambient_c).at_least(
                lowest,
                size,
                format!(
                    "lowest breakdown {} at {} against {text}",
                    volts(lowest),
                    celsius(ambient_c)
                ),
            ),
            Some(Some(lowest)) if !abnormal.may_conduct => finding("V", ambient_c).at_least(
                lowest,
                size,
                format!(
                    "the part must not conduct at {text}, but its lowest breakdown at {} is {}",
                    celsius(ambient_c),
                    volts(lowest)
                ),
            ),
            None if !abnormal.may_conduct && size > NEXT_TO_NOTHING_V => finding("V", ambient_c).at_most(
                size,
                NEXT_TO_NOTHING_V,
                format!(
                    "the part must not conduct at {text}, but blocks one way only and conducts forward there"
                ),
            ),
            // It breaks down and may, or it conducts forward and may.
            _ => conducts(
                models,
                shunt,
                sheet,
                abnormal,
                ambient_c,
                &finding("K", ambient_c),
                &text,
            ),
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
fn conducts<'s>(
    models: &Models<'s>,
    shunt: &'s ShuntStage,
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
    let Some(source) = source_ohm(models.study) else {
        return finding.unknown(
            None,
            "`source_current` or `source_resistance` of the port",
            format!("the part conducts at {text}; the source decides how much"),
        );
    };
    let model = models.of(shunt, PartCorner::Low, ambient_c);
    let built = match model.as_ref() {
        Ok(built) => built,
        Err(missing) => {
            return finding.unknown(None, datum(missing), missing.why);
        }
    };
    let (current, voltage) = load_line(&built.protector, as_seen(abnormal, shunt), source, ambient_c);
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
        let (state, inner) = match law {
            // A flat clamp that the level triggers stays on (a slope-triggered one lets go): its on-branch counts, not the
            // transistor's breakdown.
            Law::FlatClamp(clamp)
                if clamp.trigger == Trigger::Voltage
                    && (volts > clamp.trigger_at_v()
                        || clamp.bidirectional && -volts > clamp.trigger_at_v()) =>
            {
                (
                    State {
                        mode: Mode::On,
                        sign: volts.signum(),
                    },
                    [clamp.on_at_v(), 0.0],
                )
            }
            _ => (State::INITIAL, law.inner_initial(v)),
        };
        let bias = Bias {
            volts: v,
            junction_c: temperature_c,
            inner,
        };
        law.conduction(state, &bias).amps
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
