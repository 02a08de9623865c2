//! Accuracy and time of one transient, Tidewall beside general-purpose solvers.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use tidewall_transient::{Options, Workspace};

use crate::clock::{self, Repeat};
use crate::export;
use crate::flops::Flops;
use crate::general::{self, Method};
use crate::machine::Machine;
use crate::measure::{Deviation, Places, Quantities};
use crate::own;
use crate::suite::{Assembled, Circuit, suite};

/// Name of Tidewall's own sweep.
pub const TIDEWALL: &str = "tidewall";
/// Deviation that a solver must meet in every quantity.
pub const LIMIT: f64 = 1e-3;
/// Deviation at which a sweep has shown enough.
const ENOUGH: f64 = 1e-6;
/// Time in seconds of one run, or of all that fail, beyond which a sweep ends.
const PATIENCE_S: f64 = 4.0;
/// Most steps of a run of the other solvers: ten times what any of them needs that comes to an end at 0.1 %.
const MOST_STEPS: u64 = 50_000;

/// Tolerances of a sweep, loosest first: two per decade.
pub fn tolerances() -> impl Iterator<Item = f64> {
    (4..=18).map(|half| 10f64.powf(-0.5 * f64::from(half)))
}

/// A run at one tolerance.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Point {
    /// Relative tolerance; the absolute ones stand to it as Tidewall's own do.
    pub relative: f64,
    /// Median processor time in seconds.
    pub seconds: f64,
    /// Accepted steps.
    pub steps: u64,
    /// Peaks and energies; `None` for a run that came to no end.
    pub quantities: Option<Quantities>,
    /// Why it came to none.
    pub failure: Option<String>,
}

/// A solver over its tolerances.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Sweep {
    /// Name of the solver.
    pub solver: String,
    /// Runs, loosest tolerance first.
    pub points: Vec<Point>,
}

/// All of one circuit.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct CircuitReport {
    /// Its key.
    pub key: String,
    /// What it is.
    pub title: String,
    /// State variables.
    pub states: usize,
    /// Peaks and energies of Tidewall's method at [`own::TIGHT`].
    pub reference: Quantities,
    /// How far the independent reference is from it.
    pub independent: Deviation,
    /// Work of a step.
    pub flops: Flops,
    /// Tidewall at its default options.
    pub default: Point,
    /// Rejected steps of that run.
    pub rejections: u64,
    /// The solvers.
    pub sweeps: Vec<Sweep>,
    /// The circuit for other programs.
    pub circuit: Value,
}

/// The whole comparison.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Report {
    /// What it was measured on.
    pub machine: Machine,
    /// Versions of the other solvers.
    pub versions: Vec<String>,
    /// The circuits.
    pub circuits: Vec<CircuitReport>,
}

impl Sweep {
    /// The quickest run that meets [`LIMIT`], where the next tighter one does too: a single run may meet it by luck.
    /// Mostly it is the loosest tolerance that does, but a method whose iteration fails may be quicker at a tighter one.
    pub fn quickest(&self, reference: &Quantities) -> Option<&Point> {
        let meets = |point: &Point| point.deviation(reference).is_some_and(|d| d.worst() <= LIMIT);
        (0..self.points.len())
            .filter(|&k| self.points[k..].iter().take(2).all(meets))
            .map(|k| &self.points[k])
            .min_by(|a, b| a.seconds.total_cmp(&b.seconds))
    }
}

impl Point {
    /// How far the run is from the reference.
    pub fn deviation(&self, reference: &Quantities) -> Option<Deviation> {
        Some(self.quantities.as_ref()?.deviation(reference))
    }
}

/// A circuit ready to run.
pub struct Ready {
    /// The circuit.
    pub circuit: Circuit,
    /// Its equations.
    pub assembled: Assembled,
    /// What is watched.
    pub places: Places,
}

/// Every circuit of the suite, ready to run.
///
/// # Errors
/// In words, what is wrong with the suite.
pub fn ready() -> Result<Vec<Ready>, String> {
    let one = |circuit: Circuit| {
        let assembled = circuit.assemble().map_err(|error| error.to_string())?;
        let places = Places::of(&circuit, &assembled)
            .ok_or_else(|| format!("`{}` watches what it does not have", circuit.key))?;
        Ok(Ready {
            circuit,
            assembled,
            places,
        })
    };
    suite()
        .map_err(|error| error.to_string())?
        .into_iter()
        .map(one)
        .collect()
}

/// Measures the circuits whose key contains `only`, with `progress` told each.
///
/// # Errors
/// In words, a circuit that does not run.
pub fn measure(only: &str, seconds: f64, progress: &dyn Fn(&str)) -> Result<Report, String> {
    let machine = Machine::here();
    let mut circuits = Vec::new();
    for ready in ready()?.iter().filter(|ready| ready.circuit.key.contains(only)) {
        progress(ready.circuit.key);
        circuits.push(one(ready, seconds)?);
    }
    Ok(Report {
        machine,
        versions: vec!["diffsol 0.18.0".into()],
        circuits,
    })
}

fn one(ready: &Ready, seconds: f64) -> Result<CircuitReport, String> {
    let Ready {
        circuit,
        assembled,
        places,
    } = ready;
    let named = |error: String| format!("`{}`: {error}", circuit.key);
    let reference = own::reference(assembled, places).map_err(|error| named(error.to_string()))?;
    let independent = general::independent(assembled, places).map_err(named)?;
    let mut workspace = Workspace::new(&assembled.equations);
    let longer = Repeat {
        seconds: 5.0 * seconds,
        most: 10_000,
    };
    let (default, rejections) = own_point(ready, &Options::default(), &mut workspace, longer);
    let short = Repeat { seconds, most: 2_000 };
    let mut sweeps = vec![sweep(TIDEWALL, &reference, |relative| {
        own_point(ready, &Options::with_relative(relative), &mut workspace, short).0
    })];
    for method in [Method::Bdf, Method::TrBdf2, Method::Esdirk34] {
        sweeps.push(sweep(method.name(), &reference, |relative| {
            let (first, once) =
                clock::timed(|| general::run(assembled, places, method, relative, MOST_STEPS));
            match first {
                Ok(run) => Point {
                    relative,
                    // A run that failed once would not come here: the library computes the same each time.
                    seconds: again(once, short, || {
                        general::run(assembled, places, method, relative, MOST_STEPS).ok();
                    }),
                    steps: run.steps,
                    quantities: Some(run.quantities),
                    failure: None,
                },
                Err(failure) => Point {
                    relative,
                    seconds: once,
                    failure: Some(failure),
                    ..Point::default()
                },
            }
        }));
    }
    Ok(CircuitReport {
        key: circuit.key.into(),
        title: circuit.title.into(),
        states: assembled.equations.len(),
        independent: independent.deviation(&reference),
        sweeps,
        reference,
        flops: Flops::of(&assembled.equations),
        default,
        rejections,
        circuit: export::circuit(assembled, places)?,
    })
}

fn own_point(ready: &Ready, options: &Options, workspace: &mut Workspace, repeat: Repeat) -> (Point, u64) {
    let Ready {
        assembled, places, ..
    } = ready;
    let relative = options.relative;
    let (first, once) = clock::timed(|| own::at(assembled, places, options, workspace));
    match first {
        Ok((quantities, counters)) => {
            let point = Point {
                relative,
                seconds: again(once, repeat, || {
                    own::at(assembled, places, options, workspace).ok();
                }),
                steps: counters.steps,
                quantities: Some(quantities),
                failure: None,
            };
            (point, counters.rejections)
        }
        Err(error) => {
            let point = Point {
                relative,
                seconds: once,
                failure: Some(error.to_string()),
                ..Point::default()
            };
            (point, 0)
        }
    }
}

/// The time of the first run where it is long, else the median of more.
fn again(once: f64, repeat: Repeat, work: impl FnMut()) -> f64 {
    if once > repeat.seconds {
        once
    } else {
        clock::time(repeat, work)
    }
}

/// Runs over the tolerances until one has shown enough or takes too long, or failures have taken too long together.
fn sweep(solver: &str, reference: &Quantities, mut run: impl FnMut(f64) -> Point) -> Sweep {
    let mut points: Vec<Point> = Vec::new();
    let mut lost = 0.0;
    for relative in tolerances() {
        let point = run(relative);
        if point.failure.is_some() {
            lost += point.seconds;
        }
        let slow = point.seconds.max(lost) > PATIENCE_S;
        let enough = point.deviation(reference).is_some_and(|d| d.worst() < ENOUGH);
        points.push(point);
        if slow || enough {
            break;
        }
    }
    Sweep {
        solver: solver.into(),
        points,
    }
}
