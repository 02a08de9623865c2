//! Transients of several corners in one bundle, beside the same one after the other.

use tidewall_devices::Law;
use tidewall_ladder::Stage;
use tidewall_transient::{Options, Problem, TransientError, Workspace, run, run_all};

use crate::clock::{median, timed};
use crate::suite::{Assembled, Circuit, suite};

/// Corners of one circuit.
const CORNERS: usize = 32;

/// What the corners of one circuit took.
#[derive(Clone, Debug)]
pub struct Bundled {
    /// Key of the circuit.
    pub key: &'static str,
    /// Accepted steps of a corner, on average.
    pub steps: f64,
    /// Processor time in seconds of a corner, alone and in a bundle: medians over repetitions of the mean.
    pub alone_s: f64,
    /// See `alone_s`.
    pub bundled_s: f64,
}

/// A place between 0 and 1 that differs from corner to corner and from quantity to quantity.
fn share(corner: usize, quantity: usize) -> f64 {
    (0.618_033_988_75 * corner as f64 + 0.37 * quantity as f64).fract()
}

/// Corners of a circuit: amplitude within a tenth, voltages of its avalanche diodes within 4 %, their resistances and
/// capacitances within a fifth.
pub fn corners(circuit: &Circuit, count: usize) -> Vec<Circuit> {
    (0..count)
        .map(|k| {
            let mut corner = circuit.clone();
            corner.network = circuit.network.scaled(0.9 + 0.2 * share(k, 0));
            for stage in &mut corner.port.stages {
                if let Stage::Shunt(shunt) = stage
                    && let Law::Avalanche(law) = &mut shunt.protector.law
                {
                    law.vbr25_v *= 0.96 + 0.08 * share(k, 1);
                    law.r_ohm *= 0.8 + 0.4 * share(k, 2);
                    law.c0_f *= 0.8 + 0.4 * share(k, 3);
                }
            }
            corner
        })
        .collect()
}

/// Measures the circuits whose key contains `only`, each way by turns.
///
/// # Errors
/// In words, a circuit that does not run.
pub fn measure(only: &str, repeats: usize) -> Result<Vec<Bundled>, String> {
    let circuits = suite().map_err(|error| error.to_string())?;
    let chosen = circuits.iter().filter(|circuit| circuit.key.contains(only));
    chosen.map(|circuit| one(circuit, repeats)).collect()
}

fn one(circuit: &Circuit, repeats: usize) -> Result<Bundled, String> {
    let assembled: Vec<Assembled> = corners(circuit, CORNERS)
        .iter()
        .map(|corner| corner.assemble().map_err(|error| error.to_string()))
        .collect::<Result<_, _>>()?;
    let problems: Vec<Problem> = assembled.iter().map(Assembled::problem).collect();
    let mut workspace = Workspace::new(&assembled[0].equations);
    let options = Options::default();
    let (mut alone, mut bundled, mut steps) = (Vec::new(), Vec::new(), 0);
    for _ in 0..repeats {
        let (one_by_one, seconds) = timed(|| {
            let each = problems
                .iter()
                .map(|problem| run(problem, &options, &mut workspace));
            each.collect::<Result<Vec<_>, TransientError>>()
        });
        alone.push(seconds / CORNERS as f64);
        let (together, seconds) = timed(|| run_all(&problems, &options, &mut workspace));
        bundled.push(seconds / CORNERS as f64);
        let together: Vec<_> = together
            .into_iter()
            .collect::<Result<_, _>>()
            .map_err(|error| error.to_string())?;
        if one_by_one.map_err(|error| error.to_string())? != together {
            return Err(format!("`{}`: a bundle gives other results", circuit.key));
        }
        steps = together.iter().map(|outcome| outcome.counters.steps).sum();
    }
    Ok(Bundled {
        key: circuit.key,
        steps: steps as f64 / CORNERS as f64,
        alone_s: median(&alone),
        bundled_s: median(&bundled),
    })
}

/// The table.
pub fn text(rows: &[Bundled]) -> String {
    let mut out = format!(
        "{:<16} {:>6} {:>12} {:>12} {:>8} {:>14}\n",
        "circuit", "steps", "alone", "bundled", "gain", "bundled, step"
    );
    for row in rows {
        out += &format!(
            "{:<16} {:>6.0} {:>9.1} µs {:>9.1} µs {:>8.2} {:>11.0} ns\n",
            row.key,
            row.steps,
            1e6 * row.alone_s,
            1e6 * row.bundled_s,
            row.alone_s / row.bundled_s,
            1e9 * row.bundled_s / row.steps
        );
    }
    out
}
