//! Parts files: what is known of each part, as text.
//!
//! The keys are described for engineers in `docs/parts-file.md`.

mod datum;
mod network;
mod table;
pub mod wave;

use tidewall_devices::datasheet::{Datasheet, Family, Firmness};
use tidewall_units::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Henries, KelvinPerWatt, Kelvins, Ohms, PerKelvin, Seconds,
    SquareMetres, Volts, Watts,
};

use crate::error::StudyError;
use crate::files::Files;
use crate::source::Source;
use crate::table::{Item, Section, parse_document};

/// Words for the families.
pub const FAMILIES: &[(&str, Family)] = &[
    ("avalanche", Family::Avalanche),
    ("flat-clamp", Family::FlatClamp),
    ("snapback", Family::Snapback),
    ("varistor", Family::Varistor),
    ("gas-tube", Family::GasTube),
    ("thyristor", Family::Thyristor),
    ("steering", Family::Steering),
    ("table", Family::Table),
    ("resistor", Family::Resistor),
    ("inductor", Family::Inductor),
    ("bead", Family::Bead),
    ("fuse", Family::Fuse),
    ("ptc", Family::Ptc),
    ("limiter", Family::Limiter),
];

/// Words for how firm a part's values are.
pub const FIRMNESS: &[(&str, Firmness)] = &[
    ("guaranteed", Firmness::Guaranteed),
    ("typical", Firmness::Typical),
    ("measured", Firmness::Measured),
    ("invented", Firmness::Invented),
    ("generic", Firmness::Generic),
];

/// The keys of a `[[part]]`.
pub const PART_KEYS: &[&str] = &[
    "name",
    "family",
    "kind",
    "source",
    "bidirectional",
    "stand_off",
    "breakdown",
    "clamp",
    "rating",
    "temperature_coefficient",
    "leakage",
    "leakage_doubling",
    "capacitance",
    "capacitance_touchstone",
    "grading_exponent",
    "forward",
    "junction_max",
    "derating_from",
    "thermal_resistance",
    "power",
    "package_inductance",
    "dynamic_resistance",
    "on_voltage",
    "hold_voltage",
    "hold_current",
    "hold_temperature_coefficient",
    "turn_on_delay",
    "failure_current",
    "saturation_current",
    "transistor_breakdown",
    "turn_off_voltage",
    "detector_time",
    "time_out",
    "exponent",
    "pulse_life",
    "firing",
    "glow_voltage",
    "glow_to_arc_current",
    "arc_voltage",
    "holdover_voltage",
    "resistance",
    "inductance",
    "inductor_saturation",
    "bead_resistance",
    "melting_i2t",
    "rated_current",
    "trip_current",
    "voltage_max",
    "reset_voltage",
    "rail_capacitance",
    "rail_voltage",
    "rail_clamp",
    "table",
    "table_csv",
    "area",
    "cost",
];

/// A part with the place it was read from.
#[derive(Clone, Debug)]
pub struct PartEntry {
    /// What is known of it.
    pub datasheet: Datasheet,
    /// File it stands in; `parts library` for a part that a study takes from there.
    pub file: String,
    /// Line of its `[[part]]` heading, counted from 1; 0 in the parts library.
    pub line: usize,
}

/// Whether a family goes in the line rather than across it.
pub fn is_series(family: Family) -> bool {
    matches!(
        family,
        Family::Resistor | Family::Inductor | Family::Bead | Family::Fuse | Family::Ptc | Family::Limiter
    )
}

/// Reads a whole parts file.
pub(crate) fn read_file(source: &Source, files: &mut Files<'_>) -> Result<Vec<PartEntry>, StudyError> {
    let document = parse_document(source)?;
    let top = Section::new(source, document.get_ref(), 0..0, "", &["part"])?;
    let entries = top.list("part")?;
    if entries.is_empty() {
        return Err(top.error(
            "the parts file has no part",
            "at least one [[part]] table",
            "begin a part with [[part]], name, family, kind and source",
        ));
    }
    read_entries(&entries, files)
}

/// Reads the entries of a `[[part]]` list.
pub(crate) fn read_entries(
    entries: &[Item<'_>],
    files: &mut Files<'_>,
) -> Result<Vec<PartEntry>, StudyError> {
    entries.iter().map(|item| read_part(item, files)).collect()
}

fn read_part(item: &Item<'_>, files: &mut Files<'_>) -> Result<PartEntry, StudyError> {
    let part = item.table(PART_KEYS)?;
    let name = part
        .require("name", "a short name that a ladder can refer to")?
        .name()?;
    let family = part
        .require("family", "what kind of device it is, such as \"avalanche\"")?
        .choice(FAMILIES)?;
    let kind = part.require(
        "kind",
        "how firm the values are: \"guaranteed\", \"typical\", \"measured\", \"invented\" or \"generic\"",
    )?;
    let source = part
        .require("source", "document, revision and table the values are from")?
        .name()?;
    let mut sheet = Datasheet::unknown(name, family, source);
    sheet.firmness = Some(kind.choice(FIRMNESS)?);
    fill_clamps(&part, &mut sheet)?;
    fill_switches(&part, &mut sheet)?;
    fill_series(&part, &mut sheet)?;
    sheet.table = table::read(&part, files)?;
    network::fill(&part, &mut sheet, files)?;
    Ok(PartEntry {
        datasheet: sheet,
        file: item.source.name.clone(),
        line: item.line(),
    })
}

/// Data of clamping protectors, and those that every family may have.
fn fill_clamps(part: &Section<'_>, sheet: &mut Datasheet) -> Result<(), StudyError> {
    sheet.bidirectional = part.optional("bidirectional", Item::flag)?;
    sheet.stand_off_v = part.optional("stand_off", Item::positive::<Volts>)?;
    if let Some(breakdown) = part.get("breakdown") {
        (sheet.breakdown_v, sheet.breakdown_at_a) = datum::spread_at::<Volts, Amps>(&breakdown)?;
    }
    sheet.clamp = datum::clamp_points(part)?;
    sheet.ratings = datum::ratings(part)?;
    sheet.alpha_per_k = part.optional("temperature_coefficient", Item::quantity::<PerKelvin>)?;
    sheet.leakage = datum::leakage(part)?;
    sheet.leakage_doubling_k = part.optional("leakage_doubling", Item::positive::<Kelvins>)?;
    sheet.capacitance = datum::capacitance(part)?;
    sheet.grading = part.optional("grading_exponent", datum::positive_number)?;
    if let Some(item) = part.get("forward") {
        let forward = item.table(&["voltage", "at", "resistance"])?;
        sheet.forward_v = forward.optional("voltage", Item::positive::<Volts>)?;
        sheet.forward_at_a = forward.optional("at", Item::positive::<Amps>)?;
        sheet.forward_ohm = forward.optional("resistance", Item::not_negative::<Ohms>)?;
    }
    sheet.junction_max_c = part.optional("junction_max", Item::quantity::<Celsius>)?;
    sheet.derating_from_c = part.optional("derating_from", Item::quantity::<Celsius>)?;
    sheet.thermal_k_per_w = part.optional("thermal_resistance", Item::positive::<KelvinPerWatt>)?;
    sheet.power_w = part.optional("power", Item::positive::<Watts>)?;
    sheet.package_h = part.optional("package_inductance", Item::positive::<Henries>)?;
    sheet.exponent = part.optional("exponent", datum::positive_number)?;
    if let Some(item) = part.get("pulse_life") {
        let life = item.table(&["p", "q"])?;
        let p = datum::positive_number(&life.require("p", "exponent of the number of pulses")?)?;
        let q = datum::positive_number(&life.require("q", "exponent of the duration")?)?;
        sheet.pulse_life = Some((p, q));
    }
    sheet.rail_f = part.optional("rail_capacitance", Item::positive::<Farads>)?;
    sheet.rail_v = part.optional("rail_voltage", Item::not_negative::<Volts>)?;
    if let Some(item) = part.get("rail_clamp") {
        let clamp = item.table(&["voltage", "resistance"])?;
        let volts = clamp
            .require("voltage", "breakdown of the clamp on the rail")?
            .positive::<Volts>()?;
        let ohms = clamp
            .require("resistance", "its dynamic resistance")?
            .not_negative::<Ohms>()?;
        sheet.rail_clamp = Some((volts, ohms));
    }
    sheet.area_m2 = part.optional("area", Item::positive::<SquareMetres>)?;
    sheet.cost = part.optional("cost", datum::positive_number)?;
    Ok(())
}

/// Data of protectors that switch.
fn fill_switches(part: &Section<'_>, sheet: &mut Datasheet) -> Result<(), StudyError> {
    sheet.dynamic_ohm = part.optional("dynamic_resistance", Item::not_negative::<Ohms>)?;
    sheet.on_v = part
        .optional("on_voltage", datum::spread::<Volts>)?
        .unwrap_or_default();
    sheet.hold_v = part
        .optional("hold_voltage", datum::spread::<Volts>)?
        .unwrap_or_default();
    sheet.hold_a = part
        .optional("hold_current", datum::spread::<Amps>)?
        .unwrap_or_default();
    sheet.hold_per_k = part.optional("hold_temperature_coefficient", Item::quantity::<PerKelvin>)?;
    sheet.turn_on_s = part.optional("turn_on_delay", Item::not_negative::<Seconds>)?;
    if let Some(item) = part.get("failure_current") {
        let failure = item.table(&["current", "width"])?;
        sheet.failure_a = Some(
            failure
                .require("current", "current that destroys the part")?
                .positive::<Amps>()?,
        );
        sheet.failure_width_s = Some(
            failure
                .require("width", "pulse width that current is known for")?
                .positive::<Seconds>()?,
        );
    }
    sheet.saturation_a = part.optional("saturation_current", Item::positive::<Amps>)?;
    sheet.transistor_breakdown_v = part.optional("transistor_breakdown", Item::positive::<Volts>)?;
    sheet.turn_off_v = part.optional("turn_off_voltage", Item::positive::<Volts>)?;
    sheet.detector_s = part.optional("detector_time", Item::positive::<Seconds>)?;
    sheet.time_out_s = part.optional("time_out", Item::positive::<Seconds>)?;
    sheet.firing = datum::firing(part)?;
    sheet.glow_v = part.optional("glow_voltage", Item::positive::<Volts>)?;
    sheet.glow_to_arc_a = part.optional("glow_to_arc_current", Item::positive::<Amps>)?;
    sheet.arc_v = part.optional("arc_voltage", Item::positive::<Volts>)?;
    sheet.holdover_v = part.optional("holdover_voltage", Item::positive::<Volts>)?;
    Ok(())
}

/// Data of series elements.
fn fill_series(part: &Section<'_>, sheet: &mut Datasheet) -> Result<(), StudyError> {
    sheet.resistance_ohm = part.optional("resistance", Item::not_negative::<Ohms>)?;
    sheet.inductance_h = part.optional("inductance", Item::positive::<Henries>)?;
    sheet.inductor_saturation_a = part.optional("inductor_saturation", Item::positive::<Amps>)?;
    sheet.bead_ohm = part.optional("bead_resistance", Item::positive::<Ohms>)?;
    sheet.melting_a2s = part.optional("melting_i2t", Item::positive::<AmpSquaredSeconds>)?;
    sheet.rated_a = part.optional("rated_current", Item::positive::<Amps>)?;
    sheet.trip_a = part.optional("trip_current", Item::positive::<Amps>)?;
    sheet.voltage_max_v = part.optional("voltage_max", Item::positive::<Volts>)?;
    sheet.reset_v = part.optional("reset_voltage", Item::positive::<Volts>)?;
    Ok(())
}
