//! Between a part's data and the datasheet that the models take.
//!
//! A datasheet has one value for each fact; a record may have several, of several documents. Which one counts:
//!
//! 1. Invented and generic data do not count beside data of any other kind.
//! 2. A datum stated for a temperature other than 25 °C (20 °C to 30 °C) counts only for the leakage, where a
//!    datasheet has room for the temperature.
//! 3. Guaranteed counts before measured, measured before typical.
//! 4. Of two that are as firm, the one stated later counts.
//! 5. The two exponents of a pulse life, and the two values of a rail's clamp, come from one document.
//!
//! A datasheet as a whole is typical or measured only if all data that count are: a model lends the typical values of
//! such a part to its tolerance corners, and must not do so for a part of which a maker guarantees something else.

use tidewall_devices::datasheet::{
    CapacitancePoint, ClampPoint, Datasheet, FiringPoint, Firmness, LeakagePoint, PulseRating, Spread,
};

use crate::record::{Condition, Datum, Key, PartRecord, Provenance, Value};

/// Temperatures in °C that a datasheet means by room temperature.
const ROOM_C: std::ops::RangeInclusive<f64> = 20.0..=30.0;

/// Why a datasheet cannot become a record.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("it does not say how firm its values are (guaranteed, typical, measured, invented or generic)")]
pub struct NoFirmness;

/// A single number's key and its place in a datasheet.
type Place = (Key, fn(&mut Datasheet) -> &mut Option<f64>);

const NUMBERS: &[Place] = &[
    ("stand_off", |s| &mut s.stand_off_v),
    ("temperature_coefficient", |s| &mut s.alpha_per_k),
    ("leakage_doubling", |s| &mut s.leakage_doubling_k),
    ("grading_exponent", |s| &mut s.grading),
    ("forward.at", |s| &mut s.forward_at_a),
    ("forward.resistance", |s| &mut s.forward_ohm),
    ("junction_max", |s| &mut s.junction_max_c),
    ("derating_from", |s| &mut s.derating_from_c),
    ("thermal_resistance", |s| &mut s.thermal_k_per_w),
    ("power", |s| &mut s.power_w),
    ("package_inductance", |s| &mut s.package_h),
    ("dynamic_resistance", |s| &mut s.dynamic_ohm),
    ("hold_temperature_coefficient", |s| &mut s.hold_per_k),
    ("turn_on_delay", |s| &mut s.turn_on_s),
    ("failure_current.width", |s| &mut s.failure_width_s),
    ("saturation_current", |s| &mut s.saturation_a),
    ("transistor_breakdown", |s| &mut s.transistor_breakdown_v),
    ("turn_off_voltage", |s| &mut s.turn_off_v),
    ("detector_time", |s| &mut s.detector_s),
    ("time_out", |s| &mut s.time_out_s),
    ("exponent", |s| &mut s.exponent),
    ("glow_voltage", |s| &mut s.glow_v),
    ("glow_to_arc_current", |s| &mut s.glow_to_arc_a),
    ("arc_voltage", |s| &mut s.arc_v),
    ("holdover_voltage", |s| &mut s.holdover_v),
    ("resistance", |s| &mut s.resistance_ohm),
    ("inductance", |s| &mut s.inductance_h),
    ("inductor_saturation", |s| &mut s.inductor_saturation_a),
    ("bead_resistance", |s| &mut s.bead_ohm),
    ("melting_i2t", |s| &mut s.melting_a2s),
    ("rated_current", |s| &mut s.rated_a),
    ("trip_current", |s| &mut s.trip_a),
    ("voltage_max", |s| &mut s.voltage_max_v),
    ("reset_voltage", |s| &mut s.reset_v),
    ("rail_capacitance", |s| &mut s.rail_f),
    ("rail_voltage", |s| &mut s.rail_v),
    ("area", |s| &mut s.area_m2),
    ("cost", |s| &mut s.cost),
];

/// Keys that mean something only in pairs of one document.
const PAIRS: &[(Key, Key)] = &[
    ("pulse_life.p", "pulse_life.q"),
    ("rail_clamp.voltage", "rail_clamp.resistance"),
];

impl PartRecord {
    /// The part as the models need it: of each fact the datum that counts. Its source names the documents.
    ///
    /// Which datum counts is said in the head of this module and in `docs/parts-library.md`.
    pub fn datasheet(&self) -> Datasheet {
        let counting = self.counting();
        let data: Vec<&Datum> = self
            .data
            .iter()
            .zip(&counting)
            .filter_map(|(datum, counts)| counts.then_some(datum))
            .collect();
        let mut sheet = Datasheet::unknown(&self.name, self.family, &sources(&data));
        sheet.firmness = firmness(&data);
        for datum in &data {
            fill(&mut sheet, datum);
        }
        let number = |key: Key| {
            let datum = data.iter().find(|datum| datum.key == key)?;
            number(datum)
        };
        sheet.pulse_life = number("pulse_life.p").zip(number("pulse_life.q"));
        sheet.rail_clamp = number("rail_clamp.voltage").zip(number("rail_clamp.resistance"));
        sheet
    }

    /// For each datum, whether it counts in the part's datasheet.
    pub fn counting(&self) -> Vec<bool> {
        let made_up = |datum: &Datum| matches!(datum.firmness, Firmness::Invented | Firmness::Generic);
        let made_up_only = self.data.iter().all(made_up);
        let eligible = |datum: &Datum| {
            let has_pair = PAIRS.iter().all(|(one, two)| {
                let other = match datum.key {
                    key if key == *one => two,
                    key if key == *two => one,
                    _ => return true,
                };
                let source = &datum.source.document;
                self.data
                    .iter()
                    .any(|datum| datum.key == *other && datum.source.document == *source)
            });
            has_pair && (made_up_only || !made_up(datum))
        };
        let mut best: Vec<(Slot, usize)> = Vec::new();
        for (place, datum) in self.data.iter().enumerate() {
            let Some(slot) = slot(datum).filter(|_| eligible(datum)) else {
                continue;
            };
            match best.iter_mut().find(|(other, _)| *other == slot) {
                None => best.push((slot, place)),
                Some((_, holder)) => {
                    if rank(datum.firmness) <= rank(self.data[*holder].firmness) {
                        *holder = place;
                    }
                }
            }
        }
        // The second of a pair follows the first.
        for (one, two) in PAIRS {
            let first = best
                .iter()
                .find(|(slot, _)| slot.0 == *one)
                .map(|(_, place)| *place);
            let second = best.iter_mut().find(|(slot, _)| slot.0 == *two);
            if let (Some(first), Some((_, second))) = (first, second) {
                let document = &self.data[first].source.document;
                let partner = self
                    .data
                    .iter()
                    .rposition(|datum| datum.key == *two && datum.source.document == *document);
                *second = partner.unwrap_or(*second);
            }
        }
        let mut counts = vec![false; self.data.len()];
        for (_, place) in best {
            counts[place] = true;
        }
        counts
    }

    /// The record that states what a datasheet does, all of it from one source and as firm as the datasheet says.
    ///
    /// [`PartRecord::datasheet`] gives the datasheet back, if `source` is nothing but a document of the datasheet's own
    /// source text, with these exceptions: a list's points must differ in their conditions and state something, and a
    /// datasheet that states nothing loses its firmness and source.
    ///
    /// # Errors
    /// [`NoFirmness`] if the datasheet does not say how firm it is.
    pub fn from_datasheet(sheet: &Datasheet, source: Provenance) -> Result<PartRecord, NoFirmness> {
        let mut statement = Statement {
            firmness: sheet.firmness.ok_or(NoFirmness)?,
            source,
            data: Vec::new(),
        };
        state(&mut statement, sheet);
        Ok(PartRecord {
            name: sheet.name.to_string(),
            family: sheet.family,
            data: statement.data,
        })
    }
}

/// A fact that a datasheet has one value for.
type Slot = (Key, Condition);

/// The place of a datum in a datasheet; `None` if there is none.
fn slot(datum: &Datum) -> Option<Slot> {
    let given = &datum.condition;
    let mut part = Condition::default();
    match datum.key {
        "leakage" => {
            part.voltage_v = Some(given.voltage_v?);
            part.temperature_c = Some(given.temperature_c?);
            number(datum)?;
            return Some((datum.key, part));
        }
        "clamp" => {
            part.wave = Some(given.wave?);
            part.current_a = Some(given.current_a?);
        }
        "rating.power" | "rating.current" | "rating.energy" => {
            part.wave = Some(given.wave?);
            part.pulses = Some(given.pulses.unwrap_or(1));
        }
        "capacitance" => part.voltage_v = Some(given.voltage_v?),
        "firing" => part.slope_v_per_s = Some(given.slope_v_per_s?),
        _ => {}
    }
    let at_room = given
        .temperature_c
        .is_none_or(|celsius| ROOM_C.contains(&celsius));
    at_room.then_some((datum.key, part))
}

fn rank(firmness: Firmness) -> u8 {
    match firmness {
        Firmness::Guaranteed => 0,
        Firmness::Measured => 1,
        Firmness::Typical => 2,
        Firmness::Generic => 3,
        Firmness::Invented => 4,
    }
}

/// Firmness of the part as a whole.
fn firmness(data: &[&Datum]) -> Option<Firmness> {
    let any = |firmness: Firmness| data.iter().any(|datum| datum.firmness == firmness);
    [
        Firmness::Invented,
        Firmness::Generic,
        Firmness::Guaranteed,
        Firmness::Typical,
        Firmness::Measured,
    ]
    .into_iter()
    .find(|firmness| any(*firmness))
}

/// The documents of the data, each once.
fn sources(data: &[&Datum]) -> String {
    let mut documents: Vec<String> = Vec::new();
    for datum in data {
        let source = &datum.source;
        let text = match source.revision.as_str() {
            "" => source.document.clone(),
            revision => format!("{}, {revision}", source.document),
        };
        if !documents.contains(&text) {
            documents.push(text);
        }
    }
    documents.join("; ")
}

fn number(datum: &Datum) -> Option<f64> {
    match &datum.value {
        Value::Number(number) => Some(*number),
        Value::Spread(spread) => spread.max,
        Value::Flag(_) | Value::Curve(_) => None,
    }
}

fn spread(datum: &Datum) -> Option<Spread> {
    match &datum.value {
        Value::Spread(spread) => Some(*spread),
        _ => None,
    }
}

/// Writes one datum into its place.
fn fill(sheet: &mut Datasheet, datum: &Datum) {
    let condition = &datum.condition;
    match (datum.key, spread(datum), number(datum)) {
        ("bidirectional", ..) => {
            if let Value::Flag(flag) = datum.value {
                sheet.bidirectional = Some(flag);
            }
        }
        ("table", ..) => {
            if let Value::Curve(points) = &datum.value {
                sheet.table.clone_from(points);
            }
        }
        ("breakdown", Some(spread), _) => {
            sheet.breakdown_v = spread;
            sheet.breakdown_at_a = condition.current_a.or(sheet.breakdown_at_a);
        }
        ("breakdown.at", _, at) => sheet.breakdown_at_a = sheet.breakdown_at_a.or(at),
        ("on_voltage", Some(spread), _) => sheet.on_v = spread,
        ("hold_voltage", Some(spread), _) => sheet.hold_v = spread,
        ("hold_current", Some(spread), _) => sheet.hold_a = spread,
        ("forward.voltage", _, volts) => {
            sheet.forward_v = volts;
            sheet.forward_at_a = condition.current_a.or(sheet.forward_at_a);
        }
        ("failure_current", _, amps) => {
            sheet.failure_a = amps;
            sheet.failure_width_s = condition.width_s.or(sheet.failure_width_s);
        }
        ("clamp", Some(voltage_v), _) => {
            if let (Some(wave), Some(current_a)) = (condition.wave, condition.current_a) {
                sheet.clamp.push(ClampPoint {
                    wave,
                    current_a,
                    voltage_v,
                });
            }
        }
        ("leakage", _, Some(current_a)) => {
            if let (Some(voltage_v), Some(temperature_c)) = (condition.voltage_v, condition.temperature_c) {
                sheet.leakage.push(LeakagePoint {
                    voltage_v,
                    temperature_c,
                    current_a,
                });
            }
        }
        ("capacitance", Some(capacitance_f), _) => {
            if let Some(bias_v) = condition.voltage_v {
                sheet.capacitance.push(CapacitancePoint {
                    bias_v,
                    capacitance_f,
                });
            }
        }
        ("firing", Some(voltage_v), _) => {
            if let Some(slope_v_per_s) = condition.slope_v_per_s {
                sheet.firing.push(FiringPoint {
                    slope_v_per_s,
                    voltage_v,
                });
            }
        }
        ("rating.power", _, value) => set_rating(sheet, condition, |rating| rating.power_w = value),
        ("rating.current", _, value) => set_rating(sheet, condition, |rating| rating.current_a = value),
        ("rating.energy", _, value) => set_rating(sheet, condition, |rating| rating.energy_j = value),
        (key, _, value) => {
            if let Some((_, field)) = NUMBERS.iter().find(|(known, _)| *known == key) {
                *field(sheet) = value;
            }
        }
    }
}

/// Power, current and energy for one wave and number of pulses are one rating.
fn set_rating(sheet: &mut Datasheet, condition: &Condition, set: impl FnOnce(&mut PulseRating)) {
    let Some(wave) = condition.wave else { return };
    let pulses = condition.pulses.unwrap_or(1);
    let known = sheet
        .ratings
        .iter()
        .position(|rating| rating.wave == wave && rating.pulses == pulses);
    let place = known.unwrap_or_else(|| {
        sheet.ratings.push(PulseRating {
            wave,
            power_w: None,
            current_a: None,
            energy_j: None,
            pulses,
        });
        sheet.ratings.len() - 1
    });
    set(&mut sheet.ratings[place]);
}

/// Data of one source.
struct Statement {
    firmness: Firmness,
    source: Provenance,
    data: Vec<Datum>,
}

impl Statement {
    fn add(&mut self, key: Key, value: Value, condition: Condition) {
        self.data.push(Datum {
            key,
            value,
            condition,
            firmness: self.firmness,
            source: self.source.clone(),
        });
    }

    fn spread(&mut self, key: Key, spread: Spread, condition: Condition) {
        if spread != Spread::default() {
            self.add(key, Value::Spread(spread), condition);
        }
    }

    fn number(&mut self, key: Key, number: Option<f64>, condition: Condition) {
        if let Some(number) = number {
            self.add(key, Value::Number(number), condition);
        }
    }
}

/// States everything a datasheet does.
fn state(out: &mut Statement, sheet: &Datasheet) {
    let any = Condition::default();
    if let Some(flag) = sheet.bidirectional {
        out.add("bidirectional", Value::Flag(flag), any);
    }
    let mut rest = sheet.clone();
    let at_current = |current_a: Option<f64>| Condition { current_a, ..any };
    if sheet.breakdown_v == Spread::default() {
        out.number("breakdown.at", sheet.breakdown_at_a, any);
    }
    out.spread("breakdown", sheet.breakdown_v, at_current(sheet.breakdown_at_a));
    for point in &sheet.clamp {
        let condition = Condition {
            wave: Some(point.wave),
            ..at_current(Some(point.current_a))
        };
        out.spread("clamp", point.voltage_v, condition);
    }
    for rating in &sheet.ratings {
        let condition = Condition {
            wave: Some(rating.wave),
            pulses: Some(rating.pulses),
            ..any
        };
        out.number("rating.power", rating.power_w, condition);
        out.number("rating.current", rating.current_a, condition);
        out.number("rating.energy", rating.energy_j, condition);
    }
    for point in &sheet.leakage {
        let condition = Condition {
            voltage_v: Some(point.voltage_v),
            temperature_c: Some(point.temperature_c),
            ..any
        };
        out.number("leakage", Some(point.current_a), condition);
    }
    for point in &sheet.capacitance {
        let condition = Condition {
            voltage_v: Some(point.bias_v),
            ..any
        };
        out.spread("capacitance", point.capacitance_f, condition);
    }
    if sheet.forward_v.is_some() {
        out.number("forward.voltage", sheet.forward_v, at_current(sheet.forward_at_a));
        rest.forward_at_a = None;
    }
    if sheet.failure_a.is_some() {
        let condition = Condition {
            width_s: sheet.failure_width_s,
            ..any
        };
        out.number("failure_current", sheet.failure_a, condition);
        rest.failure_width_s = None;
    }
    out.spread("on_voltage", sheet.on_v, any);
    out.spread("hold_voltage", sheet.hold_v, any);
    out.spread("hold_current", sheet.hold_a, any);
    for point in &sheet.firing {
        let condition = Condition {
            slope_v_per_s: Some(point.slope_v_per_s),
            ..any
        };
        out.spread("firing", point.voltage_v, condition);
    }
    for (key, field) in NUMBERS {
        out.number(key, *field(&mut rest), any);
    }
    if let Some((p, q)) = sheet.pulse_life {
        out.number("pulse_life.p", Some(p), any);
        out.number("pulse_life.q", Some(q), any);
    }
    if let Some((volts, ohms)) = sheet.rail_clamp {
        out.number("rail_clamp.voltage", Some(volts), any);
        out.number("rail_clamp.resistance", Some(ohms), any);
    }
    if !sheet.table.is_empty() {
        out.add("table", Value::Curve(sheet.table.clone()), any);
    }
}
