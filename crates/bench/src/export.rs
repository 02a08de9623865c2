//! Circuits as JSON, for programs that write the equations down for themselves.

use serde_json::{Value, json};
use tidewall_devices::Law;
use tidewall_ladder::{Circuit as Joined, StateKind};
use tidewall_stress::{Shape, Waveform};

use crate::measure::Places;
use crate::suite::Assembled;

/// The circuit with its values in SI units, and what is watched in it.
///
/// # Errors
/// In words, a law, source or inductance that the format does not know; none of the suite is one.
pub fn circuit(assembled: &Assembled, places: &Places) -> Result<Value, String> {
    let joined = &assembled.assembly.circuit;
    let nodes: Vec<Value> = joined
        .nodes
        .iter()
        .map(|node| json!({"name": node.name, "farads": node.capacitance_f, "volts": node.initial_v}))
        .collect();
    let probes: Vec<Value> = places
        .probes
        .iter()
        .map(|&k| &assembled.assembly.probes[k])
        .map(|probe| json!({"plus": probe.plus, "minus": probe.minus}))
        .collect();
    let kinds = assembled.equations.kinds();
    Ok(json!({
        "duration_s": assembled.duration_s,
        "finest_s": assembled.finest_s,
        "breakpoints_s": assembled.breakpoints_s,
        "nodes": nodes,
        "branches": branches(joined)?,
        "devices": devices(joined)?,
        "probes": probes,
        // Numbers of elements: branches first, then devices.
        "elements": places.elements,
        "states": kinds.len(),
        "temperatures": kinds.iter().filter(|kind| **kind == StateKind::Temperature).count(),
    }))
}

fn branches(joined: &Joined) -> Result<Vec<Value>, String> {
    let one = |branch: &tidewall_ladder::Branch| {
        if branch.inductance.saturation_a.is_some() {
            return Err(format!("`{}` saturates", branch.name));
        }
        Ok(json!({
            "name": branch.name,
            "from": branch.from,
            "to": branch.to,
            "ohms": branch.resistance_ohm,
            "henries": branch.inductance.henries,
            "capacitor": branch.capacitor.map(|(farads, volts)| json!({"farads": farads, "volts": volts})),
            "amps": branch.initial_a,
            "emf": branch.emf.as_ref().map(source).transpose()?,
        }))
    };
    joined.branches.iter().map(one).collect()
}

fn devices(joined: &Joined) -> Result<Vec<Value>, String> {
    let one = |device: &tidewall_ladder::Device| {
        Ok(json!({
            "name": device.name,
            "from": device.from,
            "to": device.to,
            "law": law(&device.law).ok_or_else(|| format!("the law of `{}` is not known", device.name))?,
            "heat_capacities": device.thermal.capacity_j_per_k,
            "heat_resistances": device.thermal.resistance_k_per_w,
            "ambient_c": device.ambient_c,
            "ohms": device.series_ohm,
            "henries": device.lead_h,
            "loss_s": device.loss_s,
            "volts": device.initial_v,
        }))
    };
    joined.devices.iter().map(one).collect()
}

fn source(emf: &Waveform) -> Result<Value, String> {
    let shape = match emf.shape {
        Shape::Constant => json!({"kind": "constant"}),
        Shape::RampExponential {
            base,
            ramp_s,
            top_s,
            tau_s,
        } => json!({"kind": "ramp", "base": base, "ramp_s": ramp_s, "top_s": top_s, "tau_s": tau_s}),
        ref other => return Err(format!("the source {other:?} is not known")),
    };
    Ok(json!({"shape": shape, "volts": emf.amplitude, "delay_s": emf.delay_s}))
}

fn law(law: &Law) -> Option<Value> {
    Some(match law {
        Law::Avalanche(law) => json!({
            "kind": "avalanche",
            "vbr25_v": law.vbr25_v,
            "alpha_per_k": law.alpha_per_k,
            "r_ohm": law.r_ohm,
            "knee_v": law.knee_v,
            "bidirectional": law.bidirectional,
            "forward_v": law.forward_v,
            "forward_ohm": law.forward_ohm,
            "c0_f": law.c0_f,
            "built_in_v": law.built_in_v,
            "grading": law.grading,
        }),
        Law::GasTube(law) => json!({
            "kind": "gas tube",
            "dc_v": law.dc_v,
            "slope_coefficient_v": law.slope_coefficient_v,
            "slope_exponent": law.slope_exponent,
            "glow_v": law.glow_v,
            "glow_to_arc_a": law.glow_to_arc_a,
            "arc_v": law.arc_v,
            "arc_ohm": law.arc_ohm,
            "arc_to_glow_a": law.arc_to_glow_a,
            "extinction_a": law.extinction_a,
            "drop_s": law.drop_s,
            "c_f": law.c_f,
            "insulation_ohm": law.insulation_ohm,
        }),
        Law::Pin(law) => json!({
            "kind": "pin",
            "positive_v": law.positive_v,
            "positive_ohm": law.positive_ohm,
            "negative_v": law.negative_v,
            "negative_ohm": law.negative_ohm,
            "knee_v": law.knee_v,
            "c_f": law.c_f,
        }),
        _ => return None,
    })
}
