//! What might explain a difference between bench and study, each within a range that is plausible.

use tidewall_study::{Stage, Study};

use super::bench::Bench;

/// A quantity of the study that may be other than stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Quantity {
    /// Inductance of a shunt's path, by the stage's number.
    Lead(usize),
    /// Resistance in the line.
    SeriesOhm(usize),
    /// Inductance in the line.
    SeriesHenry(usize),
    /// Capacitance of the pin.
    PinCapacitance,
    /// Position in a part's tolerance.
    Position(usize),
    /// Slope resistance of a part.
    Slope(usize),
    /// Temperature of ambient and junctions before the stress.
    Ambient,
    /// Amplitude of the generator.
    Amplitude,
    /// Impedance of generator and coupling: all resistances and inductances, and the capacitances the other way.
    SourceImpedance,
}

/// A quantity with its plausible range.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Parameter {
    pub(super) quantity: Quantity,
    /// Name in words.
    pub(super) name: String,
    /// SI unit (°C for a temperature, 1 for a share).
    pub(super) unit: &'static str,
    pub(super) nominal: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    /// Why this range.
    pub(super) reason: &'static str,
    /// Whether the search goes in ratios.
    pub(super) ratios: bool,
}

impl Parameter {
    /// Range that is searched: wider than what is plausible, so that an implausible cause can be told.
    pub(super) fn searched(&self) -> (f64, f64) {
        match self.quantity {
            // Beyond its tolerance a part's model is a continuation, which soon means nothing.
            Quantity::Position(_) => (-0.5, 1.5),
            _ if self.ratios => (self.low / 3.0, self.high * 3.0),
            _ => {
                let width = self.high - self.low;
                (self.low - 0.5 * width, self.high + 0.5 * width)
            }
        }
    }
}

const PATH: &str = "0.2 to 5 times the stated inductance, and up to 10 nH: a path a centimetre longer than drawn, at \
                    1 nH/mm (common practice, no source)";
const CONTACT: &str =
    "0.2 to 5 times the stated resistance, and up to 100 mΩ: a poor contact (common practice, no source)";
const CAPACITANCE: &str =
    "0.3 to 3 times the stated capacitance, and up to 20 pF: that of a probe (common practice, no source)";
const TOLERANCE: &str = "the part's own tolerance: 0 is its lowest model, 1 its highest";
const SLOPE: &str = "0.5 to 2 times: slopes come from few points (common practice, no source)";
const AMBIENT: &str = "the port's ambient range";
const AMPLITUDE: &str = "the tolerance of a conforming generator";
const NO_TOLERANCE: &str =
    "10 % either way, since no tolerance of the generator is known (common practice, no source)";
const SOURCE: &str = "20 % either way: generator, coupling and cables (common practice, no source)";

/// Every quantity of the study that could be other than stated.
pub(super) fn parameters(bench: &Bench<'_>) -> Vec<Parameter> {
    let study = bench.study;
    let mut all = Vec::new();
    let mut add = |quantity, name: String, unit, ratios, range: &dyn Fn(f64) -> (f64, f64), reason| {
        if let Some(nominal) = bench.nominal(quantity) {
            let (low, high) = range(nominal);
            if low < high {
                all.push(Parameter {
                    quantity,
                    name,
                    unit,
                    nominal,
                    low,
                    high,
                    reason,
                    ratios,
                });
            }
        }
    };
    let path = |nominal: f64| (0.2 * nominal.max(0.5e-9), (5.0 * nominal).max(10e-9));
    for (stage, part) in study.ladder.iter().enumerate() {
        let name = part.name();
        match part {
            Stage::Shunt(_) => {
                let lead = format!("lead inductance of {name}");
                add(Quantity::Lead(stage), lead, "H", true, &path, PATH);
                let position = format!("breakdown position of {name}");
                add(
                    Quantity::Position(stage),
                    position,
                    "1",
                    false,
                    &|_| (0.0, 1.0),
                    TOLERANCE,
                );
                let slope = format!("slope resistance of {name}");
                add(
                    Quantity::Slope(stage),
                    slope,
                    "Ω",
                    true,
                    &|r| (0.5 * r, 2.0 * r),
                    SLOPE,
                );
            }
            Stage::Series(_) => {
                let contact = |nominal: f64| (0.2 * nominal.max(1e-3), (5.0 * nominal).max(0.1));
                let ohm = format!("series resistance of {name}");
                add(Quantity::SeriesOhm(stage), ohm, "Ω", true, &contact, CONTACT);
                let henry = format!("series inductance of {name}");
                add(Quantity::SeriesHenry(stage), henry, "H", true, &path, PATH);
            }
            Stage::Capacitor(_) => {
                let lead = format!("lead inductance of {name}");
                add(Quantity::Lead(stage), lead, "H", true, &path, PATH);
            }
        }
    }
    let range = |c: f64| (0.3 * c.max(1e-12), (3.0 * c).max(20e-12));
    let pin = "pin capacitance".to_owned();
    add(Quantity::PinCapacitance, pin, "F", true, &range, CAPACITANCE);
    let ambient = study.port.ambient_c.value;
    let name = "ambient temperature".to_owned();
    add(
        Quantity::Ambient,
        name,
        "°C",
        false,
        &|_| (ambient.low, ambient.high),
        AMBIENT,
    );
    let name = "generator amplitude".to_owned();
    match study.stresses[bench.case.stress].disturbance.amplitude_tolerance {
        Some(tolerance) => {
            let range = |_| (1.0 - tolerance.below, 1.0 + tolerance.above);
            add(Quantity::Amplitude, name, "1", false, &range, AMPLITUDE);
        }
        None => add(
            Quantity::Amplitude,
            name,
            "1",
            false,
            &|_| (0.9, 1.1),
            NO_TOLERANCE,
        ),
    }
    let name = "source impedance".to_owned();
    add(
        Quantity::SourceImpedance,
        name,
        "Ω",
        true,
        &|r| (0.8 * r, 1.2 * r),
        SOURCE,
    );
    all
}

/// Ambient at which a laboratory works, in °C: the middle of 15 °C to 35 °C of the immunity standards' climatic
/// conditions lies at 25 °C, and most benches stand at 23 °C (common practice, no source).
pub const BENCH_C: f64 = 23.0;

/// The cases of a bench: every stress, polarity and supply of the study, with typical parts, nominal amplitude.
pub fn bench_cases(study: &Study, ambient_c: f64) -> Vec<crate::corners::Case> {
    let mut cases = Vec::new();
    for (stress, case) in study.stresses.iter().enumerate() {
        for &sign in &case.disturbance.polarities {
            for supply_v in crate::corners::supplies(study, case) {
                cases.push(crate::corners::Case {
                    stress,
                    ambient_c,
                    parts: crate::result::PartSet::Typical,
                    tolerance: crate::result::StressSet::Nominal,
                    factor: 1.0,
                    sign,
                    supply_v,
                });
            }
        }
    }
    cases
}
