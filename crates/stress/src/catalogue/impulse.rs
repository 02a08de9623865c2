//! Any front and tail, and recorded waveforms.

use tidewall_units::{Amps, Quantity, Seconds, Volts};

use super::{Disturbance, Mark, Peaks, RequestError, StressRequest};
use crate::fit::{self, Definition};
use crate::forms;
use crate::generator::Drive;
use crate::generator::surge::SIGNAL_DECOUPLING_H;
use crate::generator::thevenin::{self, LARGE_COMPLIANCE_OHM};
use crate::network::Network;
use crate::waveform::Shape;

/// A source of the given front and tail on the port's working voltage, and the name of its form.
pub(super) fn network(
    (front_s, tail_s): (f64, f64),
    definition: Definition,
    peak_v: f64,
    source_ohm: f64,
    drive: Drive,
) -> Result<(Network, &'static str), RequestError> {
    let shape = fit::impulse(front_s, tail_s, definition).map_err(|error| {
        RequestError::new(
            "tail_s",
            error.to_string(),
            ["a tail of at least about 1.2 times the front"],
            "a recorded waveform can be given as samples",
        )
    })?;
    let form = if matches!(shape, Shape::DoubleExponential { .. }) {
        "double exponential"
    } else {
        "power exponential"
    };
    // Eight tails leave less than a hundredth (numerical choice).
    let network = thevenin::source(&shape, peak_v, source_ohm, drive, 8.0 * tail_s, 0.1 * front_s);
    Ok((on_working_voltage(network, tail_s, source_ohm), form))
}

/// The supply is decoupled in the ratio that the surge standard's 20 mH has to 42 Ω and 50 µs (20 mH from memory).
fn on_working_voltage(network: Network, lasts_s: f64, source_ohm: f64) -> Network {
    let decoupling_h = SIGNAL_DECOUPLING_H * (source_ohm.min(42.0) / 42.0) * (lasts_s / 50e-6);
    thevenin::superimposed(network, lasts_s, decoupling_h)
}

/// Amplitude: the source voltage, its resistance, and whether it is a current that was stated.
fn amplitude(request: &StressRequest) -> Result<(f64, f64, bool), RequestError> {
    let ohm = |value| {
        StressRequest::number(
            "source_ohm",
            value,
            (1e-3, 1e6),
            "a resistance between 1 mΩ and 1 MΩ",
            "",
        )
    };
    let ampere = |value| {
        StressRequest::number(
            "current_a",
            value,
            (1e-6, 1e6),
            "a current between 1 µA and 1 MA",
            "",
        )
    };
    match (request.level_v, request.current_a, request.source_ohm) {
        (Some(_), Some(_), Some(_)) => Err(RequestError::new(
            "source_ohm",
            "voltage, current and resistance are all stated",
            ["two of level_v, current_a, source_ohm"],
            "the third follows from the other two",
        )),
        (Some(_), Some(current), None) => {
            let (volts, amperes) = (request.voltage("")?, ampere(Some(current))?);
            Ok((volts, ohm(Some(volts / amperes))?, true))
        }
        (Some(_), None, Some(source)) => Ok((request.voltage("")?, ohm(Some(source))?, false)),
        (None, Some(current), Some(source)) => {
            let (amperes, source_ohm) = (ampere(Some(current))?, ohm(Some(source))?);
            Ok((amperes * source_ohm, source_ohm, true))
        }
        (None, Some(current), None) => Ok((
            ampere(Some(current))? * LARGE_COMPLIANCE_OHM,
            LARGE_COMPLIANCE_OHM,
            true,
        )),
        (Some(_), None, None) => Err(RequestError::new(
            "source_ohm",
            "missing",
            ["source_ohm in ohms", "current_a (into a short) in amperes"],
            "without it the current is not known",
        )),
        (None, None, _) => Err(RequestError::new(
            "level_v",
            "missing",
            [
                "level_v (open circuit) with source_ohm or current_a",
                "current_a alone for a current source",
            ],
            "",
        )),
    }
}

pub(super) fn impulse(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&[
        "level_v",
        "current_a",
        "source_ohm",
        "front_s",
        "tail_s",
        "across",
        "polarity",
    ])?;
    let times = (1e-12, 1e3);
    let front_s = StressRequest::number(
        "front_s",
        request.front_s,
        times,
        "a front time, for example 8 µs",
        "",
    )?;
    let tail_s = StressRequest::number(
        "tail_s",
        request.tail_s,
        times,
        "a time to half value, for example 20 µs",
        "",
    )?;
    let (peak_v, source_ohm, by_current) = amplitude(request)?;
    let definition = if by_current {
        Definition::Current
    } else {
        Definition::Voltage
    };
    let drive = request.drive()?;
    let (network, form) = network((front_s, tail_s), definition, peak_v, source_ohm, drive)?;
    let level = level_text(peak_v, source_ohm, by_current);
    let title = format!(
        "Impulse {}/{}, {level}",
        Seconds(front_s).rounded(4),
        Seconds(tail_s).rounded(4)
    );
    let found = Disturbance::new("impulse", title, network, Peaks::behind(peak_v, source_ohm))
        .with_polarities(request.polarities()?)
        .sourced(
            &format!(
                "{form}; front and tail by the {} definition",
                if by_current { "current" } else { "voltage" }
            ),
            "IEC 60060-1 definitions; constants worked out",
            Mark::Derived,
        );
    Ok(noted(found, source_ohm))
}

pub(super) fn samples(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["samples", "quantity", "source_ohm", "across", "polarity"])?;
    let Some(points) = &request.samples else {
        return Err(RequestError::new(
            "samples",
            "missing",
            ["points of time and value"],
            "",
        ));
    };
    let is_current = request.key(
        "quantity",
        &request.quantity,
        &[("voltage", false), ("current", true)],
        "what the values are",
    )?;
    let source_ohm = match (request.source_ohm, is_current) {
        (None, true) => LARGE_COMPLIANCE_OHM,
        (value, _) => StressRequest::number(
            "source_ohm",
            value,
            (1e-3, 1e6),
            "a resistance between 1 mΩ and 1 MΩ",
            "a recorded voltage drives the port through a resistance",
        )?,
    };
    let shape = forms::samples(points).map_err(|error| {
        RequestError::new(
            "samples",
            error.to_string(),
            ["times from zero on, strictly ascending, in seconds"],
            "",
        )
    })?;
    let peak = points.iter().fold(
        0.0,
        |peak: f64, point| if point.1.abs() > peak.abs() { point.1 } else { peak },
    );
    // A recording is run as it is; the polarity says only whether it is turned as well.
    let factor = if is_current { source_ohm } else { 1.0 };
    let lasts_s = points.last().map_or(0.0, |point| point.0);
    let finest_s = points
        .windows(2)
        .map(|pair| pair[1].0 - pair[0].0)
        .fold(lasts_s, f64::min);
    if finest_s < 1e-15 || !(peak * factor).is_finite() || (peak * factor).abs() > 1e10 {
        return Err(RequestError::new(
            "samples",
            "out of range",
            ["points at least 1 fs apart, values of a real surge"],
            "",
        ));
    }
    let drive = request.drive()?;
    let network = thevenin::source(&shape, factor, source_ohm, drive, lasts_s, finest_s);
    let network = on_working_voltage(network, lasts_s, source_ohm);
    let title = format!(
        "Recorded waveform, {} points, {}",
        points.len(),
        level_text(peak.abs() * factor, source_ohm, is_current)
    );
    let found = Disturbance::new(
        "samples",
        title,
        network,
        Peaks::behind(peak.abs() * factor, source_ohm),
    )
    .with_polarities(request.polarities()?)
    .sourced(
        "waveform",
        "the study's own samples, straight lines between them",
        Mark::Seen,
    );
    Ok(noted(found, source_ohm))
}

fn level_text(peak_v: f64, source_ohm: f64, by_current: bool) -> String {
    if by_current {
        Amps(peak_v / source_ohm).rounded(4)
    } else {
        format!(
            "{} from {}",
            Volts(peak_v).rounded(4),
            tidewall_units::Ohms(source_ohm).rounded(4)
        )
    }
}

fn noted(found: Disturbance, source_ohm: f64) -> Disturbance {
    if source_ohm == LARGE_COMPLIANCE_OHM {
        found.sourced(
            "current source as a voltage behind 10 kΩ: short by 0.1 % into 10 Ω",
            "choice of this program",
            Mark::Derived,
        )
    } else {
        found
    }
}
