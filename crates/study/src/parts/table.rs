//! Measured V-I tables.

use tidewall_units::{Amps, Volts};

use crate::error::StudyError;
use crate::files::Files;
use crate::samples;
use crate::table::{Item, Section};

/// The points of `table` or `table_csv`, in volts and amperes; empty without either.
pub(super) fn read(part: &Section<'_>, files: &mut Files<'_>) -> Result<Vec<(f64, f64)>, StudyError> {
    let item = match (part.get("table"), part.get("table_csv")) {
        (Some(_), Some(csv)) => {
            return Err(csv.error(
                "the part has both `table` and `table_csv`",
                "one of the two",
                "remove one",
            ));
        }
        (None, None) => return Ok(Vec::new()),
        (Some(item), None) => {
            let points = item.list()?.iter().map(point).collect::<Result<Vec<_>, _>>()?;
            return check(points, |message, expected| item.error(message, expected, ""));
        }
        (None, Some(item)) => item,
    };
    let source = files.text(&item)?;
    let columns = samples::columns(&source)?;
    check(
        columns.pairs::<Volts, Amps>(("voltage", "current"), None)?,
        |message, expected| item.error(message, expected, "the rows must be in order of rising voltage"),
    )
}

fn point(item: &Item<'_>) -> Result<(f64, f64), StudyError> {
    let pair = item.list()?;
    match pair.as_slice() {
        [volts, amps] => Ok((volts.quantity::<Volts>()?, amps.quantity::<Amps>()?)),
        _ => Err(item.error(
            format!("a point of `table` has {} values", pair.len()),
            "[\"VOLTAGE\", \"CURRENT\"], such as [\"36 V\", \"1 A\"]",
            "",
        )),
    }
}

fn check(
    points: Vec<(f64, f64)>,
    error: impl Fn(&str, &str) -> StudyError,
) -> Result<Vec<(f64, f64)>, StudyError> {
    if points.len() < 2 {
        return Err(error(
            "the V-I table has fewer than two points",
            "at least two points",
        ));
    }
    let rises = points
        .windows(2)
        .all(|pair| pair[0].0 < pair[1].0 && pair[0].1 <= pair[1].1);
    if rises {
        Ok(points)
    } else {
        Err(error(
            "the V-I table does not rise",
            "points of rising voltage, with a current that never falls",
        ))
    }
}
