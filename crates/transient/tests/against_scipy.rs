//! The model problems against a second formulation integrated by scipy (`validation/reference.py`).
//!
//! Every peak voltage, current, junction temperature and energy, and the last change of state of every switching
//! device, agrees within 0.1 %. Each is judged by its own peak size, but a current or an energy that is less than a
//! twentieth of the largest in its circuit by that twentieth: these are the tracks that only charge the picofarads of
//! an open pin, single swings of gigahertz ringing and nanojoules beside tenths of a joule. With a smaller step error
//! they agree by their own size as well, which shows that it is step error and no difference of the equations.

mod support;

use std::collections::BTreeMap;

use serde_json::Value;
use tidewall_transient::Options;

/// Largest deviation as a share of the peak.
const LIMIT: f64 = 1e-3;
/// Share of the circuit's largest current or energy that smaller ones are judged by.
const FLOOR: f64 = 0.05;
/// The same where every current and energy is to be judged by its own size, but for those that are nothing at all (a
/// device that never conducts).
const NO_FLOOR: f64 = 1e-12;

fn reference() -> Value {
    serde_json::from_str(include_str!("../../../validation/reference.json")).unwrap()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("the reference lacks `{key}`"))
}

fn size(high: f64, low: f64) -> f64 {
    high.abs().max(low.abs())
}

/// Every deviation of one model, largest first, with the name of the quantity.
fn deviations(model: &support::Model, wanted: &Value, options: &Options, floor: f64) -> Vec<(f64, String)> {
    let (assembly, equations, outcome) = support::simulate(model, options);
    let entry = |kind: &str, name: &str| -> &Value {
        wanted[kind]
            .get(name)
            .unwrap_or_else(|| panic!("{}: the reference lacks `{name}`", model.name))
    };
    let mut found = Vec::new();
    let mut note = |got: f64, want: f64, size: f64, what: String| {
        found.push((
            (got - want).abs() / size,
            format!("{what}: {got:.6e}, not {want:.6e}"),
        ));
    };
    for (probe, outcome) in assembly.probes.iter().zip(&outcome.probes) {
        let want = entry("probes", &probe.name);
        let (high, low) = (number(want, "max_v"), number(want, "min_v"));
        let volts = size(high, low);
        note(
            outcome.volts.max,
            high,
            volts,
            format!("{} highest V", probe.name),
        );
        note(outcome.volts.min, low, volts, format!("{} lowest V", probe.name));
    }
    let names: BTreeMap<&str, usize> = assembly
        .elements
        .iter()
        .map(|&k| (equations.element_name(k), k))
        .collect();
    let count = wanted["elements"]
        .as_object()
        .map_or(0, |elements| elements.len());
    assert_eq!(
        names.len(),
        count,
        "{}: the reference has other elements",
        model.name
    );
    let largest = |of: &dyn Fn(&Value) -> f64| {
        let sizes = names.keys().map(|name| of(entry("elements", name)));
        sizes.fold(0.0, f64::max)
    };
    let peak = |want: &Value| size(number(want, "max_a"), number(want, "min_a"));
    let floor_a = floor * largest(&peak);
    let floor_j = floor * largest(&|want| number(want, "energy_j"));
    for (name, k) in names {
        let want = entry("elements", name);
        let got = &outcome.elements[k];
        let (amps, joules) = (peak(want).max(floor_a), number(want, "energy_j"));
        note(
            got.amps.max,
            number(want, "max_a"),
            amps,
            format!("{name} highest A"),
        );
        note(
            got.amps.min,
            number(want, "min_a"),
            amps,
            format!("{name} lowest A"),
        );
        note(got.energy_j, joules, joules.max(floor_j), format!("{name} J"));
        if let Some(junction_c) = want.get("junction_c").and_then(Value::as_f64) {
            let got = got.peak_junction_c.expect("a junction");
            // A junction that stays cold is judged by one kelvin.
            let rise = (junction_c - 25.0).max(1.0);
            note(got, junction_c, rise, format!("{name} junction °C"));
        }
    }
    for (k, device) in equations.circuit().devices.iter().enumerate() {
        let changes: Vec<&Value> = wanted["switching"]
            .as_array()
            .expect("a list of changes")
            .iter()
            .filter(|change| change["device"] == device.name.as_str())
            .collect();
        let (name, count) = (&device.name, outcome.switched[k]);
        assert_eq!(
            count,
            changes.len() as u64,
            "{}: changes of state of {name}",
            model.name
        );
        if let Some(last) = changes.last() {
            let last_s = number(last, "at_s");
            let what = format!("{name} last change of state s");
            note(outcome.last_switch_s[k], last_s, last_s, what);
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found
}

/// Prints the largest deviation of every model and returns those of all quantities that are beyond `limit`.
fn beyond(options: &Options, limit: f64, floor: f64) -> Vec<String> {
    let reference = reference();
    let mut beyond = Vec::new();
    for model in support::models() {
        let wanted = reference["models"]
            .get(model.name)
            .unwrap_or_else(|| panic!("the reference lacks `{}`", model.name));
        let found = deviations(&model, wanted, options, floor);
        println!("{:<46} {:.4} %  {}", model.name, 100.0 * found[0].0, found[0].1);
        let over = found.iter().filter(|(share, _)| share.is_nan() || *share > limit);
        beyond.extend(over.map(|(share, what)| format!("{}: {:.4} %: {what}", model.name, 100.0 * share)));
    }
    beyond
}

#[test]
fn peaks_and_energies_agree_with_scipy_within_a_thousandth() {
    let beyond = beyond(&Options::default(), LIMIT, FLOOR);
    assert!(beyond.is_empty(), "\n{}", beyond.join("\n"));
}

#[test]
fn with_a_smaller_step_error_they_agree_ten_times_closer() {
    let beyond = beyond(&Options::with_relative(1e-6), 0.1 * LIMIT, FLOOR);
    assert!(beyond.is_empty(), "\n{}", beyond.join("\n"));
}

#[test]
fn with_a_smaller_step_error_even_the_smallest_agree_by_their_own_size() {
    let beyond = beyond(&Options::with_relative(1e-6), LIMIT, NO_FLOOR);
    assert!(beyond.is_empty(), "\n{}", beyond.join("\n"));
}
