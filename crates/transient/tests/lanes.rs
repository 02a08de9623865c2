//! What a bundle gives is what each of its corners gives alone, to the last bit, whatever stands beside it.

mod support;

use support::{Model, assemble, models};
use tidewall_devices::Law;
use tidewall_ladder::port::Assembly;
use tidewall_ladder::{Equations, Stage};
use tidewall_transient::{Options, Outcome, Problem, TransientError, Workspace, run, run_all};

/// More than a bundle and a half, so that lanes end at different times and take further corners.
const CORNERS: usize = 13;

/// A place between 0 and 1 that differs from corner to corner and from quantity to quantity.
fn share(corner: usize, quantity: usize) -> f64 {
    (0.618_033_988_75 * corner as f64 + 0.37 * quantity as f64).fract()
}

/// Corner `k` of a model: its level within a fifth, and of each protector the voltages, resistances, capacitances and
/// times within some per cent.
fn corner(model: &Model, k: usize) -> Model {
    let by = |quantity: usize, within: f64| 1.0 + within * (2.0 * share(k, quantity) - 1.0);
    let mut corner = model.clone();
    corner.network = model.network.scaled(by(0, 0.2));
    for stage in &mut corner.port.stages {
        let Stage::Shunt(shunt) = stage else { continue };
        shunt.lead_h *= by(1, 0.1);
        match &mut shunt.protector.law {
            Law::Avalanche(law) => {
                law.vbr25_v *= by(2, 0.05);
                law.r_ohm *= by(3, 0.2);
                law.c0_f *= by(4, 0.2);
            }
            Law::FlatClamp(law) => {
                law.trigger_v *= by(2, 0.05);
                law.on_v *= by(2, 0.05);
                law.r_ohm *= by(3, 0.2);
                law.delay_s *= by(5, 0.3);
            }
            Law::Crowbar(law) => {
                law.trigger_v *= by(2, 0.05);
                law.hold_a *= by(3, 0.3);
                law.transition_s *= by(5, 0.3);
            }
            Law::Varistor(law) => {
                law.v1ma_v *= by(2, 0.1);
                law.alpha *= by(3, 0.1);
            }
            Law::GasTube(law) => {
                law.dc_v *= by(2, 0.15);
                law.slope_coefficient_v *= by(3, 0.2);
                law.drop_s *= by(5, 0.3);
            }
            _ => {}
        }
    }
    corner
}

struct Ready {
    model: Model,
    assembly: Assembly,
    equations: Equations,
    breakpoints_s: Vec<f64>,
    levels: Vec<(usize, f64)>,
}

impl Ready {
    fn new(model: Model) -> Ready {
        let (assembly, equations) = assemble(&model);
        let breakpoints_s = model.network.breakpoints_s();
        Ready {
            model,
            assembly,
            equations,
            breakpoints_s,
            levels: vec![(0, 12.0), (0, -3.0)],
        }
    }

    fn problem(&self) -> Problem<'_> {
        Problem {
            equations: &self.equations,
            probes: &self.assembly.probes,
            levels: &self.levels,
            breakpoints_s: &self.breakpoints_s,
            duration_s: self.model.end_s,
            finest_s: self.model.network.finest_s,
        }
    }
}

type Ran = Result<Outcome, TransientError>;

/// All digits, and the signs of zeros.
fn digits(outcome: &Ran) -> String {
    format!("{outcome:?}")
}

fn alone(ready: &[Ready], options: &Options) -> Vec<Ran> {
    let one = |ready: &Ready| run(&ready.problem(), options, &mut Workspace::default());
    ready.iter().map(one).collect()
}

fn together<'a>(ready: impl Iterator<Item = &'a Ready>, options: &Options) -> Vec<Ran> {
    let problems: Vec<Problem> = ready.map(Ready::problem).collect();
    run_all(&problems, options, &mut Workspace::default())
}

fn same(model: &str, alone: &Ran, bundled: &Ran) {
    assert!(alone.is_ok(), "{model}: {alone:?}");
    assert!(
        digits(alone) == digits(bundled),
        "{model}: alone {alone:?}\nbundled {bundled:?}"
    );
}

#[test]
fn a_corner_is_the_same_alone_and_in_any_bundle() {
    let options = Options {
        device_currents: true,
        ..Options::default()
    };
    for model in models() {
        let ready: Vec<Ready> = (0..CORNERS).map(|k| Ready::new(corner(&model, k))).collect();
        let alone = alone(&ready, &options);
        for (alone, bundled) in alone.iter().zip(&together(ready.iter(), &options)) {
            same(model.name, alone, bundled);
        }
        for (alone, bundled) in alone.iter().rev().zip(&together(ready.iter().rev(), &options)) {
            same(model.name, alone, bundled);
        }
        // Beside three others.
        let few = [2, 11, 5, 7];
        for (k, bundled) in few
            .iter()
            .zip(&together(few.iter().map(|&k| &ready[k]), &options))
        {
            same(model.name, &alone[*k], bundled);
        }
    }
}

#[test]
fn circuits_of_many_kinds_may_be_mixed_and_shared_out_to_threads() {
    let options = Options {
        record: true,
        ..Options::default()
    };
    let models = models();
    let chosen = ["avalanche", "varistor", "flat", "gas"];
    let kinds: Vec<&Model> = models
        .iter()
        .filter(|model| chosen.iter().any(|part| model.name.contains(part)))
        .collect();
    assert!(kinds.len() > 2, "too few kinds");
    let ready: Vec<Ready> = (0..4 * kinds.len())
        .map(|k| Ready::new(corner(kinds[k % kinds.len()], k / kinds.len())))
        .collect();
    let alone = alone(&ready, &options);
    let (left, right) = ready.split_at(ready.len() / 3);
    let halves = std::thread::scope(|scope| {
        let left = scope.spawn(|| together(left.iter(), &options));
        let right = scope.spawn(|| together(right.iter(), &options));
        [left.join().unwrap(), right.join().unwrap()].concat()
    });
    let whole = together(ready.iter(), &options);
    for (k, alone) in alone.iter().enumerate() {
        same(ready[k].model.name, alone, &whole[k]);
        same(ready[k].model.name, alone, &halves[k]);
    }
}

#[test]
fn a_corner_that_is_given_up_does_not_disturb_its_neighbours() {
    let models = models();
    let ready: Vec<Ready> = (0..CORNERS).map(|k| Ready::new(corner(&models[0], k))).collect();
    let steps = |ran: &Ran| {
        let counters = ran.as_ref().map(|outcome| outcome.counters);
        counters.map_or(0, |counters| counters.steps + counters.rejections)
    };
    let mut tries: Vec<u64> = alone(&ready, &Options::default()).iter().map(steps).collect();
    tries.sort_unstable();
    // Enough for about half of them.
    let options = Options {
        max_steps: tries[CORNERS / 2],
        ..Options::default()
    };
    let (alone, bundled) = (alone(&ready, &options), together(ready.iter(), &options));
    assert!(alone.iter().any(Result::is_ok) && alone.iter().any(Result::is_err));
    for (alone, bundled) in alone.iter().zip(&bundled) {
        assert_eq!(digits(alone), digits(bundled));
    }
}
