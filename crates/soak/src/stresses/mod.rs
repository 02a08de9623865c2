//! Random stresses: every standard of the catalogue, every coupling, levels over their decades, both ends of the
//! generator's amplitude tolerance, both polarities.

mod discharges;
mod surges;
mod vehicles;

use tidewall_stress::catalogue::RequestError;
use tidewall_stress::{Disturbance, Network, StressRequest, disturbance};

use crate::dice::Dice;

/// A stress for a port of `lines` lines, with a name for messages.
///
/// # Errors
/// The catalogue refuses the request, which would be a defect of the draws here.
pub fn stress(dice: &mut Dice, lines: usize) -> Result<(String, Network), RequestError> {
    let request = request(dice, lines);
    let found = disturbance(&request)?;
    let factor = factor(dice, &found);
    let title = format!("{} × {factor:.3}", found.title);
    Ok((title, found.network.scaled(factor)))
}

/// Polarity and the end of the amplitude tolerance; at times a level far above or below, as a search for the highest
/// level takes it.
fn factor(dice: &mut Dice, found: &Disturbance) -> f64 {
    let sign = found.polarities[dice.below(found.polarities.len())].factor();
    let tolerance = found.amplitude_tolerance;
    sign * match dice.below(10) {
        0 => dice.log(0.01, 10.0),
        1..=3 => 1.0,
        4..=6 => 1.0 - tolerance.map_or(0.0, |tolerance| tolerance.below),
        _ => 1.0 + tolerance.map_or(0.0, |tolerance| tolerance.above),
    }
}

/// A complete request of any standard.
fn request(dice: &mut Dice, lines: usize) -> StressRequest {
    let mut request = match dice.below(16) {
        0..=2 => surges::combination(dice, lines),
        3 => surges::ring(dice),
        4 => surges::itu(dice),
        5 => surges::telecom(dice),
        6 => surges::aircraft(dice),
        7 => surges::impulse(dice),
        8 => surges::samples(dice),
        9..=11 => discharges::discharge(dice),
        12 => discharges::pulse(dice),
        13 => discharges::burst(dice),
        14 => vehicles::pulse(dice),
        _ => vehicles::load_dump(dice),
    };
    request.lines = lines;
    let open = ["impulse", "samples", "ISO 7637-2", "ISO 16750-2", "DO-160"];
    let coupling = request.coupling.as_deref().unwrap_or_default();
    let surge = request.standard == "IEC 61000-4-5";
    if open.contains(&request.standard.as_str())
        || surge && (coupling == "direct" || coupling.starts_with("telecom"))
    {
        let across: &[&str] = if lines == 2 {
            &["line-line", "line-earth", "both-earth"]
        } else {
            &["line-earth"]
        };
        request.across = key(dice.pick(across));
    }
    request
}

fn base(standard: &str) -> StressRequest {
    StressRequest {
        standard: standard.to_owned(),
        polarity: key("both"),
        ..StressRequest::default()
    }
}

fn key(text: &str) -> Option<String> {
    Some(text.to_owned())
}
