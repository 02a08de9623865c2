//! IEC 61000-4-5.

use tidewall_units::{Quantity, Volts};

use super::{AmplitudeTolerance, Disturbance, Mark, Peaks, PortUse, RequestError, StressRequest, levels};
use crate::generator::Drive;
use crate::generator::surge::{
    CombinationSet, SET_D3, SET_D18, SETS, SurgeCoupling, Through, combination_wave,
};
use crate::generator::telecom::{self, TelecomCoupling};

/// Which edition a choice follows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Edition {
    Second,
    Third,
}

/// What a coupling key means, before the number of wires is known.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Key {
    Direct,
    PowerLineLine,
    PowerLineEarth,
    SignalLineLine(Through),
    SignalLineEarth(Through),
    Symmetrical(Through),
    Shield,
    Telecom { arrester: bool },
}

const COUPLINGS: [(&str, Key); 13] = [
    ("line-line", Key::PowerLineLine),
    ("line-earth", Key::PowerLineEarth),
    ("line-line-capacitor", Key::SignalLineLine(Through::Capacitor)),
    ("line-line-arrester", Key::SignalLineLine(Through::Arrester)),
    ("line-earth-capacitor", Key::SignalLineEarth(Through::Capacitor)),
    ("line-earth-arrester", Key::SignalLineEarth(Through::Arrester)),
    ("symmetrical-capacitor", Key::Symmetrical(Through::Capacitor)),
    ("symmetrical-arrester", Key::Symmetrical(Through::Arrester)),
    ("symmetrical-direct", Key::Symmetrical(Through::Direct)),
    ("shield", Key::Shield),
    ("direct", Key::Direct),
    ("telecom-direct", Key::Telecom { arrester: false }),
    ("telecom-arrester", Key::Telecom { arrester: true }),
];

const COUPLING_HINT: &str = "line-line (18 µF, 2 Ω) and line-earth (10 Ω + 9 µF) are for supply ports; signal \
                             lines take 40 Ω with 0.5 µF or an arrester; telecom is the 10/700 generator";

pub(super) fn iec_61000_4_5(request: &StressRequest) -> Result<Disturbance, RequestError> {
    let key = request.key("coupling", &request.coupling, &COUPLINGS, COUPLING_HINT)?;
    let telecom = matches!(key, Key::Telecom { .. });
    if request.wave.is_some() {
        let waves = [
            ("1.2/50", false),
            ("1.2/50-8/20", false),
            ("combination", false),
            ("10/700", true),
        ];
        if request.key("wave", &request.wave, &waves, "")? != telecom {
            return Err(RequestError::new(
                "wave",
                "the coupling belongs to the other generator",
                [if telecom { "10/700" } else { "1.2/50" }],
                "the telecom couplings are those of the 10/700 generator",
            ));
        }
    }
    let edition = match &request.edition {
        None => None,
        edition => Some(request.key(
            "edition",
            edition,
            &[
                ("2", Edition::Second),
                ("2005", Edition::Second),
                ("3", Edition::Third),
                ("2014", Edition::Third),
            ],
            "",
        )?),
    };
    let level_v = level(request, key, edition)?;
    let found = match key {
        Key::Telecom { arrester } => outdoor_line(request, level_v, arrester, edition)?,
        _ => combination(request, key, level_v, edition)?,
    };
    Ok(found
        .with_polarities(request.polarities()?)
        // Read in a vehicle EMC regulation quoting the standard.
        .repeated(5, 60.0)
        .within(AmplitudeTolerance::symmetrical(0.10))
        .sourced(
            "level",
            "IEC 61000-4-5, standards summary (named rows from memory)",
            Mark::Memory,
        )
        .sourced(
            "five of each polarity, one a minute",
            "vehicle EMC regulation quoting the standard",
            Mark::Seen,
        )
        .sourced(
            "amplitude ±10 %",
            "IEC 61000-4-5 Tables 2 and 3 (from memory)",
            Mark::Memory,
        ))
}

/// The level: stated in volts, a level of Table 1, or an installation class.
fn level(request: &StressRequest, key: Key, edition: Option<Edition>) -> Result<f64, RequestError> {
    request.one_level()?;
    let Some(name) = &request.level_name else {
        return request.level(
            levels::SURGE_EARTH,
            "or an installation class: class 1 to class 5",
        );
    };
    let line_to_line = matches!(key, Key::PowerLineLine | Key::SignalLineLine(_));
    if key == Key::Direct {
        return Err(RequestError::new(
            "level_name",
            "the direct coupling does not say to which conductors the level applies",
            ["level_v in volts"],
            "",
        ));
    }
    if super::normalised(name).starts_with("class") {
        return class_level(request, key, line_to_line);
    }
    let table = match (line_to_line, edition) {
        (false, _) | (true, Some(Edition::Second)) => levels::SURGE_EARTH,
        (true, Some(Edition::Third)) => levels::SURGE_LINE_LINE_ED3,
        (true, None) => {
            return Err(RequestError::new(
                "edition",
                "missing: line-to-line levels differ between the editions",
                ["2", "3"],
                "or state the level in volts",
            ));
        }
    };
    request.key(
        "level_name",
        &request.level_name,
        table,
        "or class 1 to class 5, or level_v in volts",
    )
}

fn class_level(request: &StressRequest, key: Key, line_to_line: bool) -> Result<f64, RequestError> {
    let classes: Vec<(&'static str, usize)> = levels::INSTALLATION_CLASSES
        .iter()
        .enumerate()
        .map(|(place, class)| (class.name, place))
        .collect();
    let place = request.key(
        "level_name",
        &request.level_name,
        &classes,
        "class 0 asks for no test",
    )?;
    let class = &levels::INSTALLATION_CLASSES[place];
    let column = usize::from(!line_to_line);
    let found = match key {
        Key::Symmetrical(_) | Key::Telecom { .. } => class.symmetrical,
        Key::Shield => class.shielded,
        Key::SignalLineLine(_) | Key::SignalLineEarth(_) => class.unsymmetrical[column],
        Key::PowerLineLine | Key::PowerLineEarth | Key::Direct => match request.port {
            Some(PortUse::AcSupply) => class.ac[column],
            Some(PortUse::DcSupply) => class.dc[column],
            Some(PortUse::Signal) | None => {
                return Err(RequestError::new(
                    "level_name",
                    "the class has different levels for direct- and alternating-voltage supplies, and the port \
                     does not say which it is",
                    ["level_v in volts"],
                    "",
                ));
            }
        },
    };
    found.ok_or_else(|| {
        RequestError::new(
            "level_name",
            format!("{} gives no level for this coupling and port", class.name),
            ["level_v in volts"],
            "no test is asked for, or the level depends on the supply or the local utility",
        )
    })
}

/// Number of conductors of the cable; `per_wire` ohms times it, capped at 250 Ω by the second edition.
fn wire_ohm(
    request: &StressRequest,
    per_wire: f64,
    drive: Drive,
    edition: Option<Edition>,
) -> Result<f64, RequestError> {
    let expected = "the number of conductors of the cable fed at once";
    let Some(wires) = request.wires else {
        return Err(RequestError::new(
            "wires",
            "missing",
            [expected],
            "2 for a pair, 8 for four pairs",
        ));
    };
    if wires == 0 || wires > 1000 {
        return Err(RequestError::new(
            "wires",
            format!("{wires} conductors"),
            [expected],
            "",
        ));
    }
    if (wires as usize) < drive.driven_lines() {
        return Err(RequestError::new(
            "wires",
            "fewer than the lines of the port",
            [expected],
            "",
        ));
    }
    let ohm = per_wire * f64::from(wires);
    // IEC 61000-4-5 Ed.2 (from memory).
    Ok(if edition == Some(Edition::Second) {
        ohm.min(250.0)
    } else {
        ohm
    })
}

fn combination(
    request: &StressRequest,
    key: Key,
    level_v: f64,
    edition: Option<Edition>,
) -> Result<Disturbance, RequestError> {
    let mut used = vec![
        "edition",
        "level_v",
        "level_name",
        "coupling",
        "model",
        "polarity",
        "wave",
    ];
    match key {
        Key::Direct => used.extend(["across", "source_ohm"]),
        Key::Symmetrical(_) => used.push("wires"),
        _ => {}
    }
    request.only(&used)?;
    if request.port == Some(PortUse::Signal) && matches!(key, Key::PowerLineLine | Key::PowerLineEarth) {
        return Err(RequestError::new(
            "coupling",
            "this coupling is for supply ports, and the port carries signals",
            COUPLINGS[2..].iter().map(|choice| choice.0),
            COUPLING_HINT,
        ));
    }
    let two = request.line_count()? == 2;
    let pick = |through: Through| match through {
        Through::Arrester => SurgeCoupling::SignalArrester,
        Through::Capacitor | Through::Direct => SurgeCoupling::SignalCapacitor,
    };
    let between = if two {
        Drive::LineToLine
    } else {
        Drive::LineToEarth
    };
    let (coupling, drive) = match key {
        Key::PowerLineLine => (SurgeCoupling::PowerLineLine, between),
        Key::PowerLineEarth => (SurgeCoupling::PowerLineEarth, Drive::LineToEarth),
        Key::SignalLineLine(through) => (pick(through), between),
        Key::SignalLineEarth(through) => (pick(through), Drive::LineToEarth),
        Key::Symmetrical(through) => {
            let drive = if two {
                Drive::BothToEarth
            } else {
                Drive::LineToEarth
            };
            // n × 40 Ω (IEC 61000-4-5, from memory).
            let wire_ohm = wire_ohm(request, 40.0, drive, edition)?;
            (SurgeCoupling::Symmetrical { wire_ohm, through }, drive)
        }
        Key::Shield => (SurgeCoupling::Shield, Drive::LineToEarth),
        Key::Direct | Key::Telecom { .. } => {
            let resistance_ohm = match request.source_ohm {
                None => 0.0,
                added => StressRequest::number(
                    "source_ohm",
                    added,
                    (1e-3, 1e5),
                    "a resistance to be added to the generator's 2 Ω",
                    "",
                )?,
            };
            (SurgeCoupling::Series { resistance_ohm }, request.drive()?)
        }
    };
    let set = set(request, coupling, edition)?;
    // The generator's own 2 Ω carry the current of every driven conductor.
    let lines = drive.driven_lines() as f64;
    let ohm = 2.0 * lines + coupling.added_ohm();
    let title = format!(
        "IEC 61000-4-5 combination wave, {}, {}",
        Volts(level_v).rounded(4),
        request.coupling.as_deref().unwrap_or_default().trim()
    );
    let network = combination_wave(&set, level_v, coupling, drive);
    Ok(
        Disturbance::new("IEC 61000-4-5", title, network, Peaks::behind(level_v, ohm))
            .sourced(
                &format!("generator elements, set {}", set.name),
                "worked out so that the standard's times and impedance are met; the standard gives none",
                if matches!(set.name, "H" | "K") {
                    Mark::Memory
                } else {
                    Mark::Derived
                },
            )
            .sourced(
                "coupling network",
                "IEC 61000-4-5 (2 Ω and 12 Ω, 40 Ω seen; capacitors from memory)",
                Mark::Memory,
            ),
    )
}

/// The stated set, or the one whose calibration belongs to the coupling.
fn set(
    request: &StressRequest,
    coupling: SurgeCoupling,
    edition: Option<Edition>,
) -> Result<CombinationSet, RequestError> {
    Ok(match &request.model {
        Some(_) => {
            let choices = SETS.map(|set| (set.name, set));
            request.key(
                "model",
                &request.model,
                &choices,
                "leave it out for the usual set",
            )?
        }
        // The third edition calibrates through the 18 µF of the line-to-line coupling.
        None if coupling == SurgeCoupling::PowerLineLine && edition != Some(Edition::Second) => SET_D18,
        None => SET_D3,
    })
}

fn outdoor_line(
    request: &StressRequest,
    level_v: f64,
    arrester: bool,
    edition: Option<Edition>,
) -> Result<Disturbance, RequestError> {
    request.only(&[
        "edition",
        "level_v",
        "level_name",
        "coupling",
        "across",
        "polarity",
        "wave",
        "wires",
    ])?;
    let drive = request.drive()?;
    // n × 25 Ω (IEC 61000-4-5, from memory).
    let wire_ohm = wire_ohm(request, 25.0, drive, edition)?;
    let coupling = TelecomCoupling { wire_ohm, arrester };
    let network = telecom::wave_10_700(level_v / telecom::OPEN_CIRCUIT_PER_CHARGE, coupling, drive);
    let title = format!(
        "IEC 61000-4-5 10/700, {}, {} per wire",
        Volts(level_v).rounded(4),
        tidewall_units::Ohms(wire_ohm)
    );
    // 15 Ω of the generator: from memory.
    Ok(Disturbance::new(
        "IEC 61000-4-5",
        title,
        network,
        Peaks::behind(level_v, 15.0 * drive.driven_lines() as f64 + wire_ohm),
    )
    .sourced(
        "generator 20 µF, 50 Ω, 15 Ω, 0.2 µF, n × 25 Ω",
        "IEC 61000-4-5 and ITU-T K.44 (from memory; checked to give 10/700 and 5/320)",
        Mark::Memory,
    ))
}
