//! IEC 61000-4-2, ISO 10605, JS-001, transmission-line pulses.

use tidewall_units::{Amps, Farads, Ohms, Quantity, Seconds, Volts};

use super::{AmplitudeTolerance, Disturbance, Mark, Peaks, RequestError, Sign, StressRequest, levels};
use crate::generator::esd::{self, DischargeNetwork};

/// Peak current of every contact network in amperes per volt of charge (IEC 61000-4-2 Ed.2 Table 3, ISO 10605; from
/// memory).
const PEAK_A_PER_V: f64 = 3.75e-3;

const CAUTION_AIR: &str = "the standard does not specify the air-discharge waveform; the contact waveform at the \
                           same voltage is used as an upper bound of its slew";

pub(super) fn iec_61000_4_2(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&[
        "edition",
        "level_v",
        "level_name",
        "discharge",
        "model",
        "polarity",
    ])?;
    if request.edition.is_some() {
        request.key(
            "edition",
            &request.edition,
            &[("2", ()), ("2008", ())],
            "the second edition is implemented",
        )?;
    }
    let air = request.key(
        "discharge",
        &request.discharge,
        &[("contact", false), ("air", true)],
        "",
    )?;
    let table = if air {
        levels::DISCHARGE_AIR
    } else {
        levels::DISCHARGE_CONTACT
    };
    let level_v = request.level(table, "")?;
    let analytic = match &request.model {
        None => false,
        model => request.key("model", model, &[("circuit", false), ("current", true)], "")?,
    };
    let network = if analytic {
        esd::analytic_discharge(level_v, 0)
    } else {
        esd::discharge(&esd::C150_R330, level_v, 0)
    };
    let title = format!(
        "IEC 61000-4-2 {} discharge, {}",
        if air { "air" } else { "contact" },
        Volts(level_v)
    );
    let mut found = contact("IEC 61000-4-2", title, network, level_v, request.polarities()?)
        // From memory: Table 3.
        .within(AmplitudeTolerance::symmetrical(0.15))
        .sourced(
            "level",
            "IEC 61000-4-2 Ed.2, summary of the level table",
            Mark::Seen,
        )
        .sourced(
            "current 3.75 A/kV ±15 %, 0.8 ns ±25 %, 2 A/kV at 30 ns and 1 A/kV at 60 ns ±30 %",
            "IEC 61000-4-2 Ed.2 Table 3 (from memory)",
            Mark::Memory,
        )
        .sourced(
            "ten discharges of each polarity",
            "test-house page on IEC 61000-4-2",
            Mark::Seen,
        );
    found = if analytic {
        found.sourced(
            "current source of the informative formula: it does not answer to the load",
            "IEC 61000-4-2 Ed.2 clause 6 (constants from memory, checked against the current table)",
            Mark::Memory,
        )
    } else {
        found.sourced(
            "150 pF / 330 Ω; two-branch circuit fitted to the current table",
            "IEC 61000-4-2 Ed.2; fit worked out and checked",
            Mark::Derived,
        )
    };
    if air {
        found = found.sourced("waveform", CAUTION_AIR, Mark::Derived);
    }
    Ok(found)
}

pub(super) fn iso_10605(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_v", "discharge", "storage_f", "discharge_ohm", "polarity"])?;
    let air = request.key(
        "discharge",
        &request.discharge,
        &[("contact", false), ("air", true)],
        "",
    )?;
    let level_v = request.level(&[], "2 kV to 15 kV contact, 2 kV to 25 kV air by category")?;
    let pick = |field: &'static str, value: Option<f64>, choices: [f64; 2], text: [String; 2], hint: &str| {
        let near = |choice: &&f64| value.is_some_and(|value| (value / **choice - 1.0).abs() < 0.01);
        choices.iter().find(near).copied().ok_or_else(|| {
            let message = value.map_or("missing".to_owned(), |value| {
                format!("{value} (SI unit) is not one of them")
            });
            RequestError::new(field, message, text, hint)
        })
    };
    // From memory: ISO 10605:2008.
    let storage_f = pick(
        "storage_f",
        request.storage_f,
        [150e-12, 330e-12],
        ["150 pF".to_owned(), "330 pF".to_owned()],
        "330 pF inside the vehicle, 150 pF reached from outside",
    )?;
    // From memory: ISO 10605:2008.
    let discharge_ohm = pick(
        "discharge_ohm",
        request.discharge_ohm,
        [330.0, 2000.0],
        ["330 Ω".to_owned(), "2 kΩ".to_owned()],
        "330 Ω metal tip, 2 kΩ skin",
    )?;
    let is_wanted = |network: &&DischargeNetwork| {
        (network.storage_f / storage_f - 1.0).abs() < 0.01
            && (network.discharge_ohm / discharge_ohm - 1.0).abs() < 0.01
    };
    let network = esd::NETWORKS.iter().find(is_wanted).ok_or_else(|| {
        RequestError::new(
            "discharge_ohm",
            "no such network",
            ["150 pF or 330 pF with 330 Ω or 2 kΩ"],
            "",
        )
    })?;
    let title = format!(
        "ISO 10605 {} discharge, {}, {} / {}",
        if air { "air" } else { "contact" },
        Volts(level_v),
        Farads(network.storage_f).rounded(3),
        Ohms(network.discharge_ohm)
    );
    // From memory: ISO 10605:2008, of the first peak.
    let tolerance = if discharge_ohm < 1000.0 {
        AmplitudeTolerance::symmetrical(0.10)
    } else {
        AmplitudeTolerance {
            below: 0.0,
            above: 0.30,
        }
    };
    let circuit = esd::discharge(network, level_v, 0);
    let mut found = contact("ISO 10605", title, circuit, level_v, request.polarities()?)
        .within(tolerance)
        .sourced(
            "network and current table",
            "ISO 10605:2008 (from memory; late currents checked)",
            Mark::Memory,
        )
        .sourced(
            "two-branch circuit",
            "fit to the current table, worked out and checked",
            Mark::Derived,
        );
    // The count is that of the basic standard; ISO 10605 was not at hand.
    found.impulses_per_polarity = None;
    found.interval_s = None;
    if air {
        found = found.sourced("waveform", CAUTION_AIR, Mark::Derived);
    }
    Ok(found)
}

fn contact(
    standard: &'static str,
    title: String,
    network: crate::Network,
    level_v: f64,
    polarities: Vec<Sign>,
) -> Disturbance {
    let peaks = Peaks {
        open_circuit_v: level_v,
        short_circuit_a: PEAK_A_PER_V * level_v,
    };
    Disturbance::new(standard, title, network, peaks)
        .with_polarities(polarities)
        .repeated(10, 1.0)
}

pub(super) fn human_body_model(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_v", "polarity"])?;
    let level_v = request.level(&[], "for example 2 kV")?;
    let title = format!("Human-body model, {}", Volts(level_v));
    // Read in the specification sheet of a tester: 1500 Ω of JS-001.
    let peaks = Peaks::behind(level_v, 1500.0);
    Ok(Disturbance::new("HBM", title, esd::human_body(level_v, 0), peaks)
        .with_polarities(request.polarities()?)
        .within(AmplitudeTolerance::symmetrical(0.10))
        .sourced(
            "100 pF / 1500 Ω, 0.67 A/kV ±10 %",
            "JS-001, specification sheet of a tester",
            Mark::Seen,
        )
        .sourced(
            "5 µH in series",
            "chosen so that rise, peak and decay are inside JS-001's limits",
            Mark::Derived,
        ))
}

pub(super) fn transmission_line_pulse(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_v", "current_a", "width_s", "rise_s", "polarity"])?;
    // 50 Ω (ANSI/ESD STM5.5.1, IEC 62615; from memory); bounds of the request: numerical choice.
    let open_circuit_v = match (request.level_v, request.current_a) {
        (Some(_), Some(_)) => {
            return Err(RequestError::new(
                "current_a",
                "the level is stated twice",
                ["one of level_v (charge voltage), current_a (into a short)"],
                "",
            ));
        }
        (None, Some(_)) => {
            50.0 * StressRequest::number(
                "current_a",
                request.current_a,
                (1e-6, 2e4),
                "a current above zero",
                "",
            )?
        }
        (Some(_), None) => request.voltage("charge voltage of the line")?,
        (None, None) => {
            return Err(RequestError::new(
                "current_a",
                "missing",
                ["current_a (into a short)", "level_v (charge voltage)"],
                "16 A compares with the 30 ns current of an 8 kV contact discharge (common practice)",
            ));
        }
    };
    // Bounds of the request: numerical choice.
    let width_s = StressRequest::number(
        "width_s",
        request.width_s,
        (0.5e-9, 1e-3),
        "a width, usually 100 ns",
        "",
    )?;
    let rise_s = StressRequest::number(
        "rise_s",
        request.rise_s,
        (1e-11, 1e-3),
        "a rise time, usually 10 ns",
        "",
    )?;
    // Derived: 10 % to 90 % of a straight edge.
    if rise_s / 0.8 > width_s {
        return Err(RequestError::new(
            "rise_s",
            "the edges are longer than the pulse",
            ["less than 0.8 × width"],
            "",
        ));
    }
    // 50 Ω: from memory.
    let title = format!(
        "TLP, {} from 50 Ω, {} wide",
        Amps(open_circuit_v / 50.0).rounded(4),
        Seconds(width_s).rounded(4)
    );
    let network = esd::transmission_line_pulse(open_circuit_v, rise_s, width_s, 0);
    // 50 Ω: from memory.
    Ok(
        Disturbance::new("TLP", title, network, Peaks::behind(open_circuit_v, 50.0))
            .with_polarities(request.polarities()?)
            .sourced(
                "rectangular pulse from a charged line",
                "ANSI/ESD STM5.5.1 scope",
                Mark::Seen,
            )
            .sourced("50 Ω", "ANSI/ESD STM5.5.1, IEC 62615 (from memory)", Mark::Memory),
    )
}
