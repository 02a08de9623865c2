//! What a standard says about doing the test: edition, points, phase angles, counts, climate.

use tidewall_devices::datasheet::Family;
use tidewall_stress::{Network, Node};
use tidewall_study::{PortKind, Stage, StressCase, Study};

use super::result::{Noted, Point};
use super::words::{DERIVED, MEMORY, PRACTICE, noted};
use crate::text::{farads, henries, ohms, seconds, volts};

/// Which conductors of the port a network drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Driven {
    /// One line to return or earth.
    One,
    /// The first line against the second.
    Between,
    /// Both lines at once to earth.
    Both,
}

/// Which conductors the network of a stress drives.
pub(super) fn driven(network: &Network) -> Driven {
    let ends = || {
        network
            .branches
            .iter()
            .flat_map(|branch| [branch.from, branch.to])
    };
    if !ends().any(|node| node == Node::Line(1)) {
        Driven::One
    } else if ends().any(|node| node == Node::Earth) || !network.capacitors.is_empty() {
        Driven::Both
    } else {
        Driven::Between
    }
}

/// The network with the two lines of the port exchanged.
pub(super) fn exchanged(network: &Network) -> Network {
    let mut network = network.clone();
    let other = |node: Node| match node {
        Node::Line(0) => Node::Line(1),
        Node::Line(1) => Node::Line(0),
        inner => inner,
    };
    for branch in &mut network.branches {
        branch.from = other(branch.from);
        branch.to = other(branch.to);
    }
    network
}

pub(super) fn is_discharge(case: &StressCase) -> bool {
    matches!(case.disturbance.standard, "IEC 61000-4-2" | "ISO 10605")
}

fn is_air(case: &StressCase) -> bool {
    case.request
        .discharge
        .as_deref()
        .is_some_and(|text| text.trim().eq_ignore_ascii_case("air"))
}

/// Edition of the standard, and what the plan follows where the study names none.
pub(super) fn edition(case: &StressCase) -> Noted {
    let stated = case.request.edition.as_deref().map(str::trim);
    match (case.disturbance.standard, stated) {
        ("IEC 61000-4-2", _) => noted("edition 2 (2008); edition 3 (2025) was not at hand", MEMORY),
        ("IEC 61000-4-4", _) => noted("edition 3 (2012)", MEMORY),
        ("IEC 61000-4-5", Some("2" | "2005")) => noted("edition 2 (2005), as the study says", MEMORY),
        ("IEC 61000-4-5", Some(_)) => noted("edition 3 (2014), as the study says", MEMORY),
        ("IEC 61000-4-5", None) => noted(
            "edition not stated by the study (key `edition`); the limits below are those of edition 3 (2014)",
            MEMORY,
        ),
        ("ISO 10605", _) => noted("2008", MEMORY),
        ("impulse" | "samples", _) => noted("none: an impulse of the study's own", DERIVED),
        (_, Some(own)) => noted(format!("{own}, as the study says"), MEMORY),
        (_, None) => noted("not known here: agree it with the laboratory", PRACTICE),
    }
}

/// Coupling in words.
pub(super) fn coupling(study: &Study, case: &StressCase) -> String {
    if is_discharge(case) {
        return if is_air(case) {
            "air discharge through the round tip, moved towards the point as fast as possible".to_owned()
        } else {
            "contact discharge through the sharp tip, held on the point before the discharge".to_owned()
        };
    }
    let network = &case.disturbance.network;
    let key = case.request.coupling.as_deref().map(str::trim);
    let between = key.is_some_and(|key| key.starts_with("line-line"));
    let to = match (driven(network), study.port.lines) {
        (Driven::One, 1) if between => "between the line and its return",
        (Driven::One, 1) => "line to earth, which is the return in the study",
        (Driven::One, _) => "one line at a time to earth",
        (Driven::Between, _) => "line to line",
        (Driven::Both, _) => "both lines at once to earth",
    };
    let how = key.map_or(String::new(), |key| format!(", through `{key}`"));
    let decoupling = if network.decoupling_h > 0.0 {
        format!(
            "; towards the supply or the auxiliary equipment a decoupling network of {} in each line",
            henries(network.decoupling_h)
        )
    } else {
        String::new()
    };
    format!("{to}{how}{decoupling}")
}

/// Branches of generator and coupling network in words.
pub(super) fn network(network: &Network) -> Vec<String> {
    let place = |node: Node| match node {
        Node::Earth => "earth".to_owned(),
        Node::Inner(inner) => format!("node {}", inner + 1),
        Node::Line(line) => format!("line {}", line + 1),
    };
    let mut list: Vec<String> = network
        .capacitors
        .iter()
        .map(|one| {
            let charge = if one.initial_v == 0.0 {
                String::new()
            } else {
                format!(", charged to {}", volts(one.initial_v))
            };
            format!(
                "{} from node {} to earth{charge}",
                farads(one.capacitance_f),
                one.node + 1
            )
        })
        .collect();
    for branch in &network.branches {
        let mut parts = vec![ohms(branch.resistance_ohm)];
        if branch.inductance_h > 0.0 {
            parts.push(henries(branch.inductance_h));
        }
        if let Some(capacitor) = branch.capacitor {
            parts.push(if capacitor.initial_v == 0.0 {
                farads(capacitor.capacitance_f)
            } else {
                format!(
                    "{} charged to {}",
                    farads(capacitor.capacitance_f),
                    volts(capacitor.initial_v.abs())
                )
            });
        }
        if let Some(arrester) = branch.arrester {
            parts.push(format!("gas arrester of {}", volts(arrester.nominal_v)));
        }
        if branch.emf.is_some() {
            parts.push("source".to_owned());
        }
        list.push(format!(
            "{}, {} to {}: {}",
            branch.name,
            place(branch.from),
            place(branch.to),
            parts.join(", ")
        ));
    }
    list
}

/// The points of the port that the plan predicts.
pub(super) fn points(study: &Study, case: &StressCase) -> Vec<Point> {
    let point = |name: &str, exchanged: bool| Point {
        name: name.to_owned(),
        exchanged,
    };
    match (driven(&case.disturbance.network), study.port.lines) {
        (Driven::One, 2) => vec![point("line 1", false), point("line 2", true)],
        (Driven::One, _) => vec![point("line to return", false)],
        (Driven::Between, _) => vec![point("line 1 to line 2", false)],
        (Driven::Both, _) => vec![point("both lines", false)],
    }
}

/// Points and rules of the standard beside the predicted ones.
pub(super) fn notes(study: &Study, case: &StressCase) -> Vec<Noted> {
    let mut list = Vec::new();
    match case.disturbance.standard {
        "IEC 61000-4-2" => {
            list.push(noted(
                "the predicted point is the bare line at the connector, the worst there is; a contact that fingers cannot \
                 reach, or in a metal shell, is not asked for: agree the points, shell and enclosure among them, and give \
                 each the same number of shots",
                MEMORY,
            ));
            list.push(noted(
                "indirect discharges besides: horizontal coupling plane under each edge of the specimen, vertical plane \
                 0.1 m from each side, in contact mode, as many of each polarity as at a point; they are not predicted and \
                 not counted here",
                MEMORY,
            ));
            list.push(noted(
                "an ungrounded specimen keeps its charge: bleed it between shots through a cable with 470 kΩ at each end",
                MEMORY,
            ));
            if is_air(case) {
                list.push(noted(
                    "air discharges scatter with speed and humidity; the prediction takes the contact wave of the same \
                     voltage, an upper bound of its slew",
                    DERIVED,
                ));
            } else {
                list.push(noted(
                    "contact at conductive points; where the surface insulates, air discharge",
                    MEMORY,
                ));
            }
        }
        "IEC 61000-4-5" => {
            let earth = !case
                .request
                .coupling
                .as_deref()
                .is_some_and(|key| key.trim().starts_with("line-line"));
            if study.port.lines == 1 && earth {
                list.push(noted(
                    "where the return is not bonded to earth, each conductor to earth and both at once besides: the study \
                     has the return at earth, so these are not predicted and not counted here",
                    PRACTICE,
                ));
            }
            list.push(noted(
                "one shot a minute at most, unless the makers of the protectors allow a faster rate",
                MEMORY,
            ));
        }
        "IEC 61000-4-4" => {
            list.push(noted(
                "bursts go to all conductors of the port at once; the prediction is of a single pulse",
                MEMORY,
            ));
            list.push(noted(
                "cable between coupling and specimen 0.5 m ± 0.05 m, 0.1 m above the reference plane",
                MEMORY,
            ));
        }
        _ => {}
    }
    let fires = |family: Family| matches!(family, Family::GasTube | Family::Thyristor);
    let mut shunts = study.ladder.iter().filter_map(|stage| match stage {
        Stage::Shunt(shunt) => Some(shunt),
        _ => None,
    });
    if let Some(shunt) = shunts.find(|shunt| fires(study.parts[&shunt.part].family)) {
        list.push(noted(
            format!(
                "just below the level at which {} fires, what stands behind it carries everything (blind spot): between the \
                 last level without firing and the first with it, search the highest without in steps of a tenth, and give it \
                 the full number of shots; these are not counted here",
                shunt.name
            ),
            PRACTICE,
        ));
    }
    if case.disturbance.supply_interrupted {
        list.push(noted(
            "the supply is interrupted while the pulse lasts, so the port is shot unpowered",
            MEMORY,
        ));
    }
    list
}

/// Phase angles in degrees with the working voltage as a share of its crest.
pub(super) const PHASES: [(f64, f64); 4] = [(0.0, 0.0), (90.0, 1.0), (180.0, 0.0), (270.0, -1.0)];

/// True where the standard synchronises the shots with the supply.
pub(super) fn synchronised(study: &Study, case: &StressCase) -> bool {
    study.port.kind == PortKind::Ac && case.disturbance.standard == "IEC 61000-4-5"
}

pub(super) fn phase_note(study: &Study, case: &StressCase) -> Noted {
    match (study.port.kind, case.disturbance.standard) {
        (PortKind::Ac, "IEC 61000-4-5") => {
            noted("synchronised with the supply at 0°, 90°, 180° and 270°", MEMORY)
        }
        (PortKind::Ac, "IEC 61000-4-4") => noted(
            "bursts are not synchronised with the supply; predicted at the crest that adds to the pulse",
            MEMORY,
        ),
        (PortKind::Ac, _) => noted(
            "not known here whether the standard asks for phase angles; predicted at the crest that adds to the shot",
            PRACTICE,
        ),
        _ => noted("none: the line carries no alternating supply", DERIVED),
    }
}

/// Shots of each polarity at each level, point and angle, impulses of each where a shot is a train, and the interval in
/// seconds, or how long the train lasts.
pub(super) fn counts(case: &StressCase) -> (Option<u64>, Option<u64>, Option<f64>) {
    let disturbance = &case.disturbance;
    let impulses = disturbance.impulses_per_polarity.map(u64::from);
    match disturbance.train {
        Some(train) => {
            let lasts_s = impulses.map(|impulses| impulses as f64 / train.average_rate_hz());
            (impulses.map(|_| 1), impulses, lasts_s)
        }
        None => (impulses, None, disturbance.interval_s),
    }
}

/// Climate of the laboratory.
pub(super) fn environment(case: &StressCase) -> Vec<Noted> {
    match case.disturbance.standard {
        "IEC 61000-4-2" => vec![
            noted("ambient temperature 15 °C to 35 °C", MEMORY),
            noted("relative humidity 30 % to 60 %", MEMORY),
            noted("air pressure 86 kPa to 106 kPa", MEMORY),
        ],
        "IEC 61000-4-4" | "IEC 61000-4-5" => vec![
            noted(
                "within the limits of the specimen and of the test equipment",
                MEMORY,
            ),
            noted("no condensation on specimen or equipment", MEMORY),
        ],
        "ISO 10605" => vec![
            noted("ambient temperature 25 °C ± 10 K", MEMORY),
            noted("relative humidity 20 % to 60 %", MEMORY),
        ],
        _ => vec![noted(
            "limits not known here: look them up in the standard",
            PRACTICE,
        )],
    }
}

/// Rate and length of the bursts in words, where there are any.
pub(super) fn train(case: &StressCase) -> Option<String> {
    let train = case.disturbance.train?;
    Some(format!(
        "{} pulses every {} at {} kHz",
        train.pulses_per_burst,
        seconds(train.period_s),
        train.repetition_hz / 1e3
    ))
}
