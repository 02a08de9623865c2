//! Fitted values as data of a part.

use tidewall_devices::datasheet::{
    CapacitancePoint, ClampPoint, Datasheet, FiringPoint, Firmness, LeakagePoint, PulseRating, RatingWave,
    Spread,
};
use tidewall_units::{
    Amps, Celsius, Farads, Joules, Kelvins, Ohms, PerKelvin, Quantity, Seconds, Volts, VoltsPerSecond, Watts,
};

use super::{Entry, Fit};

/// A datum of a part, in SI units. Single values are typical ones of the specimens measured: an interval says how well
/// they are known, not how parts of the type differ, so it is no minimum and maximum.
#[derive(Clone, Debug, PartialEq)]
pub enum Datum {
    /// Breakdown, trigger, breakover or spark-over voltage, and its current.
    Breakdown(f64, Option<f64>),
    /// Temperature coefficient of the breakdown in 1/K.
    TemperatureCoefficient(f64),
    /// On-state voltage at zero current.
    OnVoltage(f64),
    /// Dynamic resistance.
    DynamicResistance(f64),
    /// Holding voltage.
    HoldVoltage(f64),
    /// Non-linearity exponent.
    Exponent(f64),
    /// Clamping voltages: wave, current, voltage.
    Clamp(Vec<(RatingWave, f64, f64)>),
    /// Firing voltages: slope, voltage.
    Firing(Vec<(f64, f64)>),
    /// Pulse ratings.
    Ratings(Vec<PulseRating>),
    /// Leakage at a voltage: temperature in °C, current.
    Leakage(f64, Vec<(f64, f64)>),
    /// Temperature rise that doubles the leakage in kelvins.
    LeakageDoubling(f64),
    /// Capacitances: bias, capacitance.
    Capacitance(Vec<(f64, f64)>),
    /// Grading exponent.
    Grading(f64),
    /// Conduction of a pin, for the study: positive and negative threshold (as a size) with resistance.
    Conduction(Option<(f64, f64)>, Option<(f64, f64)>),
}

fn typical(value: f64) -> Spread {
    Spread {
        typ: Some(value),
        ..Spread::default()
    }
}

/// Five digits: more than any measurement has.
fn text<Q: Quantity>(value: f64) -> String {
    format!("\"{}\"", Q::from_si(value).rounded(5).replace('−', "-"))
}

fn number(value: f64) -> String {
    let digits = (4 - value.abs().log10().floor().clamp(-300.0, 300.0) as i32).max(1);
    let fixed = format!("{value:.*}", digits as usize);
    let short = fixed.trim_end_matches('0');
    if short.ends_with('.') {
        format!("{short}0")
    } else {
        short.to_owned()
    }
}

/// Name of a wave in a parts file.
pub fn wave_text(wave: RatingWave) -> String {
    match wave {
        RatingWave::Surge8x20 => "8/20".to_owned(),
        RatingWave::Long10x1000 => "10/1000".to_owned(),
        RatingWave::FrontTail { front_s, tail_s } => {
            let us = |s: f64| number(s * 1e6).trim_end_matches(".0").to_owned();
            format!("{}/{}", us(front_s), us(tail_s))
        }
        RatingWave::Rectangle { width_s } => format!("rectangle {}", Seconds(width_s).rounded(5)),
    }
}

fn rows<T>(list: &[T], one: impl Fn(&T) -> String) -> String {
    let rows: Vec<String> = list.iter().map(|item| format!("{{ {} }}", one(item))).collect();
    format!("[{}]", rows.join(", "))
}

impl Datum {
    /// Key and value in a parts file (`conduction`: in the `[pin]` of a study).
    pub fn entry(&self) -> Entry {
        let (key, value) = match self {
            Datum::Breakdown(v, None) => ("breakdown", format!("{{ typ = {} }}", text::<Volts>(*v))),
            Datum::Breakdown(v, Some(i)) => (
                "breakdown",
                format!("{{ typ = {}, at = {} }}", text::<Volts>(*v), text::<Amps>(*i)),
            ),
            Datum::TemperatureCoefficient(a) => ("temperature_coefficient", text::<PerKelvin>(*a)),
            Datum::OnVoltage(v) => ("on_voltage", text::<Volts>(*v)),
            Datum::DynamicResistance(r) => ("dynamic_resistance", text::<Ohms>(*r)),
            Datum::HoldVoltage(v) => ("hold_voltage", text::<Volts>(*v)),
            Datum::Exponent(a) => ("exponent", number(*a)),
            Datum::Clamp(list) => (
                "clamp",
                rows(list, |(wave, i, v)| {
                    format!(
                        "wave = \"{}\", current = {}, typ = {}",
                        wave_text(*wave),
                        text::<Amps>(*i),
                        text::<Volts>(*v)
                    )
                }),
            ),
            Datum::Firing(list) => (
                "firing",
                rows(list, |(s, v)| {
                    format!(
                        "slope = {}, typ = {}",
                        text::<VoltsPerSecond>(*s),
                        text::<Volts>(*v)
                    )
                }),
            ),
            Datum::Ratings(list) => ("rating", rows(list, rating)),
            Datum::Leakage(v, list) => (
                "leakage",
                rows(list, |(t, i)| {
                    format!(
                        "voltage = {}, temperature = {}, current = {}",
                        text::<Volts>(*v),
                        text::<Celsius>(*t),
                        text::<Amps>(*i)
                    )
                }),
            ),
            Datum::LeakageDoubling(k) => ("leakage_doubling", text::<Kelvins>(*k)),
            Datum::Capacitance(list) => (
                "capacitance",
                rows(list, |(v, c)| {
                    format!("bias = {}, typ = {}", text::<Volts>(*v), text::<Farads>(*c))
                }),
            ),
            Datum::Grading(m) => ("grading_exponent", number(*m)),
            Datum::Conduction(up, down) => {
                let side = |name: &str, sign: f64, side: &Option<(f64, f64)>| {
                    side.map(|(v, r)| {
                        format!(
                            "{name}_threshold = {}, {name}_resistance = {}",
                            text::<Volts>(sign * v),
                            text::<Ohms>(r)
                        )
                    })
                };
                let sides: Vec<String> = [side("positive", 1.0, up), side("negative", -1.0, down)]
                    .into_iter()
                    .flatten()
                    .collect();
                ("conduction", format!("{{ {} }}", sides.join(", ")))
            }
        };
        Entry {
            key: key.to_owned(),
            value,
        }
    }

    /// Writes the datum into a datasheet; a pin's conduction has no place in one.
    pub fn apply(&self, sheet: &mut Datasheet) {
        match self {
            Datum::Breakdown(v, at) => {
                sheet.breakdown_v = typical(*v);
                sheet.breakdown_at_a = *at;
            }
            Datum::TemperatureCoefficient(a) => sheet.alpha_per_k = Some(*a),
            Datum::OnVoltage(v) => sheet.on_v = typical(*v),
            Datum::DynamicResistance(r) => sheet.dynamic_ohm = Some(*r),
            Datum::HoldVoltage(v) => sheet.hold_v = typical(*v),
            Datum::Exponent(a) => sheet.exponent = Some(*a),
            Datum::Clamp(list) => sheet
                .clamp
                .extend(list.iter().map(|&(wave, current_a, v)| ClampPoint {
                    wave,
                    current_a,
                    voltage_v: typical(v),
                })),
            Datum::Firing(list) => sheet
                .firing
                .extend(list.iter().map(|&(slope_v_per_s, v)| FiringPoint {
                    slope_v_per_s,
                    voltage_v: typical(v),
                })),
            Datum::Ratings(list) => sheet.ratings.extend_from_slice(list),
            Datum::Leakage(voltage_v, list) => {
                sheet
                    .leakage
                    .extend(list.iter().map(|&(temperature_c, current_a)| LeakagePoint {
                        voltage_v: *voltage_v,
                        temperature_c,
                        current_a,
                    }));
            }
            Datum::LeakageDoubling(k) => sheet.leakage_doubling_k = Some(*k),
            Datum::Capacitance(list) => {
                sheet
                    .capacitance
                    .extend(list.iter().map(|&(bias_v, c)| CapacitancePoint {
                        bias_v,
                        capacitance_f: typical(c),
                    }));
            }
            Datum::Grading(m) => sheet.grading = Some(*m),
            Datum::Conduction(..) => {}
        }
    }
}

fn rating(rating: &PulseRating) -> String {
    let mut parts = vec![format!("wave = \"{}\"", wave_text(rating.wave))];
    parts.extend(rating.power_w.map(|p| format!("power = {}", text::<Watts>(p))));
    parts.extend(rating.current_a.map(|i| format!("current = {}", text::<Amps>(i))));
    parts.extend(rating.energy_j.map(|e| format!("energy = {}", text::<Joules>(e))));
    if rating.pulses != 1 {
        parts.push(format!("pulses = {}", rating.pulses));
    }
    parts.join(", ")
}

impl Fit {
    /// Writes the fitted data into a datasheet and marks it as measured.
    pub fn apply(&self, sheet: &mut Datasheet) {
        sheet.firmness = Some(Firmness::Measured);
        for datum in &self.data {
            datum.apply(sheet);
        }
    }
}
