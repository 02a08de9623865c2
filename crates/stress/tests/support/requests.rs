//! Complete requests for every standard.

#![allow(dead_code)] // each test binary uses its own share of it

use tidewall_stress::{Disturbance, StressRequest, disturbance};

pub fn base(standard: &str) -> StressRequest {
    StressRequest {
        standard: standard.to_owned(),
        lines: 1,
        ..StressRequest::default()
    }
}

pub fn key(text: &str) -> Option<String> {
    Some(text.to_owned())
}

pub fn both(standard: &str) -> StressRequest {
    StressRequest {
        polarity: key("both"),
        ..base(standard)
    }
}

/// A complete request for every standard and coupling.
pub fn complete() -> Vec<StressRequest> {
    let mut requests = vec![
        StressRequest {
            level_v: Some(8e3),
            discharge: key("contact"),
            ..both("IEC 61000-4-2")
        },
        StressRequest {
            level_v: Some(8e3),
            discharge: key("air"),
            storage_f: Some(330e-12),
            discharge_ohm: Some(2e3),
            ..both("ISO 10605")
        },
        StressRequest {
            level_v: Some(2e3),
            ..both("JS-001")
        },
        StressRequest {
            current_a: Some(16.0),
            width_s: Some(100e-9),
            rise_s: Some(10e-9),
            ..both("TLP")
        },
        StressRequest {
            level_v: Some(500.0),
            coupling: key("line-earth"),
            source_ohm: Some(12.0),
            ..both("IEC 61000-4-12")
        },
        StressRequest {
            level_v: Some(101.0),
            pulse: key("A"),
            system_v: Some(12.0),
            source_ohm: Some(4.0),
            width_s: Some(0.4),
            ..base("ISO 16750-2")
        },
        StressRequest {
            level_v: Some(202.0),
            pulse: key("B"),
            system_v: Some(24.0),
            source_ohm: Some(8.0),
            width_s: Some(0.35),
            suppressed_v: Some(58.0),
            ..base("ISO 16750-2")
        },
        StressRequest {
            level_name: key("inherent basic"),
            coupling: key("transverse"),
            ..both("ITU-T K.20")
        },
        StressRequest {
            level_name: key("internal basic"),
            coupling: key("port-earth"),
            ..both("K.21")
        },
        StressRequest {
            level_v: Some(4e3),
            coupling: key("port-earth"),
            ..both("ITU-T K.45")
        },
        StressRequest {
            front_s: Some(8e-6),
            tail_s: Some(20e-6),
            current_a: Some(100.0),
            source_ohm: Some(2.0),
            ..both("impulse")
        },
        StressRequest {
            front_s: Some(10e-6),
            tail_s: Some(1000e-6),
            level_v: Some(1000.0),
            source_ohm: Some(10.0),
            ..both("impulse")
        },
        StressRequest {
            samples: Some(vec![(0.0, 0.0), (1e-6, 100.0), (20e-6, 0.0), (30e-6, 0.0)]),
            quantity: key("voltage"),
            source_ohm: Some(50.0),
            ..both("samples")
        },
    ];
    for coupling in ["network", "clamp-100pF", "clamp-200pF", "direct"] {
        requests.push(StressRequest {
            level_v: Some(2e3),
            coupling: key(coupling),
            repetition_hz: Some(100e3),
            ..both("IEC 61000-4-4")
        });
    }
    for coupling in [
        "line-line",
        "line-earth",
        "line-line-capacitor",
        "line-line-arrester",
        "line-earth-capacitor",
        "line-earth-arrester",
        "symmetrical-capacitor",
        "symmetrical-arrester",
        "symmetrical-direct",
        "shield",
        "direct",
        "telecom-direct",
        "telecom-arrester",
    ] {
        let wires = (coupling.starts_with("sym") || coupling.starts_with("tele")).then_some(2);
        requests.push(StressRequest {
            level_v: Some(1e3),
            coupling: key(coupling),
            wires,
            ..both("IEC 61000-4-5")
        });
    }
    for pulse in ["1", "2a", "3a", "3b"] {
        requests.push(StressRequest {
            level_name: key("IV"),
            edition: key("2011"),
            pulse: key(pulse),
            system_v: Some(24.0),
            ..base("ISO 7637-2")
        });
    }
    requests.push(StressRequest {
        level_v: Some(10.0),
        pulse: key("2b"),
        system_v: Some(12.0),
        source_ohm: Some(0.05),
        width_s: Some(0.2),
        ..base("ISO 7637-2")
    });
    for name in [
        "A metallic",
        "A longitudinal",
        "B metallic",
        "B longitudinal",
        "mains",
    ] {
        requests.push(StressRequest {
            level_name: key(name),
            ..both("TIA-968")
        });
    }
    for row in &tidewall_stress::catalogue::levels::GR_1089 {
        let coupling = if row.name.starts_with("intra") {
            None
        } else {
            key("metallic")
        };
        requests.push(StressRequest {
            level_name: key(row.name),
            coupling,
            ..both("GR-1089")
        });
    }
    for pulse in ["WF3", "WF4", "WF5A"] {
        let frequency_hz = (pulse == "WF3").then_some(1e6);
        requests.push(StressRequest {
            level_name: key("3"),
            pulse: key(pulse),
            frequency_hz,
            ..both("DO-160")
        });
    }
    requests
}

/// The same request for a port of two lines, with the conductors stated where that is needed.
pub fn for_two_lines(request: &StressRequest, across: &str) -> StressRequest {
    let open = ["impulse", "samples", "ISO 7637-2", "ISO 16750-2", "DO-160"];
    let coupling = request.coupling.as_deref().unwrap_or_default();
    let wanted = open.contains(&request.standard.as_str())
        || request.standard == "IEC 61000-4-5" && (coupling == "direct" || coupling.starts_with("telecom"));
    StressRequest {
        lines: 2,
        across: wanted.then(|| across.to_owned()),
        ..request.clone()
    }
}

pub fn built(request: &StressRequest) -> Disturbance {
    disturbance(request).unwrap_or_else(|error| panic!("{request:?}\n{error}"))
}
