//! Capacitance from measured network parameters.

use std::fmt::Write as _;

use tidewall_devices::datasheet::{CapacitancePoint, Datasheet, Spread};
use tidewall_interchange::touchstone::{self, Fixture};
use tidewall_units::{Hertz, Quantity, Volts};

use crate::error::StudyError;
use crate::files::Files;
use crate::table::Section;

const FIXTURES: &[(&str, Fixture)] = &[
    ("one-port", Fixture::OnePort),
    ("series", Fixture::Series),
    ("shunt", Fixture::Shunt),
];

/// Adds the capacitance of `capacitance_touchstone` as a typical value at its bias, and names the file in the source.
pub(super) fn fill(
    part: &Section<'_>,
    sheet: &mut Datasheet,
    files: &mut Files<'_>,
) -> Result<(), StudyError> {
    let Some(item) = part.get("capacitance_touchstone") else {
        return Ok(());
    };
    let section = item.table(&["file", "fixture", "at", "bias"])?;
    let name = section.require("file", "the name of the Touchstone file")?;
    let fixture_item = section.require(
        "fixture",
        "how the part was measured: \"one-port\" to ground, \"series\" in the line, \"shunt\" from the line to ground",
    )?;
    let fixture = fixture_item.choice(FIXTURES)?;
    let at = section.require("at", "the frequency the capacitance is taken at")?;
    let frequency_hz = at.positive::<Hertz>()?;
    let bias = section.require("bias", "the bias of the measurement; 0 V is usual")?;
    let bias_v = bias.not_negative::<Volts>()?;
    if sheet.capacitance.iter().any(|point| point.bias_v == bias_v) {
        return Err(bias.error(
            "`capacitance` already gives a value at this bias",
            "one capacitance at each bias",
            "remove one of the two",
        ));
    }
    let source = files.text(&name)?;
    let network = touchstone::read(&source.text, touchstone::ports_of_name(&source.name))
        .map_err(|fault| source.error(fault.span.clone(), fault.message, fault.expected, fault.hint))?;
    let found = touchstone::part_at(&network, fixture, frequency_hz).map_err(|why| {
        let place = match why {
            touchstone::NoPart::Parameter | touchstone::NoPart::Ports(_) | touchstone::NoPart::Reference => {
                &fixture_item
            }
            _ => &at,
        };
        place.error(
            format!("{}: {why}", source.name),
            "a frequency that the file covers, at which the part is a capacitance the fixture can tell",
            "one-port files for \"one-port\"; two-port files of equal reference for \"series\" and \"shunt\"",
        )
    })?;
    sheet.capacitance.push(CapacitancePoint {
        bias_v,
        capacitance_f: Spread {
            typ: Some(found.capacitance_f),
            ..Spread::default()
        },
    });
    let mut text = sheet.source.to_string();
    // Writing to a string cannot fail.
    let _ = write!(
        text,
        "; capacitance at {} from {} ({}, at {})",
        Volts(bias_v).rounded(3),
        source.name,
        fixture_item.text()?,
        Hertz(frequency_hz).rounded(4)
    );
    sheet.source = text.into();
    Ok(())
}
