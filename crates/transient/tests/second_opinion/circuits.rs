//! From the neutral descriptions of `validation/second_opinion_circuits.json` to ports and networks of the engine.

use serde_json::Value;
use tidewall_devices::law::{Avalanche, Crowbar, Diode, FlatClamp, GasTube, PinClamp, Trigger, Varistor};
use tidewall_devices::{Law, Protector, ThermalLadder};
use tidewall_ladder::{
    Across, Conductor, Inductance, Pin, Port, Series, SeriesKind, Shunt, Stage, Steering, Supply,
};
use tidewall_stress::Network;
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::automotive::{self, Pulse};
use tidewall_stress::generator::burst::{BurstCoupling, burst_pulse};
use tidewall_stress::generator::esd::{C150_R330, C330_R2000, discharge, transmission_line_pulse};
use tidewall_stress::generator::surge::{SET_D3, SET_D18, SurgeCoupling, Through, combination_wave};
use tidewall_stress::generator::telecom::{TelecomCoupling, wave_10_700};

/// The number under a key; everything is in SI units.
pub fn number(of: &Value, key: &str) -> f64 {
    of[key]
        .as_f64()
        .unwrap_or_else(|| panic!("`{key}` is missing in {of}"))
}

/// The text under a key.
pub fn text<'a>(of: &'a Value, key: &str) -> &'a str {
    of[key]
        .as_str()
        .unwrap_or_else(|| panic!("`{key}` is missing in {of}"))
}

fn flag(of: &Value, key: &str) -> bool {
    of[key]
        .as_bool()
        .unwrap_or_else(|| panic!("`{key}` is missing in {of}"))
}

fn list<'a>(of: &'a Value, key: &str) -> &'a [Value] {
    of[key]
        .as_array()
        .unwrap_or_else(|| panic!("`{key}` is missing in {of}"))
}

fn heat(part: &Value) -> ThermalLadder {
    let numbers = |key| {
        list(&part["heat"], key)
            .iter()
            .filter_map(Value::as_f64)
            .collect()
    };
    if part["heat"].is_null() {
        return ThermalLadder::default();
    }
    ThermalLadder {
        capacity_j_per_k: numbers("capacity_j_per_k"),
        resistance_k_per_w: numbers("resistance_k_per_w"),
    }
}

fn avalanche(part: &Value) -> Avalanche {
    Avalanche {
        vbr25_v: number(part, "breakdown_v"),
        alpha_per_k: number(part, "per_k"),
        r_ohm: number(part, "ohm"),
        knee_v: number(part, "rounding_v"),
        bidirectional: flag(part, "both_ways"),
        forward_v: number(part, "forward_v"),
        forward_ohm: number(part, "forward_ohm"),
        c0_f: number(part, "farad"),
        built_in_v: number(part, "built_in_v"),
        grading: number(part, "grading"),
    }
}

fn flat_clamp(part: &Value, ambient_c: f64) -> FlatClamp {
    let detector = &part["detector"];
    FlatClamp {
        trigger_v: number(part, "trigger_v"),
        on_v: number(part, "on_v"),
        alpha_per_k: number(part, "per_k"),
        reference_c: ambient_c,
        r_ohm: number(part, "ohm"),
        delay_s: number(part, "delay_s"),
        settle_s: number(part, "settle_s"),
        off_v: number(part, "off_v"),
        saturation_a: number(part, "saturation_a"),
        breakdown_v: number(part, "breakdown_v"),
        breakdown_ohm: number(part, "breakdown_ohm"),
        trigger: if detector.is_null() {
            Trigger::Voltage
        } else {
            Trigger::Slope {
                rc_s: number(detector, "rc_s"),
                hold_s: number(detector, "hold_s"),
            }
        },
        bidirectional: flag(part, "both_ways"),
        forward_v: number(part, "forward_v"),
        forward_ohm: number(part, "forward_ohm"),
        knee_v: number(part, "rounding_v"),
        c0_f: number(part, "farad"),
        built_in_v: number(part, "built_in_v"),
        grading: number(part, "grading"),
    }
}

fn crowbar(part: &Value) -> Crowbar {
    Crowbar {
        trigger_v: number(part, "trigger_v"),
        trigger_a: number(part, "trigger_a"),
        alpha_per_k: number(part, "per_k"),
        off_ohm: number(part, "off_ohm"),
        on_v: number(part, "on_v"),
        on_ohm: number(part, "on_ohm"),
        hold_a: number(part, "hold_a"),
        hold_per_k: number(part, "hold_per_k"),
        transition_s: number(part, "transition_s"),
        bidirectional: flag(part, "both_ways"),
        forward_v: number(part, "forward_v"),
        forward_ohm: number(part, "forward_ohm"),
        knee_v: number(part, "rounding_v"),
        c_f: number(part, "farad"),
    }
}

fn varistor(part: &Value) -> Varistor {
    Varistor {
        v1ma_v: number(part, "v1ma_v"),
        alpha: number(part, "exponent"),
        v1ma_per_k: 0.0,
        linear_above_a: 1e5,
        c_f: number(part, "farad"),
    }
}

fn gas_tube(part: &Value) -> GasTube {
    GasTube {
        dc_v: number(part, "dc_v"),
        slope_coefficient_v: number(part, "slope_v"),
        slope_exponent: number(part, "slope_exponent"),
        glow_v: number(part, "glow_v"),
        glow_to_arc_a: number(part, "glow_to_arc_a"),
        arc_v: number(part, "arc_v"),
        arc_ohm: number(part, "arc_ohm"),
        arc_to_glow_a: number(part, "arc_to_glow_a"),
        extinction_a: number(part, "extinction_a"),
        drop_s: number(part, "drop_s"),
        c_f: number(part, "farad"),
        insulation_ohm: number(part, "insulation_ohm"),
    }
}

fn protector(part: &Value, ambient_c: f64) -> Protector {
    let law = match text(part, "law") {
        "avalanche" => Law::Avalanche(avalanche(part)),
        "flat clamp" => Law::FlatClamp(flat_clamp(part, ambient_c)),
        "crowbar" => Law::Crowbar(crowbar(part)),
        "varistor" => Law::Varistor(varistor(part)),
        "gas tube" => Law::GasTube(gas_tube(part)),
        other => panic!("no law `{other}`"),
    };
    Protector {
        law,
        series_ohm: part["series_ohm"].as_f64().unwrap_or(0.0),
        package_h: 0.0,
        thermal: heat(part),
    }
}

fn diode(of: &Value) -> Diode {
    Diode {
        forward_v: number(of, "forward_v"),
        forward_ohm: number(of, "forward_ohm"),
        breakdown_v: number(of, "breakdown_v"),
        breakdown_ohm: number(of, "breakdown_ohm"),
        knee_v: number(of, "rounding_v"),
        c_f: number(of, "farad"),
    }
}

fn conductor(stage: &Value) -> Conductor {
    if stage["line"] == 2 {
        Conductor::Second
    } else {
        Conductor::First
    }
}

fn stage(of: &Value, parts: &Value, ambient_c: f64) -> Stage {
    if let Some(name) = of["series"].as_str() {
        return Stage::Series(Box::new(Series {
            name: name.into(),
            conductor: conductor(of),
            kind: SeriesKind::Plain {
                resistance_ohm: number(of, "ohm"),
                inductance: Inductance {
                    henries: number(of, "henry"),
                    saturation_a: of["saturation_a"].as_f64(),
                },
            },
        }));
    }
    if let Some(name) = of["shunt"].as_str() {
        let across = match text(of, "across") {
            "1" => Across::ToReturn(Conductor::First),
            "2" => Across::ToReturn(Conductor::Second),
            _ => Across::LineToLine,
        };
        return Stage::Shunt(Box::new(Shunt {
            name: name.into(),
            across,
            protector: protector(&parts[text(of, "part")], ambient_c),
            lead_h: number(of, "lead_h"),
            reversed: false,
        }));
    }
    let clamp = protector(&parts[text(of, "clamp")], ambient_c);
    Stage::Steering(Box::new(Steering {
        name: text(of, "steering").into(),
        conductor: conductor(of),
        to_rail: diode(&of["diode"]),
        from_return: diode(&of["diode"]),
        lead_h: number(of, "lead_h"),
        rail_f: number(of, "rail_f"),
        rail_v: number(of, "rail_v"),
        rail_clamp: Some((clamp, number(of, "clamp_lead_h"))),
    }))
}

/// The port of a circuit.
pub fn port(document: &Value, circuit: &Value) -> Port {
    let ambient_c = number(circuit, "ambient_c");
    let (pin, supply) = (&circuit["pin"], &circuit["supply"]);
    let conduction = (!pin["conduction"].is_null()).then(|| {
        let of = &pin["conduction"];
        PinClamp {
            positive_v: number(of, "up_v"),
            positive_ohm: number(of, "up_ohm"),
            negative_v: number(of, "down_v"),
            negative_ohm: number(of, "down_ohm"),
            knee_v: number(of, "rounding_v"),
            c_f: number(of, "farad"),
        }
    });
    Port {
        conductors: number(circuit, "lines") as usize,
        stages: list(circuit, "ladder")
            .iter()
            .map(|of| stage(of, &document["parts"], ambient_c))
            .collect(),
        pin: Pin {
            capacitance_f: number(pin, "farad"),
            esr_ohm: 0.0,
            conduction,
        },
        supply: (!supply.is_null()).then(|| Supply {
            volts: number(supply, "volts"),
            source_ohm: number(supply, "ohm"),
            cable_h: 0.0,
            on_both: false,
        }),
        ambient_c,
        track_ohm: number(document, "track_ohm"),
        loss_tangent: number(document, "loss_tangent"),
    }
}

/// The generator of a circuit, in its polarity.
pub fn network(circuit: &Value) -> Network {
    let s = &circuit["stress"];
    let drive = match s["drive"].as_str() {
        None | Some("line") => Drive::LineToEarth,
        Some("line-line") => Drive::LineToLine,
        Some("both") => Drive::BothToEarth,
        Some(other) => panic!("no drive `{other}`"),
    };
    let found = match text(s, "kind") {
        "combination wave" => {
            let set = if text(s, "elements") == "D18" {
                SET_D18
            } else {
                SET_D3
            };
            let coupling = match text(s, "through") {
                "none" => SurgeCoupling::Series { resistance_ohm: 0.0 },
                "18 uF" => SurgeCoupling::PowerLineLine,
                "10 ohm 9 uF" => SurgeCoupling::PowerLineEarth,
                "40 ohm 0.5 uF" => SurgeCoupling::SignalCapacitor,
                "40 ohm arrester" => SurgeCoupling::SignalArrester,
                "wires" => SurgeCoupling::Symmetrical {
                    wire_ohm: number(s, "wire_ohm"),
                    through: Through::Direct,
                },
                other => panic!("no coupling `{other}`"),
            };
            combination_wave(&set, number(s, "level_v"), coupling, drive)
        }
        "10/700" => {
            let coupling = TelecomCoupling {
                wire_ohm: number(s, "wire_ohm"),
                arrester: false,
            };
            wave_10_700(number(s, "charge_v"), coupling, drive)
        }
        "discharge" => {
            let network = if text(s, "network") == "330 pF 2 kohm" {
                C330_R2000
            } else {
                C150_R330
            };
            discharge(&network, number(s, "level_v"), 0)
        }
        "burst" => burst_pulse(number(s, "level_v"), BurstCoupling::Network33Nf, drive),
        "vehicle pulse" => {
            let pulse = match text(s, "pulse") {
                "1" => Pulse::One,
                "2a" => Pulse::TwoA,
                "3b" => Pulse::ThreeB,
                other => panic!("no pulse `{other}`"),
            };
            let [peak_v, rise_s, duration_s, ohm] =
                ["peak_v", "rise_s", "duration_s", "ohm"].map(|key| number(s, key));
            automotive::pulse(pulse, peak_v, rise_s, duration_s, ohm, drive).unwrap()
        }
        "load dump" => {
            let [peak_v, supply_v, rise_s, duration_s, ohm] =
                ["peak_v", "supply_v", "rise_s", "duration_s", "ohm"].map(|key| number(s, key));
            let suppressed_v = s["suppressed_v"].as_f64();
            automotive::load_dump(peak_v, supply_v, rise_s, duration_s, ohm, suppressed_v, drive).unwrap()
        }
        "line pulse" => {
            let [level_v, rise_s, width_s] = ["level_v", "rise_s", "width_s"].map(|key| number(s, key));
            transmission_line_pulse(level_v, rise_s, width_s, 0)
        }
        other => panic!("no stress `{other}`"),
    };
    found.scaled(number(circuit, "sign"))
}
