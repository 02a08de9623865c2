//! Ring wave of IEC 61000-4-12, and pin injection of RTCA DO-160 section 22.

use tidewall_units::{Ohms, Quantity, Volts};

use super::{AmplitudeTolerance, Disturbance, Mark, Peaks, RequestError, StressRequest, levels};
use crate::fit::{Definition, double_exponential};
use crate::forms;
use crate::generator::Drive;
use crate::generator::surge::POWER_DECOUPLING_H;
use crate::generator::thevenin;

pub(super) fn iec_61000_4_12(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_v", "level_name", "coupling", "source_ohm", "polarity"])?;
    let between = request.key(
        "coupling",
        &request.coupling,
        &[("line-line", true), ("line-earth", false)],
        "",
    )?;
    let table = if between {
        levels::RING_LINE_LINE
    } else {
        levels::RING_LINE_EARTH
    };
    let level_v = request.level(table, "")?;
    // IEC 61000-4-12 (from memory).
    let choices = [12.0, 30.0, 200.0];
    let source_ohm = choices
        .into_iter()
        .find(|ohm| request.source_ohm == Some(*ohm))
        .ok_or_else(|| {
            let stated = request.source_ohm;
            RequestError::new(
                "source_ohm",
                stated.map_or("missing".to_owned(), |ohm| {
                    format!("{} is not one of the standard's", Ohms(ohm))
                }),
                ["12 Ω", "30 Ω", "200 Ω"],
                "12 Ω near the service entrance, 30 Ω at outlets, 200 Ω for signal ports",
            )
        })?;
    let drive = if between && request.line_count()? == 2 {
        Drive::LineToLine
    } else {
        Drive::LineToEarth
    };
    let shape = forms::ring_wave_100_khz();
    // Eight periods; coupling and decoupling that take a hundredth (numerical choice).
    let source = thevenin::source(&shape, level_v, source_ohm, drive, 80e-6, 0.1e-6);
    // Numerical choice, as above.
    let network = thevenin::superimposed(source, 60e-6, POWER_DECOUPLING_H.max(source_ohm * 600e-6));
    let title = format!(
        "IEC 61000-4-12 ring wave, {} from {}, {}",
        Volts(level_v).rounded(4),
        Ohms(source_ohm),
        if between { "line to line" } else { "line to earth" }
    );
    Ok(Disturbance::new(
        "IEC 61000-4-12",
        title,
        network,
        Peaks::behind(level_v, source_ohm),
    )
    .with_polarities(request.polarities()?)
    .within(AmplitudeTolerance::symmetrical(0.10))
    .sourced(
        "level, impedance, wave, ±10 %",
        "IEC 61000-4-12, IEEE C62.41.2 (from memory; form checked)",
        Mark::Memory,
    )
    .sourced(
        "coupling capacitor taken as large",
        "its value was not at hand",
        Mark::Derived,
    ))
}

pub(super) fn do_160(request: &StressRequest) -> Result<Disturbance, RequestError> {
    let waves = [("WF3", 0_usize), ("WF4", 1), ("WF5A", 2)];
    let wave = request.key("pulse", &request.pulse, &waves, "pin injection of section 22")?;
    let mut used = vec!["level_v", "level_name", "across", "polarity", "pulse"];
    if wave == 0 {
        used.push("frequency_hz");
    }
    request.only(&used)?;
    let micro = 1e-6;
    let timed = |peak_us: f64, half_us: f64| {
        double_exponential(peak_us * micro, half_us * micro, Definition::PeakTime)
            .map_err(|error| RequestError::new("pulse", error.to_string(), ["WF3", "WF4", "WF5A"], ""))
    };
    let (shape, table, source_ohm, lasts_s, finest_s) = match wave {
        0 => {
            let hint = "both are usual";
            let frequency_hz = StressRequest::number(
                "frequency_hz",
                request.frequency_hz,
                (1e6, 10e6),
                "1 MHz or 10 MHz",
                hint,
            )?;
            let shape = forms::damped_sine_over_four_cycles(frequency_hz, 0.5);
            (
                shape,
                levels::DO_160_WF3,
                25.0,                // read in a white paper on waveform 3
                40.0 / frequency_hz, // length: numerical choice
                0.05 / frequency_hz, // finest scale: numerical choice
            )
        }
        // Read in a test-house page on section 22 (times) and a receiver datasheet (5 Ω).
        1 => (timed(6.4, 69.0)?, levels::DO_160_WF4, 5.0, 69.0 * micro, micro),
        // Read in the same (40 µs and 120 µs, 1 Ω).
        _ => (
            timed(40.0, 120.0)?,
            levels::DO_160_WF5A,
            1.0,
            120.0 * micro,
            5.0 * micro, // finest scale: numerical choice
        ),
    };
    let level_v = request.level(table, "")?;
    // Numerical choice: long enough for the tail.
    let duration_s = if wave == 0 { lasts_s } else { 8.0 * lasts_s };
    let source = thevenin::source(
        &shape,
        level_v,
        source_ohm,
        request.drive()?,
        duration_s,
        finest_s,
    );
    // The standard injects in series with the supply: the decoupling takes a hundredth.
    let network = thevenin::superimposed(source, lasts_s, 100.0 * source_ohm * lasts_s);
    let title = format!(
        "DO-160 {}, {} from {}",
        waves[wave].0,
        Volts(level_v).rounded(4),
        Ohms(source_ohm)
    );
    let found = Disturbance::new("DO-160", title, network, Peaks::behind(level_v, source_ohm))
        .with_polarities(request.polarities()?)
        .sourced("level 3", "receiver datasheet quoting DO-160E", Mark::Seen)
        .sourced(
            "other levels",
            "RTCA DO-160 section 22 (from memory; 25, 5 and 1 Ω follow)",
            Mark::Memory,
        )
        .sourced("wave timings", "test-house page on DO-160 section 22", Mark::Seen);
    Ok(if wave == 0 {
        found.sourced(
            "half the amplitude left after four cycles",
            "middle of the allowed 25 % to 75 %",
            Mark::Derived,
        )
    } else {
        found
    })
}
