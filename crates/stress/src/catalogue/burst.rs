//! IEC 61000-4-4.

use tidewall_units::{Hertz, Quantity, Volts};

use super::{
    AmplitudeTolerance, BurstTrain, Disturbance, Mark, Peaks, PortUse, RequestError, StressRequest, levels,
};
use crate::generator::Drive;
use crate::generator::burst::{self, BurstCoupling};

pub(super) fn iec_61000_4_4(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_v", "level_name", "coupling", "repetition_hz", "polarity"])?;
    let couplings = [
        ("network", (BurstCoupling::Network33Nf, "33 nF coupling network")),
        (
            "clamp-100pF",
            (BurstCoupling::Clamp100Pf, "capacitive clamp, 100 pF"),
        ),
        (
            "clamp-200pF",
            (BurstCoupling::Clamp200Pf, "capacitive clamp, 200 pF"),
        ),
        ("direct", (BurstCoupling::Direct, "bare generator")),
    ];
    let (coupling, coupling_text) = request.key(
        "coupling",
        &request.coupling,
        &couplings,
        "supply ports use the network, signal cables the clamp",
    )?;
    let by_name = request.level_v.is_none();
    let table = match request.port {
        Some(PortUse::Signal) => levels::BURST_SIGNAL,
        Some(_) => levels::BURST_SUPPLY,
        None if by_name && request.level_name.is_some() => {
            return Err(RequestError::new(
                "level_v",
                "a named level differs between supply and signal ports, and the port does not say which it is",
                ["level_v in volts"],
                "",
            ));
        }
        None => &[],
    };
    let level_v = request.level(table, "")?;
    // Read in an encyclopaedia and a course page: 5 kHz or 100 kHz.
    let repetition_hz = StressRequest::number(
        "repetition_hz",
        request.repetition_hz,
        (5e3, 100e3),
        "5 kHz or 100 kHz",
        "",
    )?;
    let is = |rate_hz: f64| (repetition_hz / rate_hz - 1.0).abs() < 1e-6;
    // Read in the same.
    if !is(5e3) && !is(100e3) {
        return Err(RequestError::new(
            "repetition_hz",
            format!("{} is not a rate of the standard", Hertz(repetition_hz)),
            ["5 kHz", "100 kHz"],
            "100 kHz is closer to reality, 5 kHz is traditional",
        ));
    }
    let drive = if request.line_count()? == 2 {
        Drive::BothToEarth
    } else {
        Drive::LineToEarth
    };
    // Read in a course page on the standard: a minute.
    let lasts_s = 60.0;
    // Read in a transceiver tutorial: 75 pulses every 300 ms.
    let train = BurstTrain {
        pulses_per_burst: 75,
        repetition_hz,
        period_s: 0.3,
        lasts_s,
    };
    let title = format!(
        "IEC 61000-4-4 burst, {}, {coupling_text}",
        Volts(level_v).rounded(4)
    );
    let network = burst::burst_pulse(level_v, coupling, drive);
    let mut found = Disturbance::new(
        "IEC 61000-4-4",
        title,
        network,
        Peaks::behind(level_v, drive.driven_lines() as f64 * burst::SOURCE_OHM),
    )
    .with_polarities(request.polarities()?)
    // Read in the tutorial: 75 pulses, 200 bursts.
    .repeated(15_000, 1.0 / repetition_hz)
    .within(AmplitudeTolerance::symmetrical(0.10))
    .sourced(
        "level",
        "IEC 61000-4-4, course page and encyclopaedia",
        Mark::Seen,
    )
    .sourced(
        "5/50 ns, 75 pulses, 300 ms",
        "transceiver tutorial on IEC 61000-4-4",
        Mark::Seen,
    )
    .sourced(
        "pulse formula",
        "IEC 61000-4-4 Ed.3 annex (from memory; checked)",
        Mark::Memory,
    )
    .sourced(
        "±10 % into 50 Ω",
        "IEC 61000-4-4 Ed.3 (from memory)",
        Mark::Memory,
    );
    found.train = Some(train);
    if matches!(coupling, BurstCoupling::Clamp100Pf | BurstCoupling::Clamp200Pf) {
        found = found.sourced(
            "clamp as one lumped capacitance: lower in peak and shorter than the real clamp, which is a line",
            "100–200 pF typical (from memory)",
            Mark::Memory,
        );
    }
    Ok(found)
}
