//! What is drawn: one axis for each tolerance.

use tidewall_devices::build::blend;
use tidewall_study::Study;

/// What an axis moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AxisKind {
    /// Position of the specimen in the tolerance of a shunt part.
    Part {
        /// Stage of the ladder.
        stage: usize,
        /// Line of a pair (0 or 1) it stands on.
        line: usize,
    },
    /// Amplitude of a stress within its generator's tolerance.
    Amplitude {
        /// Number of the stress in the study.
        stress: usize,
    },
    /// Ambient temperature of the port.
    Ambient,
    /// Working voltage of the port.
    Supply,
}

/// One tolerance with its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What it moves.
    pub kind: AxisKind,
    /// Name: that of the part's place, the stress, "ambient" or "supply".
    pub name: String,
    /// What the values are.
    pub what: &'static str,
    /// Values at position 0 and 1, in `unit`; `None` where the position has no single number.
    pub limits: Option<(f64, f64)>,
    /// Unit of the values (SI base units, °C for temperatures, 1 for shares).
    pub unit: &'static str,
}

impl Axis {
    /// What the axis moves, in words.
    pub fn moves(&self) -> &'static str {
        match self.kind {
            AxisKind::Part { .. } => "part, low corner to high",
            _ => self.what,
        }
    }

    /// Value at a position.
    pub fn value(&self, position: f64) -> Option<f64> {
        self.limits.map(|(low, high)| blend(low, high, position))
    }
}

/// Axes that are not parts: amplitudes in the order of the stresses, then ambient, then supply. A range without width
/// is no axis.
pub(super) fn of_surroundings(study: &Study) -> Vec<Axis> {
    let mut axes = Vec::new();
    for (stress, case) in study.stresses.iter().enumerate() {
        let Some(tolerance) = case.disturbance.amplitude_tolerance else {
            continue;
        };
        axes.push(Axis {
            kind: AxisKind::Amplitude { stress },
            name: case.id.clone(),
            what: "amplitude as a share of its level",
            limits: Some((1.0 - tolerance.below, 1.0 + tolerance.above)),
            unit: "1",
        });
    }
    let range = study.port.ambient_c.value;
    axes.push(Axis {
        kind: AxisKind::Ambient,
        name: "ambient".to_owned(),
        what: "temperature",
        limits: Some((range.low, range.high)),
        unit: "°C",
    });
    if let Some(working) = &study.port.working_v {
        axes.push(Axis {
            kind: AxisKind::Supply,
            name: "supply".to_owned(),
            what: "working voltage",
            limits: Some((working.value.low, working.value.high)),
            unit: "V",
        });
    }
    axes.retain(|axis| axis.limits.is_some_and(|(low, high)| low < high));
    axes
}
