//! Road vehicles: ISO 7637-2 pulses and the ISO 16750-2 load dump, as shapes with a source resistance.
//!
//! A real generator's pulse shortens into a low-impedance clamp; an ideal source behind its resistance does
//! not, so this representation is the severe one.

use super::{Drive, thevenin};
use crate::fit::{self, Definition, FitError};
use crate::network::Network;
use crate::waveform::Shape;

/// A pulse of ISO 7637-2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pulse {
    /// Disconnection of an inductive load: negative, the supply is interrupted.
    One,
    /// Sudden interruption of current in a parallel load.
    TwoA,
    /// DC motor acting as a generator after the ignition is switched off; the supply is interrupted.
    TwoB,
    /// Switching, negative fast bursts.
    ThreeA,
    /// Switching, positive fast bursts.
    ThreeB,
}

/// One pulse of ISO 7637-2:2011, magnitude `peak_v` at open circuit, behind `source_ohm`; `duration_s` is td.
///
/// # Errors
/// [`FitError`] where no double exponential has the rise and duration asked for.
pub fn pulse(
    pulse: Pulse,
    peak_v: f64,
    rise_s: f64,
    duration_s: f64,
    source_ohm: f64,
    drive: Drive,
) -> Result<Network, FitError> {
    let shape = match pulse {
        Pulse::TwoB => fit::ramp_exponential(rise_s, duration_s, 0.0)?,
        _ => fit::double_exponential(rise_s, duration_s, Definition::TenPercent)?,
    };
    // Three durations, so that the tail has gone (numerical choice).
    let network = thevenin::source(&shape, peak_v, source_ohm, drive, 3.0 * duration_s, rise_s);
    Ok(match pulse {
        Pulse::One | Pulse::TwoB => network,
        Pulse::TwoA | Pulse::ThreeA | Pulse::ThreeB => {
            // The standard's generator is in series with the supply: the decoupling takes a hundredth.
            thevenin::superimposed(network, duration_s, 100.0 * source_ohm * duration_s)
        }
    })
}

/// Test A of ISO 16750-2: `peak_v` counted from 0 V, standing on the alternator's `supply_v`; rise 10 ms as a
/// straight ramp, then an exponential with the 10–10 % duration `duration_s`.
///
/// With a `suppressed_v` (test B) the central suppressor cuts the voltage at that level.
///
/// # Errors
/// [`FitError`] for times that do not make the form.
pub fn load_dump(
    peak_v: f64,
    supply_v: f64,
    rise_s: f64,
    duration_s: f64,
    source_ohm: f64,
    suppressed_v: Option<f64>,
    drive: Drive,
) -> Result<Network, FitError> {
    let unit = |level_v: f64| fit::ramp_exponential(rise_s, duration_s, supply_v / level_v);
    let shape = unit(peak_v)?;
    let (shape, level_v) = match (shape, suppressed_v) {
        (Shape::RampExponential { ramp_s, tau_s, .. }, Some(cut_v)) if cut_v < peak_v => {
            // Share of the rise above the supply at which the suppressor cuts.
            let share = (cut_v - supply_v) / (peak_v - supply_v);
            if share <= 0.0 {
                return Err(FitError::BadTimes {
                    front_s: rise_s,
                    tail_s: duration_s,
                });
            }
            let top_s = ramp_s * (1.0 - share) - tau_s * share.ln();
            (
                Shape::RampExponential {
                    base: supply_v / cut_v,
                    ramp_s: ramp_s * share,
                    top_s,
                    tau_s,
                },
                cut_v,
            )
        }
        (shape, _) => (shape, peak_v),
    };
    Ok(thevenin::source(
        &shape,
        level_v,
        source_ohm,
        drive,
        3.0 * duration_s, // length: numerical choice
        rise_s,
    ))
}
