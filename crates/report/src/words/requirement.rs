//! What a part must be, in words.

use tidewall_assess::requirement::{Demand, Requirement};
use tidewall_assess::result::Bound;
use tidewall_units::{Quantity, Volts};

use super::number::in_one_unit;

/// The window for the clamp voltage, or that there is none.
pub fn window(requirement: &Requirement) -> String {
    match (requirement.window, walls(requirement)) {
        (Some(true), Some((wall, top))) => format!("the clamp must live between {wall} and {top}"),
        (Some(true), None) => "the pin is safe at any clamp voltage searched".to_owned(),
        (Some(false), _) => "shut: no single part in this place holds the pin inside its limits".to_owned(),
        (None, _) => "not known: see what is missing".to_owned(),
    }
}

/// Left wall and lowest of the right walls.
fn walls(requirement: &Requirement) -> Option<(String, String)> {
    let limited = requirement.stresses.iter().filter(|stress| !stress.open_above);
    let top = limited
        .filter_map(|stress| stress.highest_clamp_v)
        .reduce(f64::min)?;
    Some((Volts(requirement.wall_v?).rounded(3), Volts(top).rounded(3)))
}

/// A value with its unit.
pub fn quantity(value: f64, unit: &str) -> String {
    let (texts, unit) = in_one_unit(&[Some(value)], unit);
    format!("{} {unit}", texts.first().map_or("", String::as_str))
        .trim_end()
        .to_owned()
}

/// What a bound asks of the part, why, and where it comes from.
pub fn asks(demand: &Demand) -> String {
    let bound = match demand.bound {
        Bound::AtLeast => "at least",
        Bound::AtMost => "at most",
    };
    match (demand.value, &demand.missing) {
        (Some(value), _) => {
            let origin = demand
                .origin
                .as_ref()
                .map_or(String::new(), |origin| format!(" [{origin}]"));
            format!("{bound} {}: {}{origin}", quantity(value, demand.unit), demand.why)
        }
        (None, missing) => format!(
            "{bound} an unknown value: {}; give {}",
            demand.why,
            missing.as_deref().unwrap_or("the datum")
        ),
    }
}
