//! ITU-T K.20, K.21, K.45; TIA-968; GR-1089.

use tidewall_units::{Quantity, Volts};

use super::levels::{ImpulseRow, Recommendation};
use super::{Disturbance, Mark, Peaks, RequestError, StressRequest, impulse, levels};
use crate::generator::Drive;
use crate::generator::surge::{SET_D3, SurgeCoupling, combination_wave};
use crate::generator::telecom::{self, TelecomCoupling};

pub(super) fn itu_k20(request: &StressRequest) -> Result<Disturbance, RequestError> {
    itu(request, Recommendation::K20, "ITU-T K.20")
}

pub(super) fn itu_k21(request: &StressRequest) -> Result<Disturbance, RequestError> {
    itu(request, Recommendation::K21, "ITU-T K.21")
}

pub(super) fn itu_k45(request: &StressRequest) -> Result<Disturbance, RequestError> {
    itu(request, Recommendation::K45, "ITU-T K.45")
}

/// Conductors of a test between the wires of a pair, or from all wires to earth.
fn pair_drive(request: &StressRequest, between_wires: bool) -> Result<Drive, RequestError> {
    Ok(match (request.line_count()?, between_wires) {
        (1, _) => Drive::LineToEarth,
        (_, true) => Drive::LineToLine,
        (_, false) => Drive::BothToEarth,
    })
}

fn itu(
    request: &StressRequest,
    recommendation: Recommendation,
    standard: &'static str,
) -> Result<Disturbance, RequestError> {
    request.only(&["level_v", "level_name", "coupling", "polarity"])?;
    request.one_level()?;
    let transverse = request.key(
        "coupling",
        &request.coupling,
        &[("transverse", true), ("port-earth", false)],
        "",
    )?;
    let drive = pair_drive(request, transverse)?;
    let rows = levels::itu_rows(recommendation);
    let names: Vec<(&'static str, usize)> = rows
        .iter()
        .enumerate()
        .map(|(place, row)| (row.name, place))
        .collect();
    let mut internal = false;
    let charge_v = match (&request.level_name, request.level_v) {
        (Some(_), _) => {
            let row = &rows[request.key("level_name", &request.level_name, &names, "or level_v in volts")?];
            internal = row.name.starts_with("internal");
            (if transverse { row.transverse_v } else { row.earth_v }).ok_or_else(|| {
                RequestError::new(
                    "level_name",
                    format!("the level of {standard} {} is not known here", row.name),
                    ["level_v: charge voltage in volts"],
                    "between 1.5 kV and 6 kV; take it from the recommendation",
                )
            })?
        }
        (None, Some(_)) => request.voltage("charge voltage of the 10/700 generator")?,
        (None, None) => {
            let expected = std::iter::once("level_v in volts".to_owned())
                .chain(names.iter().map(|name| format!("level_name {}", name.0)));
            return Err(RequestError::new("level_v", "missing", expected, ""));
        }
    };
    let kind = if transverse { "transverse" } else { "port to earth" };
    let title = format!("{standard} {kind}, {} charge", Volts(charge_v).rounded(4));
    let found = if internal {
        let coupling = SurgeCoupling::Series { resistance_ohm: 10.0 };
        let network = combination_wave(&SET_D3, charge_v, coupling, drive);
        Disturbance::new(
            standard,
            title,
            network,
            Peaks::behind(charge_v, 2.0 * drive.driven_lines() as f64 + 10.0),
        )
        .sourced(
            "1.2/50 through 10 Ω",
            "ITU-T K.44 internal lines (from memory)",
            Mark::Memory,
        )
    } else {
        let coupling = TelecomCoupling {
            wire_ohm: 25.0, // ITU-T K.44 (from memory)
            arrester: false,
        };
        let network = telecom::wave_10_700(charge_v, coupling, drive);
        let open_v = telecom::OPEN_CIRCUIT_PER_CHARGE * charge_v;
        // With both wires shorted the 15 Ω carries the current of both.
        let wires = drive.driven_lines() as f64;
        Disturbance::new(
            standard,
            title,
            network,
            Peaks::behind(open_v, 15.0 * wires + 25.0), // ITU-T K.44 (from memory)
        )
        .sourced(
            "the level is the charge voltage",
            "trade article on the K series (2004)",
            Mark::Seen,
        )
        .sourced(
            "20 µF, 50 Ω, 15 Ω, 0.2 µF, 25 Ω per wire",
            "ITU-T K.44 (from memory; checked)",
            Mark::Memory,
        )
    };
    Ok(found
        .with_polarities(request.polarities()?)
        // ITU-T K series (from memory).
        .repeated(5, 60.0)
        .sourced(
            "level, five of each polarity",
            "ITU-T K series (from memory, low confidence on enhanced rows)",
            Mark::Memory,
        ))
}

pub(super) fn tia_968(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_name", "polarity"])?;
    let rows = &levels::TIA_968_A;
    let names: Vec<(&'static str, usize)> = rows
        .iter()
        .map(|row| row.name)
        .chain(levels::TIA_968_B.iter().map(|row| row.0))
        .enumerate()
        .map(|(place, name)| (name, place))
        .collect();
    let place = request.key("level_name", &request.level_name, &names, "")?;
    let polarities = request.polarities()?;
    if let Some(row) = rows.get(place) {
        // The mains surge stands between line and neutral: one conductor against the return.
        let drive = match row.name {
            "mains" => pair_drive(request, true)?,
            name => pair_drive(request, name.ends_with("metallic"))?,
        };
        return Ok(row_impulse("TIA-968", row, drive)?.with_polarities(polarities));
    }
    let (name, level_v) = levels::TIA_968_B[place - rows.len()];
    let drive = pair_drive(request, name.ends_with("metallic"))?;
    let coupling = TelecomCoupling {
        wire_ohm: 25.0, // TIA-968-B type B, the 10/700 generator (from memory)
        arrester: false,
    };
    let network = telecom::wave_10_700(level_v / telecom::OPEN_CIRCUIT_PER_CHARGE, coupling, drive);
    let wires = drive.driven_lines() as f64;
    let title = format!("TIA-968 type {name}, {}", Volts(level_v));
    Ok(Disturbance::new(
        "TIA-968",
        title,
        network,
        Peaks::behind(level_v, 15.0 * wires + 25.0), // the 10/700 generator (from memory)
    )
    .with_polarities(polarities)
    // TIA-968-B (from memory).
    .repeated(1, 60.0)
    .sourced(
        "1000 V / 25 A, 1500 V / 37.5 A, 9/720",
        "TIA-968-B (from memory; 37.5 A seen)",
        Mark::Memory,
    ))
}

pub(super) fn gr_1089(request: &StressRequest) -> Result<Disturbance, RequestError> {
    request.only(&["level_name", "coupling", "polarity"])?;
    let rows = &levels::GR_1089;
    let names: Vec<(&'static str, usize)> = rows
        .iter()
        .enumerate()
        .map(|(place, row)| (row.name, place))
        .collect();
    let row = &rows[request.key("level_name", &request.level_name, &names, "")?];
    let modes = [("metallic", true), ("longitudinal", false)];
    let named_mode = modes
        .iter()
        .find(|mode| row.name.ends_with(mode.0))
        .map(|mode| mode.1);
    let metallic = match (named_mode, &request.coupling) {
        (None, coupling) => request.key("coupling", coupling, &modes, "")?,
        (Some(mode), None) => mode,
        (Some(mode), coupling) => {
            if request.key("coupling", coupling, &modes, "")? != mode {
                return Err(RequestError::new(
                    "coupling",
                    "contradicts the name of the level",
                    ["leave it out"],
                    "",
                ));
            }
            mode
        }
    };
    let drive = pair_drive(request, metallic)?;
    Ok(row_impulse("GR-1089", row, drive)?.with_polarities(request.polarities()?))
}

/// One table row as a source behind V/I in each driven conductor.
fn row_impulse(standard: &'static str, row: &ImpulseRow, drive: Drive) -> Result<Disturbance, RequestError> {
    let ohm = row.open_circuit_v / row.short_circuit_a;
    let (network, form) = impulse::network(
        (row.front_s, row.tail_s),
        crate::fit::Definition::Current,
        row.open_circuit_v,
        ohm,
        drive,
    )?;
    let title = format!("{standard} {}, {}", row.name, Volts(row.open_circuit_v));
    let mut found = Disturbance::new(standard, title, network, Peaks::behind(row.open_circuit_v, ohm))
        .sourced(
            "level, wave, current, count",
            "reprint or recollection of the table as marked",
            row.mark,
        )
        .sourced(
            &format!("{form} behind V/I"),
            "worked out from front and tail",
            Mark::Derived,
        );
    found.impulses_per_polarity = Some(row.impulses);
    Ok(found)
}
